"""Mail each person what is new: overdue, due soon, waiting for an answer.

Run it as often as you like and from as many places at once as you like; each thing is told once.

1. Gather what there is to tell of each person.
2. Take what nobody has taken yet, by one guarded update.
3. Send it as one mail, and note that it went; give it back if it did not.
"""

from django.core.management.base import BaseCommand, CommandError

from shop.calendar.reminders import remind_everybody


class Command(BaseCommand):
    help = "Mail each person what is overdue, due soon or waiting for an answer, each thing once."

    def handle(self, *args, **options):
        outcome = remind_everybody()
        self.stdout.write(f"{outcome.sent} sent.")
        if outcome.unsure:
            self.stdout.write(
                f"{outcome.unsure} reminders were taken by a run that ended before it noted its "
                "mail; they may not have arrived and are not sent again."
            )
        if outcome.failed:
            raise CommandError(
                f"{outcome.failed} could not be sent; they are tried again next time."
            )
