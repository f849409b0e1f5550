"""Forms that mail a document or hold a file against it."""

from django import forms

from shop.people.models import User
from shop.web.forms import EntryForm

LARGEST_DOCUMENT = 60_000_000


class SendForm(EntryForm):
    """To whom a document goes: people of the shop with an address, and one more."""

    people = forms.ModelMultipleChoiceField(
        label="People of the shop",
        queryset=User.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "choices"}),
    )
    other = forms.EmailField(label="Another address", required=False)
    message = forms.CharField(
        label="A word with it",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args, shop, **kwargs):
        super().__init__(*args, **kwargs)
        people = User.objects.filter(
            memberships__shop=shop, memberships__ended_at=None, is_active=True
        )
        self.fields["people"].queryset = people.exclude(email="").order_by("last_name", "pk")
        self.fields["people"].label_from_instance = lambda one: f"{one.name}, {one.email}"

    def clean(self):
        given = super().clean()
        if not (given.get("people") or given.get("other") or self.errors):
            self.add_error("people", "Choose at least one person, or give another address.")
        return given

    def goes_outside(self):
        """Whether a mail goes to an address that is not of the shop's people."""
        other = self.cleaned_data["other"].lower()
        known = {person.email.lower() for person in self.fields["people"].queryset}
        return bool(other) and other not in known

    def recipients(self):
        """(name, address) pairs, each address once."""
        given = self.cleaned_data
        people = {person.email.lower(): (person.name, person.email) for person in given["people"]}
        if given["other"]:
            people.setdefault(given["other"].lower(), ("", given["other"]))
        return list(people.values())


class CheckFileForm(forms.Form):
    """A file that somebody holds, to be compared with what was issued."""

    file = forms.FileField(label="Your file")

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > LARGEST_DOCUMENT:
            raise forms.ValidationError(
                f"The file is {file.size / 1e6:.0f} MB; no document issued here is that large."
            )
        return file
