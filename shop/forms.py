"""Form fields, the forms of the ground app, and the way forms are drawn."""

import uuid
from decimal import Decimal

from django import forms
from django.forms.renderers import TemplatesSetting

from .fields import DayField, ShopTimeField
from .models import Charge, Rate, TaxCategory, User, Visit, WorkSpell
from .strokes import read_strokes

LARGEST_DOCUMENT = 60_000_000


class Renderer(TemplatesSetting):
    """Draws every form with the site's own templates."""

    form_template_name = "includes/form.html"
    field_template_name = "includes/field.html"


class EntryForm(forms.Form):
    """A form that carries the id of the entry it makes, so that sending it twice makes one."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, **kwargs):
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)

    def entry_id_of(self, number):
        """The id of one of several entries that the form makes, the same when sent again."""
        given = self.cleaned_data["entry_id"]
        return uuid.uuid5(given, str(number)) if given else None


class ComeBackForm(forms.ModelForm):
    """What was left undone at a visit."""

    class Meta:
        model = Visit
        fields = ["come_back_for"]
        widgets = {"come_back_for": forms.Textarea(attrs={"rows": 3})}


class ClockForm(EntryForm):
    """A press of one of the clock's buttons."""

    STOP = "stop"
    turn = forms.ChoiceField(choices=[*WorkSpell.Kind.choices, (STOP, "stop")])


class SpellForm(EntryForm):
    """A stretch of one person's time at a visit."""

    who = forms.ModelChoiceField(queryset=User.objects.none(), empty_label=None)
    kind = forms.ChoiceField(
        label="What",
        choices=WorkSpell.Kind.choices,
        initial=WorkSpell.Kind.WORK,
        widget=forms.RadioSelect(attrs={"class": "choices row"}),
    )
    began_at = ShopTimeField(label="From")
    ended_at = ShopTimeField(label="Until", required=False)
    distance = forms.DecimalField(
        label="Distance travelled",
        required=False,
        min_value=0,
        max_digits=7,
        decimal_places=1,
        help_text="For travel only.",
    )

    def __init__(self, *args, visit, people, may_run=False, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["who"].queryset = people
        self.fields["who"].label_from_instance = lambda person: person.name
        for name in ("began_at", "ended_at"):
            self.fields[name].zone = visit.shop.zone
            self.fields[name].help_text = f"In the shop's time, {visit.shop.time_zone}."
        self.fields["ended_at"].required = not may_run

    def clean(self):
        given = super().clean()
        began_at, ended_at = given.get("began_at"), given.get("ended_at")
        if began_at and ended_at and ended_at < began_at:
            self.add_error("ended_at", "It cannot end before it began; expected a later time.")
        if given.get("distance") and given.get("kind") != WorkSpell.Kind.TRAVEL:
            self.add_error("distance", "Only travel has a distance; leave it empty for work.")
        return given


class StrokesField(forms.CharField):
    """A signature drawn on the page, sent as JSON; empty when only the name was typed."""

    widget = forms.HiddenInput

    def __init__(self):
        super().__init__(required=False, max_length=200_000)

    def clean(self, value):
        try:
            return read_strokes(super().clean(value))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error


class SignForm(forms.Form):
    """Both parties' names and roles under a visit, and what is left undone where it lacks."""

    come_back_for = forms.CharField(
        label="What you come back for, and why",
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="The report says so.",
        error_messages={"required": "Settle what is missing, or say what you come back for."},
    )
    contractor_name = forms.CharField(label="Name", max_length=120)
    contractor_role = forms.CharField(label="Role", max_length=80, initial="Service contractor")
    contractor_strokes = StrokesField()
    customer_name = forms.CharField(label="Name", max_length=120)
    customer_role = forms.CharField(label="Role", max_length=80)
    customer_strokes = StrokesField()
    read = forms.BooleanField(
        label="Both have read the draft report. What is signed no longer changes.",
        error_messages={"required": "Tick this once both have read the draft report."},
    )

    def __init__(self, *args, is_whole=True, **kwargs):
        super().__init__(*args, **kwargs)
        if is_whole:
            del self.fields["come_back_for"]


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
        label="Why it is taken back", max_length=200, help_text="It stands on the credit note."
    )
    what = forms.ChoiceField(
        label="What is taken back",
        choices=[(ALL, "all that is left of the statement"), (SOME, "only these lines")],
        initial=ALL,
        widget=forms.RadioSelect(attrs={"class": "choices"}),
    )

    def __init__(self, *args, left, **kwargs):
        super().__init__(*args, **kwargs)
        self.left = {f"line_{one.line.pk}": one for one in left}
        for name, one in self.left.items():
            self.fields[name] = forms.DecimalField(
                label=f"Take back of line {one.line.position}, {one.line.text}",
                required=False,
                min_value=0,
                max_value=one.quantity,
                max_digits=10,
                decimal_places=3,
                error_messages={"max_value": "Only %(limit_value)s are left to take back."},
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
            self.add_error("what", "Say in the list below how much of which line is taken back.")
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


class SendForm(EntryForm):
    """To whom a document goes: people of the shop with an address, and one more."""

    people = forms.ModelMultipleChoiceField(
        label="People of the shop",
        queryset=User.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "choices"}),
    )
    other = forms.EmailField(label="Another address", required=False)
    message = forms.CharField(
        label="A word with it",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args, shop, **kwargs):
        super().__init__(*args, **kwargs)
        people = User.objects.filter(
            memberships__shop=shop, memberships__ended_at=None, is_active=True
        )
        self.fields["people"].queryset = people.exclude(email="").order_by("last_name", "pk")
        self.fields["people"].label_from_instance = lambda one: f"{one.name}, {one.email}"

    def clean(self):
        given = super().clean()
        if not (given.get("people") or given.get("other") or self.errors):
            self.add_error("people", "Choose at least one person, or give another address.")
        return given

    def recipients(self):
        """(name, address) pairs, each address once."""
        given = self.cleaned_data
        people = {person.email.lower(): (person.name, person.email) for person in given["people"]}
        if given["other"]:
            people.setdefault(given["other"].lower(), ("", given["other"]))
        return list(people.values())


class CheckFileForm(forms.Form):
    """A file that somebody holds, to be compared with what was issued."""

    file = forms.FileField(label="Your file")

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > LARGEST_DOCUMENT:
            raise forms.ValidationError(
                f"The file is {file.size / 1e6:.0f} MB; no document issued here is that large."
            )
        return file


class CorrectForm(EntryForm):
    """Why a signed visit is corrected."""

    reason = forms.CharField(
        label="What was wrong",
        max_length=140,
        help_text="It stands on the correction and on every later report of it.",
    )
