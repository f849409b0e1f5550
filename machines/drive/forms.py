"""What people type about belts, bearings and assemblies, checked."""

from decimal import Decimal

from django import forms
from django.db.models import Q

from machines.engineering.belts import PROFILES
from machines.register.fields import ZERO_OR_MORE, ForceBox, LengthBox, in_units, measure
from machines.register.photos import clean_photo
from shop.lengths import UNIT_SYMBOLS, parse_length
from shop.people.models import Role
from shop.visits.models import Visit
from shop.web.forms import EntryForm

from .models import (
    Assembly,
    Bearing,
    BearingInspection,
    Belt,
    Part,
    Rebuild,
    Recommendation,
    Removal,
)
from .services import STOCK

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def parts_for(user, shop):
    """The parts a person may put into a machine of `shop`: the shop's, and the own firm's."""
    firms = user.memberships.current().filter(shop=shop, role=Role.CONTRACTOR).values("firm")
    return Part.objects.filter(Q(shop=shop) | Q(firm__in=firms))


class OfMachineForm(forms.ModelForm):
    """A form for something of one machine, checked together with the machine."""

    def __init__(self, *args, machine, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.machine = machine
        self.today = machine.shop.today
        if "part" in self.fields:
            self.fields["part"].queryset = parts_for(user, machine.shop)
            self.fields["part"].help_text = "From the parts register."

    def _get_validation_exclusions(self):
        return super()._get_validation_exclusions() - {"machine"}

    def clean_fitted_on(self):
        day = self.cleaned_data["fitted_on"]
        if day and day > self.today:
            raise forms.ValidationError("That day is still to come.")
        return day


class BeltForm(OfMachineForm):
    """A belt with its pulleys, its weight and the tension wanted."""

    class Meta:
        model = Belt
        fields = [
            "name",
            "drives",
            "profile",
            "pitch_mm",
            "teeth",
            "width_mm",
            "driving_teeth",
            "driven_teeth",
            "place_in_path",
            "mass_kg_per_m",
            "span_mm",
            "tension_low_n",
            "tension_high_n",
            "partner",
            "part",
            "fitted_on",
        ]
        widgets = {"fitted_on": DAY}
        field_classes = {
            "pitch_mm": LengthBox,
            "width_mm": LengthBox,
            "span_mm": LengthBox,
            "tension_low_n": ForceBox,
            "tension_high_n": ForceBox,
        }
        labels = {
            "pitch_mm": "Pitch",
            "width_mm": "Width",
            "span_mm": "Free span",
            "mass_kg_per_m": "Mass per metre, kg",
            "tension_low_n": "Tension wanted, from",
            "tension_high_n": "Tension wanted, to",
        }

    def __init__(self, *args, machine, user, **kwargs):
        super().__init__(*args, machine=machine, user=user, **kwargs)
        in_units(self, user.length_unit)
        self.fields["partner"].queryset = machine.belts.exclude(pk=self.instance.pk)
        self.fields["drives"].label = "Drives, from which pulley to which"
        self.fields["profile"].help_text += " Profile, teeth and width may wait for the next look."
        self.fields["pitch_mm"].help_text = f"Empty for a known profile: {', '.join(PROFILES)}."
        if self.instance.pk and self.instance.fittings.exists():
            del self.fields["fitted_on"]

    def clean(self):
        given = super().clean()
        profile = PROFILES.get(given.get("profile", ""))
        pitch = given.get("pitch_mm")
        if pitch is None and given.get("profile") and "pitch_mm" not in self.errors:
            if profile is None:
                self.add_error("pitch_mm", "Give the pitch: this profile is not a known one.")
            else:
                given["pitch_mm"] = Decimal(str(profile.pitch_mm))
        elif profile and pitch is not None and float(pitch) != profile.pitch_mm:
            self.add_error(
                "pitch_mm",
                f"{profile.code} has a pitch of {profile.pitch_mm:g} mm ({profile.source}).",
            )
        return given


class BearingForm(OfMachineForm):
    """A bearing with its geometry, ratings and typical use."""

    class Meta:
        model = Bearing
        field_classes = {
            "bore_mm": LengthBox,
            "ball_mm": LengthBox,
            "pitch_mm": LengthBox,
            "c_n": ForceBox,
            "c0_n": ForceBox,
            "load_n": ForceBox,
        }
        labels = {
            "bore_mm": "Bore",
            "ball_mm": "Ball or roller diameter",
            "pitch_mm": "Pitch diameter",
            "c_n": "Dynamic rating C",
            "c0_n": "Static rating C0",
            "load_n": "Typical equivalent load",
        }
        fields = [
            "name",
            "assembly",
            "designation",
            "kind",
            "bore_mm",
            "balls",
            "ball_mm",
            "pitch_mm",
            "contact_deg",
            "c_n",
            "c0_n",
            "speed_rpm",
            "load_n",
            "part",
            "fitted_on",
        ]
        widgets = {"fitted_on": DAY}

    def __init__(self, *args, machine, user, **kwargs):
        super().__init__(*args, machine=machine, user=user, **kwargs)
        in_units(self, user.length_unit)
        self.fields["assembly"].queryset = machine.assemblies.all()
        self.fields["assembly"].empty_label = "Neither"
        if self.instance.pk and self.instance.fittings.exists():
            del self.fields["fitted_on"]


class AssemblyForm(OfMachineForm):
    """A guide bushing housing or a jack shaft."""

    class Meta:
        model = Assembly
        fields = ["kind", "preload", "renew_after_h", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}


class RebuildForm(EntryForm):
    """One time an assembly was taken apart."""

    rebuilt_on = forms.DateField(label="Day", widget=DAY)
    who = forms.CharField(label="By whom", max_length=120)
    fitted = forms.CharField(
        label="What was fitted", max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    new_bushing = forms.BooleanField(label="With a new guide bushing", required=False)
    feel_before = forms.CharField(
        label="How it felt before", max_length=80, help_text="Such as: rough, catches once a turn."
    )
    feel_after = forms.CharField(label="How it felt after", max_length=80)

    def __init__(self, *args, assembly, **kwargs):
        super().__init__(*args, **kwargs)
        self.today = assembly.machine.shop.today
        if assembly.kind != Assembly.Kind.HOUSING:
            del self.fields["new_bushing"]

    def clean_rebuilt_on(self):
        day = self.cleaned_data["rebuilt_on"]
        if day > self.today:
            raise forms.ValidationError("That day is still to come.")
        return day

    @property
    def account(self):
        """The fields of the record, without the form's own."""
        fields = {field.name for field in Rebuild._meta.fields}
        return {name: value for name, value in self.cleaned_data.items() if name in fields}


class VisitChoice(EntryForm):
    """A form for what may be part of a visit that is open at the machine."""

    visit = forms.ModelChoiceField(
        label="Part of the visit",
        queryset=Visit.objects.none(),
        required=False,
        empty_label="Of none",
    )

    def __init__(self, *args, machine, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine
        theirs = Visit.objects.worked_by(user).unsigned()
        open_visits = theirs.filter(visited__machine=machine).distinct()
        if not open_visits:
            del self.fields["visit"]
            return
        self.fields["visit"].queryset = open_visits
        self.fields["visit"].initial = open_visits.first()


class FitForm(VisitChoice):
    """What was fitted, and why the old one came out."""

    part = forms.ModelChoiceField(
        label="Part fitted", queryset=Part.objects.none(), required=False, empty_label="Not named"
    )
    serial = forms.CharField(label="Its serial or lot number", max_length=60, required=False)
    quantity = forms.IntegerField(label="How many", min_value=1, max_value=99, initial=1)
    why = forms.ChoiceField(
        label="Why the old one came out", choices=Removal.Why, widget=forms.RadioSelect
    )
    taken_from = forms.ChoiceField(
        label="The new one came from",
        choices=[("", "elsewhere"), *STOCK.items()],
        required=False,
        help_text="What came from the van or the shelf is taken off the stock on record.",
    )
    note = forms.CharField(max_length=200, required=False)

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, user=user, **kwargs)
        self.fields["part"].queryset = parts_for(user, self.machine.shop)

    @property
    def what(self):
        """What the services take, without the form's own."""
        return {
            name: self.cleaned_data[name]
            for name in ("part", "serial", "quantity", "why", "taken_from")
        }


class AdviceForm(VisitChoice):
    """A replacement that a person recommends."""

    place = forms.ChoiceField(label="What it is about", required=False)
    what = forms.CharField(
        label="What to do",
        max_length=160,
        required=False,
        help_text="Empty for a belt or bearing: replace it.",
    )
    part = forms.ModelChoiceField(
        queryset=Part.objects.none(), required=False, empty_label="Not named"
    )
    quantity = forms.IntegerField(label="How many", min_value=1, max_value=99, initial=1)
    urgency = forms.ChoiceField(choices=Recommendation.Urgency, widget=forms.RadioSelect)
    by_date = forms.DateField(label="By", widget=DAY, required=False)
    reason = forms.CharField(max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))
    safety_relevant = forms.BooleanField(
        label="Somebody may get hurt if it is left",
        required=False,
        help_text="It stays visible on the machine and in later reports even when it is declined.",
    )

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, user=user, **kwargs)
        self.fields["part"].queryset = parts_for(user, self.machine.shop)
        self.places = {
            f"{place._meta.model_name} {place.pk}": place
            for place in [*self.machine.belts.all(), *self.machine.bearings.all()]
        }
        self.fields["place"].choices = [
            ("", "Something else"),
            *((key, str(place)) for key, place in self.places.items()),
        ]

    def clean(self):
        given = super().clean()
        place = self.places.get(given.get("place"))
        if place is None and not given.get("what"):
            self.add_error("what", "Say what to do; it is neither a belt nor a bearing.")
        by_date = given.get("urgency") == Recommendation.Urgency.BY_DATE
        if by_date and not given.get("by_date") and "by_date" not in self.errors:
            self.add_error("by_date", "Give the date by which it should be done.")
        if given.get("by_date") and not by_date:
            self.add_error("by_date", "A date goes with 'by a date' only.")
        return given

    @property
    def advice(self):
        """The fields of the recommendation."""
        given = self.cleaned_data
        place = self.places.get(given["place"])
        part = given["part"] or (place and place.part)
        return {
            **({place._meta.model_name: place} if place else {}),
            "what": given["what"] or f"Replace the {place}" + (f" ({part.number})" if part else ""),
            "part": part,
            **{
                name: given[name]
                for name in ("quantity", "urgency", "by_date", "reason", "safety_relevant")
            },
        }


