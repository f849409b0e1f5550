"""What people type to make, copy and change machines, and to list them in."""

from django import forms
from django.core.exceptions import ValidationError

from machines.register.models import Machine
from shop.people.models import Shop
from shop.web.list_forms import ListForm

from .machine_list import read_machines

KIND_IS_GONE = "That kind is no longer there; choose another one."


class OfShop(forms.Form):
    """The shop a machine is for: asked for only where there is a choice."""

    shop = forms.ModelChoiceField(queryset=Shop.objects.none(), label="Shop", empty_label="choose")

    def __init__(self, *args, shops, **kwargs):
        super().__init__(*args, **kwargs)
        field = self.fields["shop"]
        field.queryset = shops
        one = list(shops[:2])
        if len(one) == 1:
            field.initial, field.widget, field.required = one[0], forms.HiddenInput(), False

    def clean_shop(self):
        shop = self.cleaned_data["shop"] or self.fields["shop"].initial
        if shop is None:
            raise ValidationError("Choose the shop.")
        return shop


class MachineForm(forms.ModelForm):
    """What a machine is called and what is known of it, checked together with its shop."""

    class Meta:
        model = Machine
        fields = ["number", "name", "serial", "model_name", "built", "headstock_side", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, shop=None, **kwargs):
        super().__init__(*args, **kwargs)
        if shop is not None:
            self.instance.shop = shop

    def clean_built(self):
        year = self.cleaned_data["built"]
        if year is not None and not 1900 <= year <= 2100:
            raise ValidationError(f"{year} is no year it can be of; expected such as 2014.")
        return year

    def clean_note(self):
        note = self.cleaned_data["note"]
        if len(note) > 20_000:
            raise ValidationError("This note is over 20,000 characters; shorten it.")
        return note

    def _get_validation_exclusions(self):
        excluded = super()._get_validation_exclusions()
        return excluded - {"shop"} if self.instance.shop_id else excluded

    def changes(self):
        """The fields of the machine that were typed anew."""
        changed = [name for name in self.Meta.fields if name in self.changed_data]
        return {name: self.cleaned_data[name] for name in changed}

    def said(self):
        """The fields of the machine that were filled in."""
        given = {name: self.cleaned_data[name] for name in self.Meta.fields if name in self.fields}
        return {name: value for name, value in given.items() if value not in ("", None)}


class NewMachineForm(MachineForm):
    """A new machine of a kind, which says on which side its headstock stands."""

    class Meta(MachineForm.Meta):
        fields = ["number", "name", "serial", "model_name", "built", "note"]

    kind = forms.ChoiceField(
        label="Kind of machine",
        widget=forms.RadioSelect,
        error_messages={
            "required": "Choose a kind; everything it brings can be changed afterwards.",
            "invalid_choice": KIND_IS_GONE,
        },
    )

    field_order = ["number", "kind", "name", "serial", "model_name", "built", "note"]

    def __init__(self, *args, kinds, **kwargs):
        super().__init__(*args, **kwargs)
        self.kinds = {one.slug: one for one in kinds}
        self.fields["kind"].choices = [(slug, one.name) for slug, one in self.kinds.items()]
        self.fields["name"].required = False
        self.fields["name"].help_text = "Left empty, it is called what its kind is called."

    @property
    def chosen(self):
        """The `Choice` of the kind."""
        return self.kinds[self.cleaned_data["kind"]]


class CopyForm(MachineForm):
    """A copy of a machine: only what differs is asked for."""

    class Meta(MachineForm.Meta):
        fields = ["number", "name", "serial"]

    def __init__(self, *args, machine, **kwargs):
        kwargs["initial"] = {"name": machine.name} | (kwargs.get("initial") or {})
        super().__init__(*args, shop=machine.shop, **kwargs)


class MachineListForm(OfShop, ListForm):
    """A list of machines."""

    READ_WITH = ("shop",)

    def __init__(self, *args, kinds, **kwargs):
        super().__init__(*args, **kwargs)
        self.kinds = kinds

    def read(self, given):
        return read_machines(given["text"], given["shop"], self.kinds)
