"""What people type about visits ahead, checked."""

from django import forms

from shop.people.models import Firm, Role
from shop.people.telling import check_told, told_fields, told_today
from shop.web.forms import EntryForm

from .models import WEEKDAYS
from .services import MOST_DAYS_THAT_SUIT
from .times import Slot


def day_box():
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def time_box():
    return forms.TimeInput(attrs={"type": "time"}, format="%H:%M")


def slot_fields(suffix="", *, required=True, label="Day"):
    """The boxes of one day with its times, named day, time_from and time_until plus `suffix`."""
    return {
        f"day{suffix}": forms.DateField(label=label, required=required, widget=day_box()),
        f"time_from{suffix}": forms.TimeField(label="From", required=False, widget=time_box()),
        f"time_until{suffix}": forms.TimeField(label="Until", required=False, widget=time_box()),
    }


def take_slot(form, suffix=""):
    """The `Slot` typed; None, with the reason on the form, for none or a wrong one."""
    given = form.cleaned_data
    day = given.get(f"day{suffix}")
    start, end = given.get(f"time_from{suffix}"), given.get(f"time_until{suffix}")
    if day is None:
        if (start or end) and f"day{suffix}" not in form.errors:
            form.add_error(f"day{suffix}", "Give the day these times are on.")
        return None
    try:
        return Slot(day, start, end)
    except ValueError as error:
        form.add_error(f"time_until{suffix}", str(error))
        return None


class SlotForm(forms.Form):
    """A day and its times, and why."""

    reason = forms.CharField(max_length=200, label="Why", help_text="The other side reads it.")
    field_order = ("day", "time_from", "time_until", "reason")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields.update(slot_fields())
        self.order_fields(self.field_order)

    def clean(self):
        given = super().clean()
        given["slot"] = take_slot(self)
        return given


class ReasonForm(forms.Form):
    """Why."""

    reason = forms.CharField(max_length=200, label="Why", help_text="The other side reads it.")


class ClosedDaysForm(EntryForm):
    """Days on which a shop is closed."""

    first = forms.DateField(label="First day closed", widget=day_box())
    last = forms.DateField(label="Last day closed", required=False, widget=day_box())
    why = forms.CharField(max_length=80, help_text="Such as: works holiday.")

    def clean(self):
        given = super().clean()
        first, last = given.get("first"), given.get("last")
        given["last"] = last or first
        if first and last and last < first:
            self.add_error("last", "The last day closed cannot come before the first.")
        return given


class WeekdaysForm(forms.Form):
    """Days of the week without work."""

    weekdays = forms.MultipleChoiceField(
        label="Closed every",
        required=False,
        choices=[(str(number), name) for number, name in enumerate(WEEKDAYS, start=1)],
        widget=forms.CheckboxSelectMultiple,
    )


class VisitAheadForm(EntryForm):
    """A contractor's visit ahead: when, what for, and which due work is done at it."""

    purpose = forms.CharField(label="What the visit is for", max_length=200)
    work = forms.MultipleChoiceField(
        label="Due work to do at it", required=False, widget=forms.CheckboxSelectMultiple
    )
    field_order = ("day", "time_from", "time_until", "purpose", "work")

    def __init__(self, *args, work=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields.update(slot_fields())
        self.fields.update(told_fields(required=False))
        self.fields["told_by"].label = "The day was agreed by"
        self.fields["told_by"].help_text = "Who of the shop said yes by phone, mail or on paper."
        self.order_fields(self.field_order)
        self.fields["work"].choices = work
        if not work:
            del self.fields["work"]

    def clean(self):
        given = super().clean()
        given["slot"] = take_slot(self)
        check_told(self)
        return given


class AgreedForm(forms.Form):
    """That the owner agreed to a day, told to the contractor."""

    def __init__(self, *args, shop, **kwargs):
        kwargs["initial"] = told_today(shop)
        super().__init__(*args, **kwargs)
        self.fields.update(told_fields())


class ProposalForm(EntryForm):
    """A visit the owner would like: whose, on which days, what for."""

    firm = forms.ModelChoiceField(label="Service firm", queryset=Firm.objects.none())
    purpose = forms.CharField(label="What the visit is for", max_length=200)
    work = forms.MultipleChoiceField(
        label="Checks wanted", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args, shop, work=(), **kwargs):
        super().__init__(*args, **kwargs)
        firms = Firm.objects.filter(
            memberships__shop=shop, memberships__role=Role.CONTRACTOR, memberships__ended_at=None
        ).distinct()
        self.fields["firm"].queryset = firms
        if firms.count() == 1:
            self.fields["firm"].initial = firms.get()
        for number in range(1, MOST_DAYS_THAT_SUIT + 1):
            label = "Day that suits" if number == 1 else f"Another day, {number}"
            self.fields.update(slot_fields(f"_{number}", required=number == 1, label=label))
        self.fields["work"].choices = work
        if not work:
            del self.fields["work"]

    @property
    def day_rows(self):
        """The boxes of each day, as they stand side by side."""
        for number in range(1, MOST_DAYS_THAT_SUIT + 1):
            yield [self[f"{name}_{number}"] for name in ("day", "time_from", "time_until")]

    def clean(self):
        given = super().clean()
        slots = [take_slot(self, f"_{n}") for n in range(1, MOST_DAYS_THAT_SUIT + 1)]
        given["slots"] = [slot for slot in slots if slot is not None]
        return given
