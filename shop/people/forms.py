"""Forms about people: inviting them, what they may do, and their own account."""

from django import forms
from django.contrib.auth.forms import BaseUserCreationForm

from shop.web.forms import EntryForm

from .memberships import OWN_ROLES, served_shops
from .models import Firm, Role, Shop, User


class InviteForm(EntryForm):
    """Whom to invite to a shop, and as what."""

    email = forms.EmailField(label="Mail address")
    role = forms.ChoiceField(
        label="As",
        choices=Role.choices,
        initial=Role.OPERATOR,
        help_text="A service contractor brings the firm along when accepting.",
    )


class FirmInviteForm(EntryForm):
    """Whom to invite into a firm."""

    email = forms.EmailField(label="Mail address")
    is_admin = forms.BooleanField(label="Looks after the firm's people too", required=False)


class PlaceForm(forms.Form):
    """Which of a firm's people serves which of its shops."""

    person = forms.ModelChoiceField(queryset=User.objects.none(), empty_label=None)
    shop = forms.ModelChoiceField(queryset=Shop.objects.none(), empty_label=None)

    def __init__(self, *args, firm, **kwargs):
        super().__init__(*args, **kwargs)
        current = firm.people.current()
        people = User.objects.filter(pk__in=current.values("user"))
        self.fields["person"].queryset = people.order_by("last_name", "pk")
        self.fields["person"].label_from_instance = lambda one: one.name
        self.fields["shop"].queryset = served_shops(firm)


class RoleForm(forms.Form):
    """What somebody of the shop is from now on."""

    role = forms.ChoiceField(label="Role", choices=[(role.value, role.label) for role in OWN_ROLES])


class BroughtFirm(forms.Form):
    """The firm that a contractor comes from: one whose people they look after, or a new one."""

    firm = forms.ModelChoiceField(
        label="Your firm", queryset=Firm.objects.none(), required=False, empty_label="A new one"
    )
    firm_name = forms.CharField(label="Name of the new firm", max_length=120, required=False)
    firm_address = forms.CharField(
        label="Its address",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="As it stands on reports and statements.",
    )

    def __init__(self, *args, user=None, **kwargs):
        super().__init__(*args, **kwargs)
        if user is not None:
            led = user.firm_memberships.current().filter(is_admin=True)
            self.fields["firm"].queryset = Firm.objects.filter(pk__in=led.values("firm"))
        if not self.fields["firm"].queryset.exists():
            del self.fields["firm"]
            for name in ("firm_name", "firm_address"):
                self.fields[name].required = True

    def clean(self):
        given = super().clean()
        if "firm" in self.fields and not given.get("firm"):
            for name in ("firm_name", "firm_address"):
                if not given.get(name):
                    self.add_error(name, "A new firm needs this; expected what stands on paper.")
        return given

    @property
    def brought(self):
        """What `shop.people.inviting.accept` takes as the firm."""
        given = self.cleaned_data
        return given.get("firm") or (given["firm_name"], given["firm_address"])


class NewPersonForm(BaseUserCreationForm):
    """The account of somebody who was invited."""

    class Meta:
        model = User
        fields = ["first_name", "last_name", "username", "length_unit"]
        labels = {"username": "Name to sign in with"}

    def __init__(self, *args, joins=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.joins = joins
        for name in ("first_name", "last_name"):
            self.fields[name].required = True
