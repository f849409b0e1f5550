"""The unit a machine is worked in: that of its sheet, whoever looks."""

from shop.rounding import stated_in
from shop.web.request_memo import request_memo


def work_unit(sheet, user):
    """The unit that a sheet's limits were stated in, told by their figures; the person's own
    where they do not tell. One query a page."""
    return unit_of_sheet(sheet) or user.length_unit


def unit_of_sheet(sheet):
    """ "in" or "mm", None where its limits do not tell; one query a page."""
    return request_memo(("unit of sheet", sheet.pk), lambda: _stated(sheet))


def _stated(sheet):
    limits = sheet.items.values_list("upper_um", "lower_um")
    return stated_in(um for both in limits for um in both if um is not None)
