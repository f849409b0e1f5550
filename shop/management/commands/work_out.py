"""Work out beforehand what long lists show, so that nobody waits for it in the morning.

Nothing depends on it: whoever opens a list has worked out what is missing.
"""

from django.conf import settings
from django.core.management.base import BaseCommand

from shop.hooks import hooks


class Command(BaseCommand):
    help = "Work out what is due and what has drifted at every shop where anything changed."

    def handle(self, *args, **options):
        for work_out_all in hooks(settings.PLANNING_SOURCES, about="long lists"):
            work_out_all()
        self.stdout.write("All lists stand.")
