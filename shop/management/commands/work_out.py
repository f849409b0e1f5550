"""Work out beforehand what long lists show, so that nobody waits for it in the morning.

Nothing depends on it: whoever opens a list has worked out what is missing.
"""

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils.module_loading import import_string


class Command(BaseCommand):
    help = "Work out what is due and what has drifted at every shop where anything changed."

    def handle(self, *args, **options):
        for path in settings.STANDING_LISTS:
            import_string(path)()
        self.stdout.write("All lists stand.")
