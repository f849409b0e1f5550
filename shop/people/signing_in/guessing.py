"""How often a password may be guessed: from one address over all names, for one name over all
addresses. Wrong ones count wherever a password is asked for, also of who is signed in."""

from datetime import timedelta

from django.contrib.auth import authenticate
from django.core.exceptions import PermissionDenied

from shop.people.rate_limit import count, counted

from .limits import client_network

WITHIN = timedelta(hours=1)
# A shop's people come from one address; a name is one person's.
WRONG_FROM_ONE_CLIENT = 60
WRONG_FOR_ONE_NAME = 30


class Guessing:
    """Authentication backend that lets nobody in: it stands first and ends too much guessing."""

    def authenticate(self, request, username=None, **_given):
        if too_many(request, username):
            raise PermissionDenied
        return None


def too_many(request, username):
    """Whether no password is looked at any more, from where it comes or for that name."""
    return any(counted(what, within=WITHIN) >= most for what, most in _tallies(request, username))


def count_wrong(sender, credentials, request=None, **_given):
    """Receiver of `user_login_failed`."""
    for what, _most in _tallies(request, credentials.get("username")):
        count(what, within=WITHIN)


def is_password_of(request, typed):
    """Whether `typed` is the password of who is signed in; a wrong one counts as at signing in."""
    name = request.user.get_username()
    return bool(typed) and authenticate(request, username=name, password=typed) == request.user


def _tallies(request, username):
    client = client_network(request) if request is not None else None
    if client:
        yield f"wrong passwords from {client}", WRONG_FROM_ONE_CLIENT
    if username:
        yield f"wrong passwords for {username.lower()}", WRONG_FOR_ONE_NAME
