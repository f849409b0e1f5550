"""How a station is measured, chosen by picture."""

import json

from django import forms
from django.core.exceptions import ValidationError
from django.urls import reverse

from alignment.geometry.adjust.chain import measured_from
from alignment.sheets.fields import LengthField
from alignment.sheets.setup import Setup, is_unusual, usual_setup
from machines.register.models import Station
from shop.lengths import format_length

from .station_services import MEANING, signed_checks_rest_on

LONGEST_PLANE_UM = 10_000_000
PICTURES = {
    Station.Holder.DATUM: "in-datum",
    Station.Holder.STATION: "in-station",
    Station.Look.FROM_HEADSTOCK: "away",
    Station.Look.TO_HEADSTOCK: "towards",
}


class PictureSelect(forms.RadioSelect):
    """Radio buttons, each with a drawing of what it stands for above its words."""

    option_template_name = "alignment/widgets/picture_option.html"

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.attrs.setdefault("class", "drawn")

    def create_option(self, name, value, *args, **kwargs):
        option = super().create_option(name, value, *args, **kwargs)
        option["src"] = f"{reverse('alignment:setup_picture')}?choice={PICTURES[value]}"
        return option


class PlaneField(LengthField):
    """How far a plane lies from the headstock spindle's nose; cleans to a `TypedLength`."""

    def clean(self, value):
        typed = super().clean(value)
        if typed is not None and typed.value_um < 0:
            raise ValidationError(
                f"{typed.typed} lies behind the headstock spindle's nose; expected zero or more."
            )
        return typed


