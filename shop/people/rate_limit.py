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
    now = timezone.now()
    Tally.objects.filter(since__lt=now - FORGOTTEN_AFTER).delete()
    key = salted_hmac("shop.people.rate_limit", what, algorithm="sha256").hexdigest()
    Tally.objects.get_or_create(what=key, defaults={"since": now})
    mine = Tally.objects.filter(what=key)
    mine.filter(since__lte=now - within).update(since=now, count=0)
    return mine.filter(count__lt=most).update(count=F("count") + 1) == 1
