"""Setting up a machine's stations and the acceptance sheet it is held against; what is measured
against them is entered on the site's own pages, through its services."""

from decimal import Decimal

from django import forms
from django.contrib import admin
from django.core.exceptions import ValidationError

from machines.register.models import Station
from shop.lengths import format_length
from shop.people.admin_editing import StampedAdmin

from .geometry.adjust.chain import station_path
from .sheets.fields import LengthField
from .sheets.models import AcceptanceItem, AcceptanceSheet
from .sweeps.models import Check, Indicator

# An acceptance sheet speaks of offsets and run-outs; a tenth of a metre is a slip of the thumb.
LONGEST_LIMIT_UM = Decimal(100_000)


LENGTHS = ("upper_um", "lower_um", "factory_um", "nominal_um")


class StationForm(forms.ModelForm):
    """A station, whose datum is another station of its machine."""

    class Meta:
        model = Station
        fields = ["machine", "name", "kind", "position", "datum", "how"]

    def _get_validation_exclusions(self):
        """Rules that go by the day a station was ended are asked too, though nobody types that."""
        return super()._get_validation_exclusions() - {"ended_on"}

    def clean(self):
        cleaned = super().clean()
        machine, datum = cleaned.get("machine"), cleaned.get("datum")
        if machine and datum:
            self._check_datum(machine, datum)
        if machine and self.instance.pk and machine.pk != self._machine_before():
            self.add_error("machine", "A station stays with its machine; make a new one there.")
        return cleaned

    def _check_datum(self, machine, datum):
        if datum.machine_id != machine.pk:
            self.add_error(
                "datum",
                f"The {datum} belongs to machine {datum.machine}; expected a station of {machine}.",
            )
            return
        if self.instance.pk is None:
            return  # nothing can be measured yet from a station that is only being made
        chain = dict(machine.stations.values_list("pk", "datum"))
        chain[self.instance.pk] = datum.pk
        try:
            station_path(chain, self.instance.pk)
        except ValueError:
            self.add_error(
                "datum",
                f"The {datum} is itself measured from this station, directly or through others.",
            )

    def _machine_before(self):
        return Station.objects.values_list("machine", flat=True).get(pk=self.instance.pk)


@admin.register(Station)
class StationAdmin(StampedAdmin):
    form = StationForm
    list_display = ["name", "machine", "position", "kind", "datum"]
    list_filter = ["machine__shop", "machine"]
    list_select_related = ["machine", "datum"]
    ordering = ["machine", "position"]
    search_fields = ["name", "machine__number"]

    def formfield_for_foreignkey(self, db_field, request, **kwargs):
        if db_field.name == "datum":
            kwargs["queryset"] = Station.objects.select_related("machine").order_by(
                "machine__number", "position"
            )
        field = super().formfield_for_foreignkey(db_field, request, **kwargs)
        if db_field.name == "datum":
            field.label_from_instance = _with_machine
        return field


def _with_machine(station):
    return f"{station.machine.number}: {station.position} {station}"


class ItemForm(forms.ModelForm):
    """One line of a sheet; lengths are typed as everywhere on the site, a bare number in µm."""

    upper_um = LengthField(
        unit="um", label="Upper limit", required=False, longest_um=LONGEST_LIMIT_UM
    )
    lower_um = LengthField(
        unit="um", label="Lower limit", required=False, longest_um=LONGEST_LIMIT_UM
    )
    factory_um = LengthField(
        unit="um", label="Factory's own figure", required=False, longest_um=LONGEST_LIMIT_UM
    )

    # Left out, a tilt is per 100 mm and a flat stands on the axis.
    per_mm = AcceptanceItem._meta.get_field("per_mm").formfield(required=False)
    nominal_um = LengthField(
        unit="um",
        label="Flat stands from the axis by",
        required=False,
        longest_um=LONGEST_LIMIT_UM,
        help_text=AcceptanceItem._meta.get_field("nominal_um").help_text,
    )

    class Meta:
        model = AcceptanceItem
        fields = ["position", "station", "name", "quantity", "surface"]
        fields += ["lower_um", "upper_um", "factory_um", "per_mm", "at_mm", "nominal_um"]
        fields += ["measured_from", "indicator_in", "look", "plane_mm"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in LENGTHS:
            if self.initial.get(name) is not None:
                self.initial[name] = format_length(self.initial[name], "um", with_unit=True)

    def clean(self):
        cleaned = super().clean()
        for name in LENGTHS:
            if cleaned.get(name) is not None:
                cleaned[name] = cleaned[name].value_um
        for name in ("per_mm", "nominal_um"):
            if cleaned.get(name) is None and name not in self.errors:
                cleaned[name] = AcceptanceItem._meta.get_field(name).get_default()
        if self.instance.pk and self.has_changed() and _is_signed_for(self.instance):
            raise ValidationError(
                "A signed check was held against this line, so it stays as it is. Make a new sheet "
                "and put that in force."
            )
        return cleaned


def _is_signed_for(item):
    return Check.objects.filter(item=item, visit__signed_at__isnull=False).exists()


class ItemFormSet(forms.BaseInlineFormSet):
    """The lines of one sheet, each at a station of the sheet's machine."""

    def clean(self):
        super().clean()
        for form in self.forms:
            station = getattr(form, "cleaned_data", {}).get("station")
            if station and self.instance.machine_id not in (None, station.machine_id):
                form.add_error(
                    "station",
                    f"The {station} belongs to machine {station.machine}, this sheet to "
                    f"{self.instance.machine}.",
                )


class ItemInline(admin.StackedInline):
    model = AcceptanceItem
    form, formset = ItemForm, ItemFormSet
    extra = 1
    ordering = ["position"]

    def formfield_for_foreignkey(self, db_field, request, **kwargs):
        stations = ("station", "measured_from")
        if db_field.name in stations:
            kwargs["queryset"] = Station.objects.select_related("machine").order_by(
                "machine__number", "position"
            )
        field = super().formfield_for_foreignkey(db_field, request, **kwargs)
        if db_field.name in stations:
            field.label_from_instance = _with_machine
        return field


@admin.register(AcceptanceSheet)
class AcceptanceSheetAdmin(StampedAdmin):
    list_display = ["name", "machine", "dated", "is_current"]
    list_filter = ["is_current", "machine__shop"]
    list_select_related = ["machine__shop"]
    inlines = [ItemInline]


@admin.register(Indicator)
class IndicatorAdmin(StampedAdmin):
    list_display = ["name", "serial", "firm", "calibration_due", "retired"]
    list_filter = ["firm", "retired"]
    list_select_related = ["firm"]