class StationForm(forms.Form):
    """A station of a machine, new or on record.

    machine: what it stands on. station: the one on record, None for a new one. unit: "in", "mm"
    or "um", the person's; a plane is shown and taken in inches or else in millimetres.
    `said()` gives what was entered as `set_up_station` and `begin_new_line` take it;
    `needs_new_line` is True where signed checks rest on what would change.
    """

    name = forms.CharField(max_length=Station._meta.get_field("name").max_length)
    kind = forms.ChoiceField(choices=[("", "choose"), *Station.Kind.choices])
    datum = forms.ModelChoiceField(
        Station.objects.none(),
        label="Measured from",
        required=False,
        empty_label="nothing: it is the master datum",
        error_messages={
            "required": "This machine has its master datum already; expected the station that "
            "this one is measured from."
        },
    )
    indicator_in = forms.ChoiceField(
        label="Where the indicator sits",
        choices=Station.Holder.choices,
        required=False,
        widget=PictureSelect,
    )
    look = forms.ChoiceField(
        label="Which way it looks",
        choices=Station.Look.choices,
        required=False,
        widget=PictureSelect,
    )
    as_drawn = forms.BooleanField(
        label="It is set up as chosen here",
        required=False,
        help_text="Asked because another setting is usual for this kind of station.",
    )
    plane = PlaneField(
        label="Swept plane from the headstock spindle's nose",
        longest_um=LONGEST_PLANE_UM,
        help_text="Along the machine, from the nose to the surface that is swept.",
    )
    how = forms.CharField(
        label="How it is measured",
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Where the indicator sits and what it sweeps, in your own words.",
    )
    begin_anew = forms.BooleanField(
        label="End the line so far and begin a new one",
        required=False,
        help_text="Signed checks rest on how it was set up. The old line keeps its history.",
    )

    def __init__(self, *args, machine, station=None, unit="mm", **kwargs):
        super().__init__(*args, **kwargs)
        self.machine, self.station = machine, station
        self.needs_new_line = False
        in_use = list(machine.stations.current())
        self._others = [one for one in in_use if station is None or one.pk != station.pk]
        self.fields["plane"].take_unit("in" if unit == "in" else "mm")
        self.fields["datum"].queryset = machine.stations.current().filter(
            pk__in=self._possible_datums(in_use)
        )
        usual = {kind: vars(usual_setup(kind)) for kind in Station.Kind if kind != "other"}
        self.fields["kind"].widget.attrs["data-usual"] = json.dumps(usual)
        if any(one.datum_id is None for one in self._others):
            self.fields["datum"].required, self.fields["datum"].empty_label = True, "choose"
        if station is not None:
            self.initial = self._on_record() | self.initial
        for name in ("indicator_in", "look"):
            self.fields[name].required = station is not None
            self.fields[name].help_text = "" if station else "Left open: as usual for its kind."
        if not self.is_bound:
            del self.fields["as_drawn"], self.fields["begin_anew"]

    def _possible_datums(self, in_use):
        """Every station but itself and what is measured from it."""
        if self.station is None:
            return [one.pk for one in in_use]
        chain = {one.pk: one.datum_id for one in in_use}
        below = measured_from(chain, self.station.pk) if self.station.pk in chain else ()
        return [pk for pk in chain if pk != self.station.pk and pk not in below]

    def _on_record(self):
        station = self.station
        names = ("name", "kind", "datum_id", "indicator_in", "look", "how")
        said = {name.removesuffix("_id"): getattr(station, name) for name in names}
        plane = format_length(station.plane_mm * 1000, self.fields["plane"].length_unit)
        return said | {"plane": plane.rstrip("0").rstrip(".") if "." in plane else plane}

    def clean_name(self):
        name = " ".join(self.cleaned_data["name"].split())
        if any(one.name.casefold() == name.casefold() for one in self._others):
            raise ValidationError(
                f"Machine {self.machine.number} has a station called {name} already; expected "
                "another name."
            )
        return name

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("kind"):
            self._fill_in_setup(cleaned)
            self._ask_whether_so(cleaned)
        if self.station is not None and not self.errors:
            self._ask_for_new_line()
        self._drop_questions_not_asked()
        return cleaned

    def _fill_in_setup(self, cleaned):
        """What was left open is as usual for the kind."""
        for name, usual in vars(usual_setup(cleaned["kind"])).items():
            cleaned[name] = cleaned.get(name) or usual

    def _ask_whether_so(self, cleaned):
        chosen = Setup(cleaned["indicator_in"], cleaned["look"])
        kept = self.station is not None and not {"kind", "indicator_in", "look"} & set(
            self.changed_data
        )
        self._is_unusual = cleaned.get("datum") and is_unusual(cleaned["kind"], chosen)
        if self._is_unusual and not kept and not cleaned.get("as_drawn"):
            usual = usual_setup(cleaned["kind"])
            self.add_error(
                "as_drawn",
                f"Usual for a {Station.Kind(cleaned['kind']).label}: the indicator sits "
                f"{Station.Holder(usual.indicator_in).label} and looks "
                f"{Station.Look(usual.look).label}. Tick here if it is otherwise on this machine.",
            )

    def _ask_for_new_line(self):
        said = self.said()
        changed = any(said[name] != getattr(self.station, name) for name in MEANING)
        self.needs_new_line = changed and signed_checks_rest_on(self.station)
        if self.needs_new_line and not self.cleaned_data.get("begin_anew"):
            self.add_error(
                "begin_anew",
                "Signed checks rest on where the indicator sat, which way it looked, what it was "
                "measured from and how far out. Tick here to begin a new line with what you "
                "chose, or set them back.",
            )

    def _drop_questions_not_asked(self):
        """A tick stands on the page once it was asked for, and only then."""
        for name in ("as_drawn", "begin_anew"):
            if name not in self.errors and not self.cleaned_data.get(name):
                del self.fields[name]

    def said(self):
        """The cleaned settings, by the names of `alignment.register.station_services.SETTINGS`."""
        cleaned = self.cleaned_data
        names = ("name", "kind", "datum", "how", "indicator_in", "look")
        return {name: cleaned[name] for name in names} | {"plane_mm": self._plane_mm()}

    def _plane_mm(self):
        """What was not typed anew stays to the last digit, whatever the unit it is shown in."""
        if self.station is not None and "plane" not in self.changed_data:
            return self.station.plane_mm
        return float(self.cleaned_data["plane"].value_um / 1000)
