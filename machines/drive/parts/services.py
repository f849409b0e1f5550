"""What changes the parts register."""

from django.db import transaction

from machines.drive.models import Part
from shop.web.errors import Refused

from .part_list import read_list


@transaction.atomic
def bring_in(keeper, text):
    """Bring a list of parts into a keeper's register; returns its rows.

    Raises Refused, and changes nothing, when a line is wrong.
    """
    known = {part.number: part for part in keeper.parts().select_for_update()}
    try:
        rows = read_list(text, known)
    except ValueError as error:
        raise Refused(str(error)) from error
    if any(row.wrong for row in rows):
        raise Refused("Some lines are wrong; nothing was imported.")
    for row in rows:
        if row.becomes == "new":
            Part.objects.create(number=row.number, **keeper.owns, **row.given)
        elif row.becomes == "changed":
            for name, value in row.given.items():
                setattr(row.known, name, value)
            row.known.save(update_fields=list(row.given))
    return rows
