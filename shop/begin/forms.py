"""The form of the first day: who you are, and what your firm or shop is."""

from django import forms
from django.contrib.auth.password_validation import validate_password

from shop.people.models import Firm, Shop, User
from shop.people.region_forms import CountryField, CurrencyField, UnitField, ZoneField

from .services import FIRM, SHOP

PASSWORD = {"autocomplete": "new-password"}


class BeginForm(forms.Form):
    """Who begins the site, and their business."""

    name = forms.CharField(
        label="Your name",
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    email = forms.EmailField(
        label="Mail address",
        max_length=150,
        help_text="You sign in with it.",
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )
    password = forms.CharField(
        label="Password", strip=False, widget=forms.PasswordInput(attrs=PASSWORD)
    )
    again = forms.CharField(
        label="Password again", strip=False, widget=forms.PasswordInput(attrs=PASSWORD)
    )
    kind = forms.ChoiceField(
        label="You are",
        choices=[(FIRM, "a service firm"), (SHOP, "a shop with machines")],
        widget=forms.RadioSelect(attrs={"class": "choices row"}),
    )
    business = forms.CharField(label="Its name", max_length=120)
    address = forms.CharField(
        label="Its address",
        help_text="As it stands on paper.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    country = CountryField()
    time_zone = ZoneField()
    length_unit = UnitField()
    currency = CurrencyField(required=False, help_text="Empty: the country's.")

    ABOUT_YOU = ("name", "email", "password", "again")

    def parts(self):
        """(title, its boxes) as the page groups them."""
        you = [self[name] for name in self.ABOUT_YOU]
        business = [self[name] for name in self.fields if name not in self.ABOUT_YOU]
        return [("You", you), ("Your firm or shop", business)]

    def clean(self):
        given = super().clean()
        password, again = given.get("password"), given.get("again")
        if password and again and password != again:
            self.add_error("again", "The two passwords differ; expected the same twice.")
        if password:
            try:
                validate_password(password, self.person())
            except forms.ValidationError as error:
                self.add_error("password", error)
        return given

    def clean_email(self):
        email = self.cleaned_data["email"].lower()
        if User.objects.filter(username=email).exists():
            raise forms.ValidationError("Somebody signs in with this address already.")
        return email

    def person(self):
        """The person who begins, not saved."""
        given = self.cleaned_data
        first, _blank, last = given.get("name", "").strip().rpartition(" ")
        user = User(
            username=given.get("email", ""),
            email=given.get("email", ""),
            first_name=(first or last)[:150],
            last_name=last if first else "",
            length_unit=given.get("length_unit") or "mm",
        )
        user.set_password(given.get("password"))
        return user

    def made(self):
        """The firm or shop, not saved."""
        given = self.cleaned_data
        model = Firm if given["kind"] == FIRM else Shop
        return model(
            name=given["business"],
            address=given["address"],
            email=given["email"],
            **{name: given[name] for name in ("country", "time_zone", "length_unit", "currency")},
        )
