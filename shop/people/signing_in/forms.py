"""Forms of signing in and of one's own account."""

from django import forms
from django.contrib.auth.forms import PasswordChangeForm, PasswordResetForm
from django.template.loader import render_to_string

from shop.outbox.services import post
from shop.people.models import User

from . import limits, second_factor
from .guessing import is_password_of


class CodeForm(forms.Form):
    """The code from the app, or one of the recovery codes."""

    code = forms.CharField(
        label="Code",
        max_length=20,
        help_text="The six digits your app shows now, or one of your recovery codes.",
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "autofocus": True, "autocapitalize": "none"}
        ),
    )

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_code(self):
        self.device = second_factor.verify(self.user, self.cleaned_data["code"])
        if self.device is None:
            wait = second_factor.wait_s(self.user)
            hint = f" Wait {wait} s before the next try." if wait else ""
            raise forms.ValidationError(f"That code is wrong, too old or used already.{hint}")
        return self.cleaned_data["code"]


class NewPasswordForm(PasswordChangeForm):
    """A new password; a wrong old one counts as at signing in."""

    def __init__(self, user, *args, request, **kwargs):
        super().__init__(user, *args, **kwargs)
        self.request = request

    def clean_old_password(self):
        if not is_password_of(self.request, self.cleaned_data["old_password"]):
            raise forms.ValidationError(
                self.error_messages["password_incorrect"], code="password_incorrect"
            )
        return self.cleaned_data["old_password"]


class AskingAgain(forms.Form):
    """Asks for the password before what is delicate; a wrong one counts as at signing in."""

    password_now = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args, request, **kwargs):
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_password_now(self):
        if not is_password_of(self.request, self.cleaned_data["password_now"]):
            raise forms.ValidationError("That is not your password.")
        return self.cleaned_data["password_now"]


class ChangeFactorForm(AskingAgain, CodeForm):
    """Before the second factor is changed: the password, then a code, which a wrong password does
    not use up."""

    field_order = ["password_now", "code"]

    def clean_code(self):
        return super().clean_code() if "password_now" in self.cleaned_data else ""


class SetUpForm(AskingAgain):
    """The first code of an app, which shows that it has the key; it is looked at, and the app taken
    into use, only after the right password."""

    field_order = ["password_now", "code"]

    code = forms.CharField(
        label="Code your app shows now",
        max_length=10,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "numeric"}),
    )

    def __init__(self, *args, device, **kwargs):
        super().__init__(*args, **kwargs)
        self.device = device

    def clean_code(self):
        if "password_now" not in self.cleaned_data:
            return ""
        code = "".join(self.cleaned_data["code"].split())
        if not second_factor.confirm(self.device, code):
            raise forms.ValidationError(
                "That is not the code. Expected six digits; check that the clock of your phone is "
                "right, wait for the next code and type that."
            )
        return code


class ForgottenForm(PasswordResetForm):
    """Puts the mail with the link into the outbox; nobody waits for a mail server."""

    def send_mail(self, subject_name, body_name, context, sender, to_email, **_html):
        subject = render_to_string(subject_name, context)
        post(to=to_email, subject=subject, body=render_to_string(body_name, context), secret=True)


class AccountForm(forms.ModelForm):
    """What a person may set for themselves; another mail address asks for the password, since a
    new password can be had by whoever reads the mail."""

    password_now = forms.CharField(
        label="Password",
        required=False,
        strip=False,
        help_text="Only to change the mail address; the former one is told by mail.",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    field_order = ["first_name", "last_name", "email", "password_now"]

    class Meta:
        model = User
        fields = ["first_name", "last_name", "email", "length_unit", "wants_reminders"]

    def __init__(self, *args, request, **kwargs):
        super().__init__(*args, **kwargs)
        self.request = request

    def clean(self):
        cleaned = super().clean()
        if "email" in self.changed_data and not self.errors:
            self._demand_password(cleaned["password_now"])
        return cleaned

    def _demand_password(self, typed):
        """Wrong ones are counted as at signing in."""
        if not is_password_of(self.request, typed):
            self.add_error("password_now", "Type your password to change the mail address.")
        elif not limits.may_change_address(self.instance):
            self.add_error("email", "It was changed often today; change it tomorrow.")
