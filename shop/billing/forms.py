"""Forms of charges, prices, payments, credit notes and the letterhead."""

import uuid
from decimal import Decimal

from django import forms

from shop.web.fields import DayField
from shop.web.forms import EntryForm

from .models import Charge, Rate, TaxCategory


class ChargeForm(forms.ModelForm):
    """One line of what a visit is charged with."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput, required=False)

    class Meta:
        model = Charge
        fields = ["kind", "text", "number", "quantity", "unit", "price", "percent", "tax"]
        help_texts = {
            "price": "For one, without tax. For a discount: the amount taken off.",
            "percent": "For a discount instead of an amount, of the lines taxed like it.",
        }

    def __init__(self, *args, firm, **kwargs):
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        self.fields["tax"].queryset = firm.tax_categories.all()
        self.fields["tax"].empty_label = None
        self.fields["price"].unit = firm.currency
        self.fields["percent"].unit = "%"
        self.fields["quantity"].min_value = 0

    def clean(self):
        given = super().clean()
        price, percent = given.get("price"), given.get("percent")
        if given.get("kind") == Charge.Kind.DISCOUNT:
            if (price is None) == (percent is None):
                self.add_error("price", "Give a discount either an amount or a percentage.")
        elif percent is not None:
            self.add_error("percent", "Only a discount has a percentage; leave it empty.")
        return given


class FixedPriceForm(EntryForm):
    """Something from the firm's own price list."""

    rate = forms.ModelChoiceField(
        label="From the price list", queryset=Rate.objects.none(), empty_label=None
    )
    quantity = forms.DecimalField(min_value=Decimal("0.001"), max_digits=10, decimal_places=3)

    def __init__(self, *args, firm, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["rate"].queryset = firm.rates.filter(kind=Rate.Kind.FIXED)
        self.fields["quantity"].initial = 1


class PaymentForm(EntryForm):
    """Money that came in, or went back."""

    amount = forms.DecimalField(
        max_digits=14, decimal_places=2, help_text="Less than zero for money given back."
    )
    paid_on = DayField(label="Paid on")
    note = forms.CharField(max_length=120, required=False)

    def __init__(self, *args, currency, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["amount"].unit = currency


class CreditForm(EntryForm):
    """What of a statement is taken back, and why; `left` are the `LineLeft`s there is to take."""

    ALL, SOME = "all", "some"

    reason = forms.CharField(
        label="Why it is credited", max_length=200, help_text="It stands on the credit note."
    )
    what = forms.ChoiceField(
        label="What is credited",
        choices=[(ALL, "all that is left of the statement"), (SOME, "only these lines")],
        initial=ALL,
        widget=forms.RadioSelect(attrs={"class": "choices"}),
    )

    def __init__(self, *args, left, **kwargs):
        super().__init__(*args, **kwargs)
        self.left = {f"line_{one.line.pk}": one for one in left}
        for name, one in self.left.items():
            self.fields[name] = forms.DecimalField(
                label=f"Credit of line {one.line.position}, {one.line.text}",
                required=False,
                min_value=0,
                max_value=one.quantity,
                max_digits=10,
                decimal_places=3,
                error_messages={"max_value": "Only %(limit_value)s are left to credit."},
            )

    @property
    def head(self):
        """The boxes that stand above the lines."""
        return [self[name] for name in ("reason", "what")]

    @property
    def rows(self):
        """(what is left of a line, its box) in the order of the statement."""
        return [(one, self[name]) for name, one in self.left.items()]

    def clean(self):
        given = super().clean()
        chosen = any(given.get(name) for name in self.left)
        if given.get("what") == self.SOME and not chosen and not self.errors:
            self.add_error("what", "Say in the list below how much of which line is credited.")
        if given.get("what") == self.ALL and chosen:
            self.add_error(
                "what", "Quantities are typed in the list below; choose 'only these lines'."
            )
        return given

    def quantities(self):
        """Line pk to the quantity taken back; None for all that is left."""
        if self.cleaned_data["what"] == self.ALL:
            return None
        return {one.line.pk: self.cleaned_data[name] for name, one in self.left.items()}


class RateForm(forms.ModelForm):
    """One price of the firm."""

    class Meta:
        model = Rate
        fields = ["kind", "name", "unit", "price", "tax"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["tax"].queryset = self.instance.firm.tax_categories.all()
        self.fields["tax"].empty_label = None
        self.fields["price"].unit = self.instance.firm.currency


class TaxCategoryForm(forms.ModelForm):
    """One tax category of the firm."""

    class Meta:
        model = TaxCategory
        fields = ["name", "code", "percent", "reason", "is_usual"]


class FirstPriceForm(TaxCategoryForm):
    """What a firm without prices needs for its first statement: an hour's price and its tax."""

    hour = forms.DecimalField(
        label="An hour of work costs",
        min_value=0,
        max_digits=12,
        decimal_places=4,
        help_text="Without tax.",
    )

    class Meta(TaxCategoryForm.Meta):
        fields = ["name", "percent", "code", "reason"]
        labels = {"name": "Tax on it", "percent": "Tax rate, %", "code": "Taxed how"}

    field_order = ["hour", "name", "percent", "code", "reason"]

    def __init__(self, *args, firm, **kwargs):
        super().__init__(*args, instance=TaxCategory(firm=firm, is_usual=True), **kwargs)
        self.fields["hour"].unit = firm.currency