class PhotoForm(forms.Form):
    """A photo, and the tooth it shows."""

    tooth = forms.IntegerField(min_value=1)
    photo = forms.FileField(widget=forms.FileInput(attrs={"accept": "image/*"}))

    def __init__(self, *args, belt, **kwargs):
        super().__init__(*args, **kwargs)
        self.belt = belt

    def clean_tooth(self):
        tooth = self.cleaned_data["tooth"]
        if tooth > self.belt.teeth:
            raise forms.ValidationError(
                f"The belt has teeth 1 to {self.belt.teeth}; there is no tooth {tooth}."
            )
        return tooth

    def clean_photo(self):
        return clean_photo(self.cleaned_data["photo"])


class BearingInspectionForm(VisitChoice):
    """One look at a bearing."""

    feel = forms.ChoiceField(
        label="Turned by hand it feels",
        choices=BearingInspection.Feel,
        required=False,
        widget=forms.RadioSelect,
    )
    noise = forms.ChoiceField(
        label="It sounds",
        choices=BearingInspection.Noise,
        required=False,
        widget=forms.RadioSelect,
    )
    temperature_rise_k = measure("Warmer than the room by", "°C", 4, 1, validator=None)
    runout = forms.CharField(label="Run-out", required=False, max_length=40)
    velocity_mm_s = measure(
        "Vibration velocity on the housing", "mm/s rms", 6, 2, validator=ZERO_OR_MORE
    )
    speed_rpm = measure("Speed while measured", "rpm", 7, 1)
    peaks = forms.CharField(
        label="Peaks of the spectrum, in Hz",
        required=False,
        max_length=200,
        help_text="The highest first, with commas or spaces between: 107.4, 162.2",
    )
    note = forms.CharField(
        required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args, unit, **kwargs):
        super().__init__(*args, **kwargs)
        self.unit = unit
        self.fields["runout"].unit = UNIT_SYMBOLS[unit]

    def clean_runout(self):
        """The run-out in µm, None where none was typed."""
        typed = self.cleaned_data["runout"].strip()
        if not typed:
            return None
        try:
            runout_um = parse_length(typed, self.unit)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error
        if runout_um < 0:
            raise forms.ValidationError("A run-out is not negative.")
        return runout_um

    def clean_peaks(self):
        """The frequencies as numbers."""
        words = self.cleaned_data["peaks"].replace(",", " ").replace(";", " ").split()
        try:
            peaks = [float(word) for word in words]
        except ValueError as error:
            raise forms.ValidationError(
                "Expected frequencies in Hz, such as: 107.4, 162.2"
            ) from error
        if not all(0 < peak < 1e6 for peak in peaks):
            raise forms.ValidationError("A frequency is more than zero and less than a million Hz.")
        return peaks

    @property
    def found(self):
        """The fields of the record."""
        given = dict(self.cleaned_data)
        for own in ("entry_id", "visit"):
            given.pop(own, None)
        found = {
            "runout_um": given.pop("runout"),
            "runout_typed": self.data.get("runout", "").strip(),
            "peaks_hz": given.pop("peaks"),
        }
        return given | found
