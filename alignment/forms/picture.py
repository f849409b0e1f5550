"""The figures in the address of the picture of a sweep that is being typed."""

import math

from django import forms
from django.core.exceptions import ValidationError

from alignment.figures import AxisPosition
from alignment.models import Check

from .layouts import MOST_BOXES, UNITS

FURTHEST_UM = 1e6


def _number(text, *, most=FURTHEST_UM):
    number = float(text)
    if not abs(number) <= most:
        raise ValueError("out of all proportion")
    return number


class NumberField(forms.Field):
    """A finite number of a size that can be drawn."""

    def to_python(self, value):
        if value in self.empty_values:
            return None
        try:
            return _number(value)
        except ValueError as error:
            raise ValidationError("not a number") from error


class PairsField(forms.CharField):
    """Pairs of numbers, such as "0:1.5,90:-1.5"."""

    def clean(self, value):
        text = super().clean(value)
        pairs = [pair.partition(":") for pair in text.split(",")] if text else []
        try:
            return tuple((_number(angle), _number(size)) for angle, _, size in pairs[:MOST_BOXES])
        except ValueError as error:
            raise ValidationError("not pairs of numbers") from error


class CovarianceField(forms.CharField):
    """The three parts of a covariance that can be one: (right, right), (right, up), (up, up)."""

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            rr, ru, uu = (_number(part, most=FURTHEST_UM**2) for part in text.split(","))
        except ValueError as error:
            raise ValidationError("not three numbers") from error
        # Parts rounded for the address may miss being a covariance by the rounding.
        if rr < 0 or uu < 0 or abs(ru) > math.sqrt(rr * uu) + 1e-3:
            raise ValidationError("not a covariance")
        return ((rr, ru), (ru, uu))


class PictureForm(forms.Form):
    """What the picture shows."""

    right = NumberField()
    up = NumberField()
    covariance = CovarianceField(required=False)
    dof = NumberField(required=False)
    residuals = PairsField(required=False)
    phase = forms.ChoiceField(choices=Check.Phase)
    verdict = forms.ChoiceField(choices=Check.Verdict, required=False)
    unit = forms.ChoiceField(choices=UNITS)

    def clean_dof(self):
        dof = self.cleaned_data["dof"]
        if dof is not None and dof <= 0:
            raise ValidationError("not degrees of freedom")
        return dof

    def position(self):
        """Where the axis sits, of a form that is valid."""
        given = self.cleaned_data
        return AxisPosition(
            right_um=given["right"],
            up_um=given["up"],
            covariance_um2=given["covariance"],
            dof=given["dof"],
            verdict=given["verdict"],
            residuals=given["residuals"],
        )
