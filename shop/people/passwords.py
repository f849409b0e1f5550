"""Passwords that anybody would try first at this site."""

from django.core.exceptions import ValidationError

OURS = ("sweepbook",)
# What is left of a password without the name in it must be this long.
LEFT_OVER = 8


class NoNameOfOurs:
    """Refuses the product's name, and that of a shop or a firm the person belongs to, with little
    besides: `alderscrewworks1`."""

    def validate(self, password, user=None):
        plain = _plain(password)
        for name in (*OURS, *_names_of(user)):
            if name and name in plain and len(plain.replace(name, "")) < LEFT_OVER:
                raise ValidationError(
                    "This is the name of the site, the shop or the firm with little besides; "
                    "expected something that nobody who knows you would try.",
                    code="name_of_ours",
                )

    def get_help_text(self):
        return "Not the name of this site, the shop or the firm with a number behind it."


def _names_of(user):
    """The names of where a person belongs, or is about to (`joins`)."""
    names = list(getattr(user, "joins", ()))
    if user is not None and user.pk:
        names += user.memberships.current().values_list("shop__name", flat=True)
        names += user.firm_memberships.current().values_list("firm__name", flat=True)
    return [_plain(name) for name in names]


def _plain(text):
    return "".join(sign for sign in text.lower() if sign.isalnum())
