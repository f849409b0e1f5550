"""Clear away what is of no use any more; run it every night.

1. Wrong passwords and other things that were counted, once they count no longer.
2. Sessions that ended, forms that were sent long ago, mail that went out long ago.
3. What waited and can be done now, such as photos that could not be stored.
"""

from datetime import timedelta

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.utils import timezone

from shop.hooks import hooks
from shop.outbox.models import OutgoingMail
from shop.people import rate_limit
from shop.web.models import SentForm

KEPT = timedelta(days=90)


class Command(BaseCommand):
    help = "Clear away wrong passwords, sessions, forms and mail of long ago, and do what waited."

    def handle(self, *args, **options):
        now = timezone.now()
        shut_no_more = now - 2 * settings.AXES_COOLOFF_TIME
        for model in (AccessAttempt, AccessFailureLog, AccessLog):
            model.objects.filter(attempt_time__lt=shut_no_more).delete()
        rate_limit.tidy()
        call_command("clearsessions")
        SentForm.objects.filter(sent_at__lt=now - KEPT).delete()
        OutgoingMail.objects.filter(sent_at__lt=now - KEPT).delete()
        for do in hooks(settings.AFTER, about="nightfall"):
            do()
        self.stdout.write("Tidied.")
