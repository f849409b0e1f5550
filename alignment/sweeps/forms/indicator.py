"""An indicator as its firm describes it."""

from decimal import Decimal

from django import forms

from alignment.sheets.fields import LengthField
from alignment.sweeps.models import Indicator

# Common practice, no source: no dial used here reads coarser or errs by more.
COARSEST_UM = Decimal(100)
LARGEST_ERROR_UM = Decimal(1_000)
LONGEST_RANGE_UM = Decimal(100_000)
LENGTHS = ("resolution", "error", "error_travel", "range")
OPTIONAL = ("error_travel", "range")


class IndicatorForm(forms.ModelForm):
    """Lengths are typed as everywhere on the site and come back as they were typed."""

    resolution = LengthField(
        label="Resolution",
        longest_um=COARSEST_UM,
        help_text="The smallest step that you read off it.",
    )
    error = LengthField(
        label="Stated error, give or take",
        longest_um=LARGEST_ERROR_UM,
        lowest_um=0,
        help_text="The largest error its certificate or data sheet states.",
    )
    error_travel = LengthField(
        label="Per travel of (optional)",
        required=False,
        help_text="A certificate can be read in two ways. Leave this empty where it states one "
        "error for the whole range; where the error grows, type the travel it is stated for.",
    )
    range = LengthField(
        label="Range (optional)",
        required=False,
        longest_um=LONGEST_RANGE_UM,
        help_text="The whole travel of its dial. A reading beyond it is asked about before it "
        "counts.",
    )

    class Meta:
        model = Indicator
        fields = ["name", "serial", "calibrated_on", "calibration_due", "retired"]
        widgets = {
            "calibrated_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "calibration_due": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    field_order = ["name", "serial", "resolution", "error", "error_travel", "range"]

    def __init__(self, *args, unit, firm, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.firm = firm
        self.unit = self.instance.unit or unit
        for name in LENGTHS:
            self.fields[name].take_unit(self.unit)
            if self.instance.pk:
                self.initial[name] = getattr(self.instance, f"{name}_typed")
        if not self.instance.pk:
            del self.fields["retired"]

    def clean_resolution(self):
        typed = self.cleaned_data["resolution"]
        if typed is not None and typed.value_um <= 0:
            raise forms.ValidationError("The resolution is a step; expected more than zero.")
        return typed

    def clean_error_travel(self):
        typed = self.cleaned_data["error_travel"]
        if typed is not None and typed.value_um <= 0:
            raise forms.ValidationError("The travel is a length; expected more than zero.")
        return typed

    def clean_range(self):
        typed = self.cleaned_data["range"]
        if typed is not None and typed.value_um <= 0:
            raise forms.ValidationError("The range is a length; expected more than zero.")
        return typed

    def _get_validation_exclusions(self):
        """The firm is not typed, yet its serial numbers must differ."""
        return super()._get_validation_exclusions() - {"firm"}

    def _post_clean(self):
        """What was typed, on the record, before the record is checked as a whole."""
        for name in LENGTHS:
            if typed := self.cleaned_data.get(name):
                setattr(self.instance, f"{name}_um", typed.value_um)
                setattr(self.instance, f"{name}_typed", typed.typed)
        for name in OPTIONAL:
            if not self.cleaned_data.get(name):
                setattr(self.instance, f"{name}_um", None)
                setattr(self.instance, f"{name}_typed", "")
        self.instance.unit = self.unit
        super()._post_clean()
