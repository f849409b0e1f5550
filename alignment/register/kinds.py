"""Keeping a machine as a kind of a firm."""

import json

from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction

from machines.kinds.models import FirmKind
from machines.kinds.shape import read_kind
from shop.people.models import Firm
from shop.web.errors import Refused

from .blueprint import kind_of

LONGEST_NAME = FirmKind._meta.get_field("name").max_length


@transaction.atomic
def keep_as_kind(machine, *, firm, made_by):
    """Keep a machine as a kind of the firm: its build, no number, limits, parts or history.

    Called what the machine's model is called; a second one of that name gets a number behind.
    Raises Refused for a machine whose chain no kind can be made of.
    """
    Firm.objects.select_for_update().get(pk=firm.pk)
    kind = kind_of(machine)
    if not kind.stations:
        raise Refused("This machine has no stations yet, so there is nothing to keep.")
    data = json.loads(json.dumps(kind.as_data(), cls=DjangoJSONEncoder))
    try:
        read_kind(data)
    except ValueError as error:
        raise Refused(f"No kind can be made of this machine: {error}") from error
    name = _free_name(firm, kind.name)
    return FirmKind.objects.create(firm=firm, name=name, data=data, made_by=made_by)


def _free_name(firm, wanted):
    taken = set(firm.kinds.values_list("name", flat=True))
    name, count = wanted[:LONGEST_NAME], 1
    while name in taken:
        count += 1
        name = f"{wanted[: LONGEST_NAME - 5]} {count}"
    return name
