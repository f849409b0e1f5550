"""Form fields, the forms of the ground app, and the way forms are drawn."""

from django import forms

from shop.people.models import User
from shop.web.fields import ShopTimeField
from shop.web.forms import EntryForm

from .models import Visit, WorkSpell
from .strokes import read_strokes


def _day_box():
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class ComeBackForm(forms.ModelForm):
    """What was left undone at a visit, and the day it is kept for."""

    back_on = forms.DateField(
        label="Day you come back",
        required=False,
        widget=_day_box(),
        help_text="Optional. It stands in the calendar, and the shop sees it.",
    )

    class Meta:
        model = Visit
        fields = ["come_back_for"]
        widgets = {"come_back_for": forms.Textarea(attrs={"rows": 3})}


class SettleForm(EntryForm):
    """What becomes of something to come back for."""

    state = forms.ChoiceField(
        label="Your decision",
        choices=[("day", "we come back on a day"), ("done", "it is done"), ("dropped", "drop it")],
        initial="day",
        widget=forms.RadioSelect(attrs={"class": "choices"}),
    )
    day = forms.DateField(
        label="Day",
        required=False,
        widget=_day_box(),
        help_text="It stands in the calendar, and the shop sees it.",
    )
    why = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        help_text="Needed to drop it; the shop reads it.",
    )

    def clean(self):
        given = super().clean()
        if given.get("state") == "day" and not given.get("day") and "day" not in self.errors:
            self.add_error("day", "Give the day you come back: today or later.")
        if given.get("state") == "dropped" and not given.get("why"):
            self.add_error("why", "Say why it is dropped: the shop reads it.")
        return given


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


class CorrectForm(EntryForm):
    """Why a signed visit is corrected."""

    reason = forms.CharField(
        label="What was wrong",
        max_length=140,
        help_text="It stands on the correction and on every later report of it.",
    )
