"""Where people are signed in: noted at sign-in, seen now and then, ended on request."""

import ipaddress
from datetime import timedelta

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.middleware import SessionMiddleware
from django.core.cache import cache
from django.utils import timezone

from shop.people.models import SignIn
from shop.web.best_effort import if_it_can
from shop.web.request_memo import READING

# So long, at most, a use of a session is not written down again by one process.
SEEN_EVERY_S = 300
# When a session ends, whatever is done in it.
ENDS_AFTER, ENDS_FOR_STAFF_AFTER = timedelta(days=30), timedelta(hours=12)


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
    cache.set(_seen(session), True, SEEN_EVERY_S)
    now = timezone.now()
    seen = {"user": user, "device": device_words(request), "address": client_address(request)}
    SignIn.objects.update_or_create(
        session_id=session.session_key,
        defaults=seen | {"seen_at": now},
        create_defaults=seen | {"seen_at": now, "began_at": now},
    )


def _seen(session):
    return f"seen-{session.session_key}"


def on_sign_in(sender, request, user, **_):
    """Receiver of `user_logged_in`."""
    lasts = ENDS_FOR_STAFF_AFTER if user.is_staff else ENDS_AFTER
    request.session.set_expiry(timezone.now() + lasts)
    note(request, user)


def end(sign_ins):
    """Sign out wherever the `sign_ins` (a queryset) stand for."""
    for one in sign_ins.select_related("session"):
        one.session.delete()


class Sessions(SessionMiddleware):
    """Django's, but a page that only reads is answered also when its session cannot be saved."""

    def process_response(self, request, response):
        if request.method not in READING or not request.session.modified:
            return super().process_response(request, response)
        if_it_can(lambda: super(Sessions, self).process_response(request, response))
        return response


class SeenSessions:
    """Middleware: write down every five minutes that a session is in use; no query otherwise."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        session = request.session
        stale = SESSION_KEY in session and _seen(session) not in cache
        if stale and request.user.is_authenticated:
            if_it_can(lambda: note(request, request.user))
        return self.get_response(request)
