"""A person's short stay at a shared device: a session that may open a few pages only."""

from django.conf import settings
from django.contrib.auth import login, logout
from django.utils import timezone

COOKIE = f"{settings.COOKIE_PREFIX}shared_device"
COOKIE_LASTS_S = 400 * 24 * 3600
# What marks a session as a stay at a device, and since when.
DEVICE, SINCE = "shared_device", "shared_device_since"
IDLE_S = 5 * 60
MODEL_BACKEND = "django.contrib.auth.backends.ModelBackend"


def begin(request, device, user):
    """Sign a person in for a stay at a device; it ends by itself when nothing is done."""
    logout(request)
    login(request, user, backend=MODEL_BACKEND)
    request.session[DEVICE] = device.pk
    request.session[SINCE] = timezone.now().isoformat()
    request.session.set_expiry(IDLE_S)


def is_stay(request):
    """Whether whoever is signed in is at a shared device."""
    return DEVICE in request.session


def keep_secret(response, secret):
    """Let the browser keep the secret by which its device is known."""
    response.set_cookie(
        COOKIE,
        secret,
        max_age=COOKIE_LASTS_S,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
