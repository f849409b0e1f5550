"""What changes shared devices and PINs."""

import hashlib
import math
import secrets
from datetime import timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils import timezone

from shop.people.models import Pin, PinTries, Role, SharedDevice, User
from shop.web.best_effort import if_it_can
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.wording import time_text

from .pins import why_refused

# Letters and digits that are not taken for one another; ten of them are fifty bits.
CODE_SIGNS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
CODE_LENGTH = 10
CODE_LASTS = timedelta(minutes=30)
TRIES = 5
FIRST_WAIT = timedelta(minutes=15)
LONGEST_WAIT = timedelta(days=1)
USED_EVERY = timedelta(minutes=1)


def _digest(secret):
    return hashlib.sha256(secret.encode()).hexdigest()


@entered_once(SharedDevice)
def allow_device(*, shop, name, made_by, entry_id=None):
    """Put a shared device of a shop on record; `new_code` then lets it be set up."""
    if SharedDevice.objects.allowed().filter(shop=shop, name=name).exists():
        raise Refused(f"There is a device called {name} already; give this one another name.")
    return SharedDevice.objects.create(
        shop=shop, name=name, made_by=made_by, **identified(entry_id)
    )


@transaction.atomic
def new_code(device):
    """A code with which a browser becomes this device, once and soon; told once.

    The browser that is the device today stays it until the code is used.
    """
    device = SharedDevice.objects.select_for_update().get(pk=device.pk)
    if device.revoked_at is not None:
        raise Refused("This device was revoked; allow it anew.")
    code = "".join(secrets.choice(CODE_SIGNS) for _ in range(CODE_LENGTH))
    device.code_sha256 = _digest(code)
    device.code_until = timezone.now() + CODE_LASTS
    device.save(update_fields=["code_sha256", "code_until"])
    return code


def plain_code(typed):
    """A code as it was made, however its letters and groups were typed."""
    return "".join(sign for sign in typed.upper() if sign.isalnum())


def device_of_code(code):
    """The device a code sets up; None for one that is wrong, used or too old."""
    found = SharedDevice.objects.allowed().filter(
        code_sha256=_digest(plain_code(code)), code_until__gt=timezone.now()
    )
    return found.select_related("shop").first()


@transaction.atomic
def set_up(code):
    """Use a code up: (device, the secret its browser keeps), None when the code is no good."""
    device = device_of_code(code)
    if device is None:
        return None
    secret = secrets.token_urlsafe(32)
    taken = SharedDevice.objects.filter(pk=device.pk, code_sha256=device.code_sha256).update(
        code_sha256="",
        code_until=None,
        secret_sha256=_digest(secret),
        set_up_at=timezone.now(),
        used_at=timezone.now(),
    )
    return (device, secret) if taken else None


def device_of_secret(secret):
    """The allowed device whose browser keeps this secret; None for any other."""
    found = SharedDevice.objects.allowed().filter(secret_sha256=_digest(secret))
    return found.select_related("shop").first()


def note_use(device):
    """Remember when a device was last used, to the minute."""
    now = timezone.now()
    if device.used_at is None or now - device.used_at > USED_EVERY:
        mine = SharedDevice.objects.filter(pk=device.pk)
        if_it_can(lambda: mine.update(used_at=now))


@transaction.atomic
def revoke_device(device, *, by):
    """Let a device be one no longer, from this moment."""
    SharedDevice.objects.allowed().filter(pk=device.pk).update(
        revoked_at=timezone.now(),
        revoked_by=by,
        secret_sha256=None,
        code_sha256="",
        code_until=None,
    )


def people_of(shop):
    """Who may sign in at the shop's devices: its own people with a PIN, by name."""
    return (
        User.objects.filter(
            is_active=True,
            memberships__shop=shop,
            memberships__ended_at=None,
            memberships__role__in=[Role.OWNER, Role.OPERATOR],
            pin__isnull=False,
        )
        .select_related("pin")
        .order_by("first_name", "last_name", "pk")
    )


@transaction.atomic
def set_pin(user, pin):
    """Let a person sign in with a PIN at their shops' devices; raises Refused for a poor one."""
    if why := why_refused(pin):
        raise Refused(why)
    Pin.objects.update_or_create(
        user=user, defaults={"hashed": make_password(pin), "set_at": timezone.now()}
    )
    PinTries.objects.filter(user=user).delete()


def forget_pin(user):
    Pin.objects.filter(user=user).delete()


def check_pin(device, user, pin):
    """Raise Refused unless it is the person's PIN and their name does not wait on this device.

    A try counts before it is looked at, so that many at once are not tried for one. Each fifth
    wrong one in a row makes the name wait, twice as long every time.
    """
    tries = _count_try(device, user)
    if check_password(pin, user.pin.hashed):
        PinTries.objects.filter(pk=tries.pk).delete()
        return
    left = -tries.wrong % TRIES
    if left:
        raise Refused(
            f"That is not the PIN of {user.name}. "
            f"{left} more {'try' if left == 1 else 'tries'}, then the name waits."
        )
    raise Refused(_waits(tries, device))


@transaction.atomic
def _count_try(device, user):
    PinTries.objects.get_or_create(device=device, user=user)
    tries = PinTries.objects.select_for_update().get(device=device, user=user)
    now = timezone.now()
    if tries.waits_until and tries.waits_until > now:
        raise Refused(_waits(tries, device))
    tries.wrong += 1
    if tries.wrong % TRIES == 0:
        tries.waits_until = now + _wait_after(tries.wrong)
    tries.save()
    return tries


def _wait_after(wrong):
    """How long a name waits after so many wrong PINs in a row."""
    doubled = min(wrong // TRIES - 1, math.ceil(math.log2(LONGEST_WAIT / FIRST_WAIT)))
    return min(FIRST_WAIT * 2**doubled, LONGEST_WAIT)


def _waits(tries, device):
    until = time_text(tries.waits_until, device.shop.zone)
    return f"Too many wrong PINs for this name: it waits until {until}."
