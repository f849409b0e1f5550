"""Mail each person what is new: overdue, due soon, waiting for an answer.

Run it as often as you like and from as many places at once as you like; each thing is told once.

1. Gather what there is to tell of each person.
2. Take what they were not told yet, and put one mail of it into the outbox.
"""

from django.core.management.base import BaseCommand

from shop.calendar.reminders import remind_everybody


class Command(BaseCommand):
    help = "Mail each person what is overdue, due soon or waiting for an answer, each thing once."

    def handle(self, *args, **options):
        self.stdout.write(f"{remind_everybody()} put into the outbox.")
