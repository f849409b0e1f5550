"""What somebody types while the telephone is at their ear."""

from django import forms

from machines.register.models import Machine
from shop.web.forms import EntryForm

from .models import Call


def _text(name, **more):
    return Call._meta.get_field(name).formfield(**more)


class CallForm(EntryForm):
    """Who rang from which shop, about which machine, what they say, what was promised."""

    shop = forms.ModelChoiceField(None, empty_label="Choose the shop")
    machine = forms.ModelChoiceField(
        None, required=False, empty_label="None, or not said", label="Machine"
    )
    who = _text("who", label="Who rang")
    phone = _text("phone", label="Number to ring back", help_text="Empty: the shop's own.")
    says = _text("says", label="What they say", widget=forms.Textarea(attrs={"rows": 3}))
    promised = _text("promised", label="What you promised")

    def __init__(self, *args, shops, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["shop"].queryset = shops
        machines = Machine.objects.filter(shop__in=shops).select_related("shop")
        self.fields["machine"].queryset = machines
        self.fields["machine"].label_from_instance = lambda one: f"{one.shop}: {one}"

    def clean(self):
        given = super().clean()
        shop, machine = given.get("shop"), given.get("machine")
        if shop and machine and machine.shop_id != shop.pk:
            self.add_error("machine", f"It stands at {machine.shop}; expected one of {shop}.")
        return given


class SettleCallForm(forms.Form):
    """What became of a call."""

    how = forms.CharField(label="How it was settled", max_length=200)
