"""What may happen only so often, such as mail that a stranger can have the site send.

Counted in the database, so that it holds for all of the site's processes together.
"""

from datetime import timedelta

from django.db.models import F
from django.utils import timezone
from django.utils.crypto import salted_hmac

from .models import Tally

FORGOTTEN_AFTER = timedelta(days=2)


def once_more(what, *, most, within):
    """Whether `what` (a text) may happen once more now; if so, it is counted.

    most: how often it may within the timedelta `within`, from the first time on. Of many who ask
    at once, no more than `most` are let through: counting is one guarded update.
    """
    return _begun(what, within).filter(count__lt=most).update(count=F("count") + 1) == 1


def count(what, *, within):
    """Count `what` once more, whether or not it may happen."""
    _begun(what, within).update(count=F("count") + 1)


def counted(what, *, within):
    """How often `what` was counted since the first time within the timedelta; one query."""
    since = timezone.now() - within
    mine = Tally.objects.filter(what=_key(what), since__gt=since)
    return mine.values_list("count", flat=True).first() or 0


def tidy():
    """Forget what was counted long ago."""
    Tally.objects.filter(since__lt=timezone.now() - FORGOTTEN_AFTER).delete()


def _begun(what, within):
    """The tally of `what`, begun anew where it is older than the timedelta."""
    now = timezone.now()
    key = _key(what)
    Tally.objects.get_or_create(what=key, defaults={"since": now})
    mine = Tally.objects.filter(what=key)
    mine.filter(since__lte=now - within).update(since=now, count=0)
    return mine


def _key(what):
    return salted_hmac("shop.people.rate_limit", what, algorithm="sha256").hexdigest()
