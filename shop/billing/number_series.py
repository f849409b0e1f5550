"""The numbers of a firm's papers: one series a year for each kind, none given twice or skipped."""

from dataclasses import dataclass

from django.db import transaction

from shop.visits.models import NumberSeries


@dataclass(frozen=True)
class Series:
    """One series: `kind` as it is counted, `form` as the number is printed."""

    kind: str
    what: str
    form: str

    @property
    def field(self):
        return self.kind.replace(" ", "_")

    def number(self, year, count):
        return self.form.format(year=year, count=count)


SERIES = [
    Series("visit", "visits and service reports", "SR-{year}-{count:03d}"),
    Series("quote", "quotes", "QU-{year}-{count:04d}"),
    Series("statement", "statements", "ST-{year}-{count:04d}"),
    Series("credit note", "credit notes", "CN-{year}-{count:04d}"),
]


def last_numbers(firm, year):
    """{kind: the last number given out in a year}, 0 where none was; one query."""
    found = NumberSeries.objects.filter(firm=firm, year=year).values_list("kind", "last")
    return {series.kind: 0 for series in SERIES} | dict(found)


@transaction.atomic
def count_on(firm, year, wanted):
    """Let series go on after higher numbers, as of papers made elsewhere: {kind: last number}.

    One that has gone further meanwhile stays where it is: no number is given out twice.
    """
    for kind, last in wanted.items():
        NumberSeries.objects.get_or_create(firm=firm, kind=kind, year=year)
        series = NumberSeries.objects.select_for_update().get(firm=firm, kind=kind, year=year)
        if last > series.last:
            series.last = last
            series.save(update_fields=["last"])
