"""Numbers that are given once and in order."""

from .models import NumberSeries


def next_number(firm, kind, year):
    """Give out the next number of a series; call it inside the transaction that uses it.

    The row is locked until that transaction ends, so no number is given twice or skipped.
    """
    NumberSeries.objects.get_or_create(firm=firm, kind=kind, year=year)
    series = NumberSeries.objects.select_for_update().get(firm=firm, kind=kind, year=year)
    series.last += 1
    series.save(update_fields=["last"])
    return series.last
