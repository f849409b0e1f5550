"""The boxes of a sweep: where the indicator stood and what it showed."""

import re
from collections import Counter
from decimal import Decimal

from django import forms
from django.forms import BaseFormSet, formset_factory

from alignment.sheets.fields import AngleField, LengthField
from alignment.sheets.layouts import FIXED, MOST_BOXES, OWN

# Common practice, no source: no dial indicator in use on these machines travels further.
LONGEST_READING_UM = Decimal(50_000)
FEWEST_READINGS = 3
# What is on the way to a number while it is being typed: a sign, a mark, half a fraction.
BEGUN = re.compile(r"[-+−]?\s*(?:[.,]?|(?:\d+\s+)?\d+\s*/\s*)")


class ReadingField(LengthField):
    """A reading; `being_typed` lets pass, as nothing yet, what can still become one."""

    being_typed = False

    def clean(self, value):
        if self.being_typed and BEGUN.fullmatch((value or "").strip()):
            return None
        return super().clean(value)


class ReadingForm(forms.Form):
    """One box: where the indicator stood and what it showed."""

    angle = AngleField(required=False, label="Angle")
    reading = ReadingField(required=False, label="Reading", longest_um=LONGEST_READING_UM)

    def __init__(self, *args, counts, fixed_angle, being_typed, **kwargs):
        super().__init__(*args, **kwargs)
        self.fixed_angle = fixed_angle
        counts.told_to(self.fields["reading"])
        self.fields["reading"].being_typed = being_typed
        for field in self.fields.values():
            field.widget.attrs |= {"enterkeyhint": "next", "aria-describedby": self.notes_id}
        self.fields["reading"].widget.attrs["data-reading"] = True

    @property
    def notes_id(self):
        """The element that says what is wrong with this box."""
        return f"{self.prefix}-wrong"

    @property
    def place(self):
        """What the box is called: its angle, or its number where no angle is typed yet."""
        if self.fixed_angle is not None:
            return f"{self.fixed_angle:g}°"
        angle = self.cleaned_data.get("angle")
        return f"box {self.number}" if angle is None else f"{angle:g}°"

    @property
    def number(self):
        return int(self.prefix.rpartition("-")[2]) + 1

    def clean_angle(self):
        if self.fixed_angle is not None:
            return float(self.fixed_angle)
        angle = self.cleaned_data["angle"]
        return None if angle is None else angle % 360

    @property
    def angle_deg(self):
        return self.cleaned_data.get("angle")

    @property
    def typed(self):
        """The cleaned reading, None where there is none yet."""
        return self.cleaned_data.get("reading")

    @property
    def is_complete(self):
        return self.angle_deg is not None and self.typed is not None

    @property
    def is_waiting(self):
        """Whether something must still be typed here, though nothing is wrong."""
        begun = self.fixed_angle is not None or self.angle_deg is not None or self.typed is not None
        return begun and not self.is_complete and not self.errors

    def ask(self):
        """Say at the box what is missing."""
        if self.typed is None:
            self.add_error("reading", f"Type the reading at {self.place}.")
        else:
            self.add_error("angle", "Type the angle at which this was read.")


class _ReadingFormSet(BaseFormSet):
    """The boxes of a sweep; `whole` asks for everything that saving needs."""

    def __init__(self, data, *, layout, counts, whole, prefix):
        self.layout, self.counts, self.whole = layout, counts, whole
        super().__init__(data, prefix=prefix)

    @property
    def own_angles(self):
        return self.layout == OWN

    def total_form_count(self):
        return super().total_form_count() if self.own_angles else len(FIXED[self.layout])

    def get_form_kwargs(self, index):
        fixed = None if self.own_angles or index is None else FIXED[self.layout][index]
        return {"counts": self.counts, "fixed_angle": fixed, "being_typed": not self.whole}

    def clean(self):
        self._refuse_angles_given_twice()
        if not self.whole:
            return
        for form in self.waiting:
            form.ask()
        if self.own_angles and not any(form.errors for form in self.forms):
            self._ask_for_three()

    def _refuse_angles_given_twice(self):
        seen = Counter()
        for form in self.forms:
            angle = form.angle_deg
            if angle is None or not self.own_angles:
                continue
            seen[angle] += 1
            if seen[angle] == 2:
                form.add_error(
                    "angle", f"The angle {angle:g}° is given twice; each angle may stand once."
                )

    def _ask_for_three(self):
        complete = len(self.complete)
        if complete < FEWEST_READINGS:
            blank = next(form for form in self.forms if not form.is_complete)
            blank.add_error(
                "reading", f"A sweep needs at least three readings; there are {complete}."
            )

    @property
    def complete(self):
        return [form for form in self.forms if form.is_complete and not form.errors]

    @property
    def waiting(self):
        return [form for form in self.forms if form.is_waiting]

    @property
    def missing(self):
        """What must still be typed before the sweep can be worked out, in words."""
        places = [form.place for form in self.waiting]
        short = FEWEST_READINGS - len(self.complete) - len(places)
        if self.own_angles and short > 0:
            places.append(
                f"{short} more reading{'s' if short > 1 else ''} at {short} more "
                f"angle{'s' if short > 1 else ''}"
            )
        return places


ReadingFormSet = formset_factory(
    ReadingForm, formset=_ReadingFormSet, extra=0, absolute_max=MOST_BOXES, max_num=MOST_BOXES
)
