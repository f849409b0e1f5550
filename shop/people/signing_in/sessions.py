"""Where people are signed in: noted at sign-in, seen now and then, ended on request."""

import ipaddress
import time

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.utils import timezone

from shop.people.models import SignIn

# Kept in the session: when its use was last written down, so that a page writes nothing else.
SEEN = "seen"
SEEN_EVERY_S = 300


def client_address(request):
    """Where a request came from, None when it cannot be told; behind `settings.PROXIES` proxies,
    the address that the outermost of them saw. What stands further left can be made up."""
    seen = [request.META.get("REMOTE_ADDR", "")]
    if settings.PROXIES:
        passed_on = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
        seen = passed_on[-settings.PROXIES :][:1]
    try:
        return str(ipaddress.ip_address(seen[0].strip()))
    except ValueError:
        return None


def device_words(request):
    """What kind of screen it is, as far as the browser says."""
    words = request.META.get("HTTP_USER_AGENT", "")
    if any(word in words for word in ("iPad", "Tablet")) or (
        "Android" in words and "Mobile" not in words
    ):
        return "tablet"
    return "phone" if "Mobi" in words else "computer"


def note(request, user):
    """Write down that the session is in use by the person now."""
    session = request.session
    if session.session_key is None:
        session.create()
    now = timezone.now()
    session[SEEN] = int(now.timestamp())
    seen = {"user": user, "device": device_words(request), "address": client_address(request)}
    SignIn.objects.update_or_create(
        session_id=session.session_key,
        defaults=seen | {"seen_at": now},
        create_defaults=seen | {"seen_at": now, "began_at": now},
    )


def on_sign_in(sender, request, user, **_):
    """Receiver of `user_logged_in`."""
    note(request, user)


def end(sign_ins):
    """Sign out wherever the `sign_ins` (a queryset) stand for."""
    for one in sign_ins.select_related("session"):
        one.session.delete()


class SeenSessions:
    """Middleware: write down every five minutes that a session is in use; no query otherwise."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        stale = time.time() - request.session.get(SEEN, 0) > SEEN_EVERY_S
        if stale and SESSION_KEY in request.session and request.user.is_authenticated:
            note(request, request.user)
        return self.get_response(request)
