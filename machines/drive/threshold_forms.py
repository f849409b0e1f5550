"""What a shop sets, and the two costs the replacement age is worked out with."""

from decimal import Decimal

from django import forms

from .models import COMMON_PRACTICE, Thresholds

PLANNED, BREAKDOWN = Decimal(400), Decimal(2000)


class ThresholdsForm(forms.ModelForm):
    """One shop's thresholds, each with its default and where that comes from."""

    class Meta:
        model = Thresholds
        fields = [
            "damaged_teeth",
            "grown_teeth",
            "belt_age_h",
            "planned_cost",
            "breakdown_cost",
            "zone_a_mm_s",
            "zone_b_mm_s",
            "zone_c_mm_s",
            "zone_source",
            "life_used_percent",
            "runout_growth_um",
            "drifts_in_a_row",
            "drift_risk_percent",
            "decision_rule",
        ]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            default = Thresholds._meta.get_field(name).get_default()
            if default is None or name in ("zone_source", "decision_rule"):
                continue
            source = "see below" if name.startswith("zone") else COMMON_PRACTICE
            field.help_text = f"{field.help_text} Default {default} ({source}).".strip()


class CostsForm(forms.Form):
    """What a planned replacement and a breakdown cost, in any one currency."""

    planned = forms.DecimalField(
        label="A planned replacement costs", min_value=Decimal("0.01"), max_digits=10
    )
    breakdown = forms.DecimalField(
        label="A breakdown costs", min_value=Decimal("0.01"), max_digits=10
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, initial={"planned": PLANNED, "breakdown": BREAKDOWN}, **kwargs)

    @property
    def costs(self):
        """(planned, breakdown) as typed, else the defaults."""
        if self.is_bound and self.is_valid():
            return self.cleaned_data["planned"], self.cleaned_data["breakdown"]
        return PLANNED, BREAKDOWN
