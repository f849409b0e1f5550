"""Send the mail that waits in the outbox.

The server does it by itself. Run this from cron where `SWEEPBOOK_SENDS_MAIL=0` says that it shall
not; several at once do no harm.

1. Take a mail that is due, so that nobody else takes it.
2. Hand it over to the mail server.
3. Note that it went, or when it is tried again.
"""

from django.core.management.base import BaseCommand, CommandError

from shop.outbox.sending import send_due


class Command(BaseCommand):
    help = "Send the mail that waits in the outbox."

    def handle(self, *args, **options):
        outcome = send_due()
        self.stdout.write(f"{outcome.sent} sent, {outcome.waiting} to be tried again.")
        if outcome.given_up:
            raise CommandError(
                f"{outcome.given_up} could not be sent; see 'Mail sent' under My account."
            )
