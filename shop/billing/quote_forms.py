"""Forms of quotes; their fields depend on what is quoted."""

from django import forms

from shop.people.telling import told_fields, told_today
from shop.web.forms import EntryForm

from .quotes import Priced


class OfferForm(EntryForm):
    """What to quote of what was advised, with its price and hours."""

    note = forms.CharField(
        required=False, widget=forms.Textarea(attrs={"rows": 2}), max_length=2000
    )

    def __init__(self, *args, quotables, currency, **kwargs):
        super().__init__(*args, **kwargs)
        self.quotables = quotables
        for place, one in enumerate(quotables):
            self.fields[f"offer_{place}"] = forms.BooleanField(
                label="Quote this", required=False, initial=True
            )
            self.fields[f"price_{place}"] = forms.DecimalField(
                label="Price of one part",
                required=False,
                min_value=0,
                max_digits=12,
                decimal_places=4,
                initial=one.part_price,
            )
            self.fields[f"price_{place}"].unit = currency
            self.fields[f"hours_{place}"] = forms.DecimalField(
                label="Hours of labour",
                required=False,
                min_value=0,
                max_digits=7,
                decimal_places=2,
                initial=one.hours,
            )
            self.fields[f"hours_{place}"].unit = "h"

    def rows(self):
        """(quotable, its three boxes) for the page."""
        return [
            (one, self[f"offer_{n}"], self[f"price_{n}"], self[f"hours_{n}"])
            for n, one in enumerate(self.quotables)
        ]

    def offered(self):
        """What was chosen, as `Priced`."""
        given = self.cleaned_data
        return [
            Priced(one, given[f"price_{n}"], given[f"hours_{n}"])
            for n, one in enumerate(self.quotables)
            if given[f"offer_{n}"]
        ]


class AnswerForm(forms.Form):
    """The owner's word to each item; those left open are answered another time."""

    ACCEPT, LEAVE, LATER = "accept", "leave", ""

    note = forms.CharField(label="A word with it", required=False, max_length=200)

    def __init__(self, *args, items, told_at=None, **kwargs):
        """told_at: the shop whose owner told the answers, where the firm writes them down."""
        if told_at is not None:
            kwargs["initial"] = told_today(told_at)
        super().__init__(*args, **kwargs)
        self.items = items
        self.told_boxes = told_fields() if told_at is not None else {}
        self.fields.update(self.told_boxes)
        for item in items:
            self.fields[f"item_{item.pk}"] = forms.ChoiceField(
                label=item.what,
                choices=[
                    (self.ACCEPT, "accept it"),
                    (self.LEAVE, "not now"),
                    (self.LATER, "answer later"),
                ],
                required=False,
                widget=forms.RadioSelect(attrs={"class": "choices row"}),
            )

    def clean(self):
        given = super().clean()
        if not any(given.get(f"item_{item.pk}") for item in self.items):
            self.add_error(None, "Answer at least one item.")
        return given

    def told_rows(self):
        """The boxes of who told it, for the page; empty where the owner answers."""
        return [self[name] for name in self.told_boxes]

    def answers(self):
        """Item pk to (accepted, note), of the items answered."""
        given = self.cleaned_data
        return {
            item.pk: (given[f"item_{item.pk}"] == self.ACCEPT, given["note"])
            for item in self.items
            if given[f"item_{item.pk}"]
        }
