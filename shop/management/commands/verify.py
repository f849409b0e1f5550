"""Says whether anything on record was edited after the fact.

1. Walks the chain over readings, signed documents and money, link by link.
2. Holds every row against what the trail of changes last said of it.
3. Holds every record of a signed visit against what was signed, and that against its digest.
4. Holds every stored file against its SHA-256.

Ends with exit code 1 when anything does not fit. Keep what `verify --head` prints elsewhere, on
paper or in a mail: `verify --against HEAD` then shows whether the chain was made anew or cut.
"""

from django.core.management.base import BaseCommand, CommandError

from shop.audit.head import Head, head
from shop.records.verifying import counted, verify


class Command(BaseCommand):
    help = "Say whether anything on record was edited after the fact."

    def add_arguments(self, parser):
        parser.add_argument("--head", action="store_true", help="only print where the chain ends")
        parser.add_argument(
            "--against", action="append", default=[], metavar="HEAD", help="a head kept elsewhere"
        )

    def handle(self, *args, **options):
        if options["head"]:
            self.stdout.write(str(head()))
            return
        try:
            kept = [Head.read(text) for text in options["against"]]
        except ValueError as error:
            raise CommandError(str(error)) from error
        troubles = 0
        for sentence in verify(kept):
            troubles += 1
            self.stdout.write(sentence)
        changes, links = counted()
        self.stdout.write(f"{changes} changes and {links} links walked; head {head()}")
        if troubles:
            raise CommandError(
                f"{troubles} thing{'' if troubles == 1 else 's'} edited after the fact.",
                returncode=1,
            )
        self.stdout.write("Nothing was edited after the fact.")
