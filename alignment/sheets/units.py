"""The unit a machine is worked in: that of its sheet, whoever looks."""

from shop.lengths import UNIT_SYMBOLS
from shop.rounding import stated_in
from shop.web.request_memo import request_memo


def work_unit(sheet, user):
    """The unit that a sheet's limits were stated in, told by their figures; the person's own
    where they do not tell. One query a page."""
    return unit_of_sheet(sheet) or user.length_unit


def asked_unit(request):
    """The unit that an address asks for by `?unit=`, "" for none or one that is not known."""
    asked = request.GET.get("unit", "")
    return asked if asked in UNIT_SYMBOLS else ""


def other_unit(unit):
    """The unit that a page's switch leads to from this one."""
    return "mm" if unit == "in" else "in"


def unit_at(request, machine):
    """The unit a page of a machine's work is in: what its switch asks for, else that of its sheet
    in force, else the person's own. Two queries at most."""
    asked = asked_unit(request)
    sheet = None if asked else machine.sheets.filter(is_current=True).first()
    return asked or (sheet and unit_of_sheet(sheet)) or request.user.length_unit


def unit_of_sheet(sheet):
    """ "in" or "mm", None where its limits do not tell; one query a page."""
    return request_memo(("unit of sheet", sheet.pk), lambda: _stated(sheet))


def _stated(sheet):
    limits = sheet.items.values_list("upper_um", "lower_um")
    return stated_in(um for both in limits for um in both if um is not None)
