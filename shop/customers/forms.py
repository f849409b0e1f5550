"""Forms of shops: what they are, and what a firm keeps about them."""

from django import forms

from shop.billing.models import TaxCategory
from shop.calendar.models import WEEKDAYS
from shop.people.models import Shop
from shop.people.region_forms import CountryField, CurrencyField, UnitField, ZoneField
from shop.web.regions import region_of

REGION = ("paper_size", "date_form", "week_starts_on")
EVERY_DAY = "1234567"


class ShopForm(forms.ModelForm):
    """What a shop is, where, and how it writes."""

    country = CountryField(required=False)
    time_zone = ZoneField()
    length_unit = UnitField(label="Lengths in reports")
    currency = CurrencyField(
        required=False,
        help_text="What the shop reckons its own costs in; empty: as its service firm does. "
        "Quotes and statements are in the firm's own currency.",
    )
    open_on = forms.MultipleChoiceField(
        label="Open on",
        required=False,
        choices=[(str(number), name) for number, name in enumerate(WEEKDAYS, start=1)],
        widget=forms.CheckboxSelectMultiple(attrs={"class": "choices row"}),
    )

    class Meta:
        model = Shop
        fields = [
            "name",
            "address",
            "contact",
            "phone",
            "email",
            "country",
            "time_zone",
            "length_unit",
            "currency",
            "tax_number",
            *REGION,
        ]
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "week_starts_on": forms.Select(),
        }
        help_texts = {"address": "As it stands on reports and statements."}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        closed = set(self.instance.closed_weekdays)
        self.initial.setdefault("open_on", [day for day in EVERY_DAY if day not in closed])

    def save(self, commit=True):
        """The shop with what was typed; saved by the services alone."""
        opens = set(self.cleaned_data["open_on"])
        self.instance.closed_weekdays = "".join(day for day in EVERY_DAY if day not in opens)
        return self.instance

    def clean_open_on(self):
        if not self.cleaned_data["open_on"]:
            raise forms.ValidationError("Tick at least one day on which somebody is there.")
        return self.cleaned_data["open_on"]


class CustomerForm(forms.Form):
    """What the firm keeps about a shop for itself."""

    tax = forms.ModelChoiceField(
        label="Tax category",
        queryset=TaxCategory.objects.none(),
        required=False,
        empty_label="the firm's usual one",
    )
    notes = forms.CharField(
        label="Notes of the firm",
        required=False,
        max_length=2000,
        help_text="The shop does not see them.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args, firm, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["tax"].queryset = firm.tax_categories.all()


class NewShopForm(ShopForm):
    """A new customer: paper, dates and week come from its country."""

    field_order = ["name", "address", "contact", "phone", "email", "country"]

    class Meta(ShopForm.Meta):
        fields = [name for name in ShopForm.Meta.fields if name not in REGION]

    def __init__(self, *args, firm, **kwargs):
        start = {name: getattr(firm, name) for name in ("country", "length_unit", "currency")}
        if firm.country:  # else nobody has said yet where the firm is
            start["time_zone"] = firm.time_zone
        kwargs["initial"] = start | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)

    def save(self, commit=True):
        shop = super().save(commit)
        region = region_of(shop.country)
        for name in REGION:
            setattr(shop, name, getattr(region, name))
        return shop


class CloseForm(forms.Form):
    """Why a customer is closed."""

    why = forms.CharField(label="Why it is closed", max_length=200)
