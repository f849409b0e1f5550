"""Forms of shared devices and PINs."""

from django import forms

from shop.people.models import SharedDevice
from shop.people.signing_in.forms import AskingAgain
from shop.web.forms import EntryForm

from .pins import LONGEST, SHORTEST, why_refused

PIN_BOX = {
    "inputmode": "numeric",
    "autocomplete": "off",
    "minlength": SHORTEST,
    "maxlength": LONGEST,
}


def _pin(label, **more):
    box = forms.PasswordInput(attrs={**PIN_BOX, **more.pop("attrs", {})})
    return forms.CharField(label=label, max_length=LONGEST, widget=box, **more)


class DeviceForm(EntryForm):
    """A device the owner allows."""

    name = SharedDevice._meta.get_field("name").formfield()


class DeviceCodeForm(forms.Form):
    """The code that makes this browser a shared device, as it is typed."""

    code = forms.CharField(
        max_length=40,
        help_text="The ten letters and digits the shop's owner sees when allowing the device.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )


class PinForm(forms.Form):
    """A person's PIN, typed at a shared device."""

    pin = _pin("PIN", attrs={"autofocus": True, "data-keypad": True})


class NewPinForm(AskingAgain):
    """A PIN a person chooses, typed twice since it cannot be read."""

    field_order = ["pin", "again", "password_now"]

    pin = _pin("New PIN", help_text=f"{SHORTEST} to {LONGEST} digits; none that is tried first.")
    again = _pin("The same again")

    def clean_pin(self):
        pin = self.cleaned_data["pin"]
        if why := why_refused(pin):
            raise forms.ValidationError(why)
        return pin

    def clean(self):
        given = super().clean()
        if "pin" in given and "again" in given and given["pin"] != given["again"]:
            self.add_error("again", "This is not the PIN above; type both anew.")
        return given
