"""What people type about parts, checked."""

from django import forms

from machines.drive.models import Part
from shop.web.list_forms import ListForm

from .part_list import read_list


class PartForm(forms.ModelForm):
    """A part of one keeper's register; its number is unique there."""

    class Meta:
        model = Part
        fields = [
            "number",
            "description",
            "maker",
            "price",
            "lead_time_days",
            "minimum",
            "on_shelf",
            "in_van",
        ]

    def __init__(self, *args, keeper=None, **kwargs):
        super().__init__(*args, **kwargs)
        if keeper is not None:
            self.instance.shop, self.instance.firm = keeper.shop, keeper.firm

    def clean_number(self):
        number = self.cleaned_data["number"]
        same = Part.objects.filter(
            shop=self.instance.shop, firm=self.instance.firm, number=number
        ).exclude(pk=self.instance.pk)
        if same.exists():
            raise forms.ValidationError(f"There is a part {number} in this register already.")
        return number


class KeeperForm(forms.Form):
    """Whose register it is about; left out where a person writes in one only."""

    keeper = forms.ChoiceField(label="Kept by")

    def __init__(self, *args, keepers, **kwargs):
        super().__init__(*args, **kwargs)
        self.keepers = {keeper.key: keeper for keeper in keepers}
        self.fields["keeper"].choices = [(k.key, k.name) for k in keepers]
        if len(keepers) == 1:
            self.fields["keeper"].initial = keepers[0].key
            self.fields["keeper"].widget = forms.HiddenInput()

    @property
    def chosen(self):
        """The keeper that was chosen."""
        return self.keepers[self.cleaned_data["keeper"]]


class PartListForm(KeeperForm, ListForm):
    """A list of parts."""

    READ_WITH = ("keeper",)

    def read(self, given):
        there = {part.number: part for part in self.keepers[given["keeper"]].parts()}
        return read_list(given["text"], there)
