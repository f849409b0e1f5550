"""The figures in the address of the picture of a sweep that is being typed."""

import math

from django import forms
from django.core.exceptions import ValidationError

from alignment.figures import AxisPosition, PlottedLine
from alignment.sheets.layouts import MOST_BOXES, UNITS
from alignment.sweeps.models import Check

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
    """The three parts of a covariance that can be one: (front, front), (front, up), (up, up)."""

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            ff, fu, uu = (_number(part, most=FURTHEST_UM**2) for part in text.split(","))
        except ValueError as error:
            raise ValidationError("not three numbers") from error
        # Parts rounded for the address may miss being a covariance by the rounding.
        if ff < 0 or uu < 0 or abs(fu) > math.sqrt(ff * uu) + 1e-3:
            raise ValidationError("not a covariance")
        return ((ff, fu), (fu, uu))


class PointsField(forms.CharField):
    """Points (z, front, up) along a line, such as "0:1.5:-2,80:3:-1", at two z's at least."""

    def clean(self, value):
        text = super().clean(value)
        try:
            points = [
                tuple(_number(part) for part in point.split(":"))
                for point in (text.split(",") if text else [])
            ][:MOST_BOXES]
        except ValueError as error:
            raise ValidationError("not points of numbers") from error
        if not points:
            return None
        if any(len(point) != 3 for point in points) or len({point[0] for point in points}) < 2:
            raise ValidationError("not points along a line")
        return PlottedLine(*zip(*points, strict=True))


class PictureForm(forms.Form):
    """What the picture shows: a line, or else the position of an axis."""

    line = PointsField(required=False)
    front = NumberField(required=False)
    up = NumberField(required=False)
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

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("line") is None and None in (cleaned.get("front"), cleaned.get("up")):
            raise ValidationError("neither a line nor a position")
        return cleaned

    def place(self):
        """Where what was measured stands, of a form that is valid."""
        given = self.cleaned_data
        if given["line"] is not None:
            return given["line"]
        return AxisPosition(
            front_um=given["front"],
            up_um=given["up"],
            covariance_um2=given["covariance"],
            dof=given["dof"],
            verdict=given["verdict"],
            residuals=given["residuals"],
        )
