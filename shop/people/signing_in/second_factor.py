"""The second factor: codes from an app by the clock (TOTP, RFC 6238), and recovery codes."""

import secrets
import string

from django.conf import settings
from django.db import transaction
from django.http import JsonResponse
from django.shortcuts import redirect
from django.urls import Resolver404, resolve, reverse
from django.utils.crypto import salted_hmac
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from shop.people.access import DESK
from shop.people.devices.sessions import is_stay
from shop.people.models import SignIn
from shop.web.queued import MADE_BY

from .sessions import end

# Names of devices as they are stored.
APP, ONCE = "app", "codes for once"
CODES = 10
LETTERS = string.ascii_lowercase + "234567"
# Reached without the second factor by whoever still has to give or set it up.
OPEN_TO_THEM = {"shop:sign_out", "shop:second_factor", "shop:second_factor_picture"}


def wanted_of(user):
    """Whether the site asks the person for a second factor: owners, contractors, firms, staff."""
    if not settings.SECOND_FACTOR:
        return False
    return (
        user.is_staff
        or user.memberships.current().filter(role__in=DESK).exists()
        or user.firm_memberships.current().exists()
    )


def device_of(user):
    """The person's app, once it is set up; None without."""
    return TOTPDevice.objects.filter(user=user, confirmed=True).first()


def device_to_set_up(user):
    """The app as it is being set up: the same key until it is confirmed."""
    found = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    return found or TOTPDevice.objects.create(user=user, name=APP, confirmed=False)


@transaction.atomic
def confirm(device, code):
    """Take the app into use if the code is its own; returns whether it was."""
    device = TOTPDevice.objects.select_for_update().get(pk=device.pk)
    if not device.verify_token(code):
        return False
    device.confirmed = True
    device.save(update_fields=["confirmed"])
    return True


@transaction.atomic
def verify(user, code):
    """The device whose code it is, None for a wrong one. Each device waits longer after each
    wrong code, and no code is taken twice."""
    code = "".join(code.split()).replace("-", "").lower()
    if code.isascii() and code.isdecimal():
        device = TOTPDevice.objects.select_for_update().filter(user=user, confirmed=True).first()
        return device if device and device.verify_token(code) else None
    device = StaticDevice.objects.select_for_update().filter(user=user, confirmed=True).first()
    return device if device and device.verify_token(_digest(user, code)) else None


def wait_s(user):
    """Seconds until a code is looked at again, 0 when at once."""
    waits = []
    for device in (device_of(user), StaticDevice.objects.filter(user=user).first()):
        allowed, why = device.verify_is_allowed() if device else (True, None)
        if not allowed:
            left = why["locked_until"] - device.throttling_failure_timestamp
            waits.append(int(left.total_seconds()))
    return max(waits, default=0)


@transaction.atomic
def new_recovery_codes(user):
    """Ten codes that each work once, told only now; those before no longer work."""
    StaticDevice.objects.filter(user=user).delete()
    device = StaticDevice.objects.create(user=user, name=ONCE)
    codes = ["".join(secrets.choice(LETTERS) for _ in range(10)) for _ in range(CODES)]
    StaticToken.objects.bulk_create(
        StaticToken(device=device, token=_digest(user, code)) for code in codes
    )
    return [f"{code[:5]}-{code[5:]}" for code in codes]


def recovery_codes_left(user):
    return StaticToken.objects.filter(device__user=user).count()


@transaction.atomic
def remove(user):
    """Take the second factor off the account."""
    TOTPDevice.objects.filter(user=user).delete()
    StaticDevice.objects.filter(user=user).delete()


def end_other_sessions(request):
    """Sign out everywhere but here."""
    here = request.session.session_key
    end(SignIn.objects.filter(user=request.user).exclude(session_id=here))


def _digest(user, code):
    """What is kept of a recovery code: 64 bits of a digest that needs the site's key."""
    return salted_hmac(f"recovery code of {user.pk}", code, algorithm="sha256").hexdigest()[:16]


class SecondFactor:
    """Middleware: nobody goes further without the second factor that the site asks them for.

    One query, only for who has not given it, and none where the site asks nobody.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if settings.SECOND_FACTOR and _is_kept_out(request):
            address = reverse("shop:second_factor")
            if MADE_BY in request.headers:
                return JsonResponse({"sign_in": address}, status=401)
            return redirect(address)
        return self.get_response(request)


def _is_kept_out(request):
    user = request.user
    # A stay at a shared device may do nothing but log, and the device itself was let in.
    if not user.is_authenticated or user.is_verified() or is_stay(request):
        return False
    try:
        match = resolve(request.path_info)
    except Resolver404:
        return False
    if match.view_name in OPEN_TO_THEM or not getattr(match.func, "login_required", True):
        return False
    return wanted_of(user)
