"""What people type about belts, bearings and assemblies, checked."""

from decimal import Decimal

from django import forms
from django.db.models import Q
from django.utils import timezone

from machines.engineering.belts import PROFILES
from shop.forms import EntryForm
from shop.models import Role

from ..models import Assembly, Bearing, Belt, Part, Rebuild

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
        self.today = timezone.localdate(timezone=machine.shop.zone)
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

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, machine=machine, **kwargs)
        self.fields["partner"].queryset = machine.belts.exclude(pk=self.instance.pk)
        self.fields["pitch_mm"].required = False
        self.fields["pitch_mm"].help_text = f"Empty for a known profile: {', '.join(PROFILES)}."
        if self.instance.pk and self.instance.fittings.exists():
            del self.fields["fitted_on"]

    def clean(self):
        given = super().clean()
        profile = PROFILES.get(given.get("profile", ""))
        pitch = given.get("pitch_mm")
        if pitch is None and "pitch_mm" not in self.errors:
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

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, machine=machine, **kwargs)
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
        self.today = timezone.localdate(timezone=assembly.machine.shop.zone)
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
