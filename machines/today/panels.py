"""The blocks of the first page: who is shown which, in the order of the morning."""

from functools import partial

from machines.planning.panels import home_due
from machines.register.panels import home_machines
from shop.hooks import Panel
from shop.web.today import TEMPLATE

from . import contractor, open_work, operator, owner
from .places import CONTRACTOR, OPERATOR, OWNER, roles_of

# By the key in its address: whose question it is, and what answers it, (user, most) -> Block.
BLOCKS = {
    "calls": (CONTRACTOR, contractor.calls),
    "expected": (CONTRACTOR, contractor.expected),
    "load": (CONTRACTOR, contractor.load),
    "open": (CONTRACTOR, open_work.all_open),
    "promised": (CONTRACTOR, contractor.promised),
    "to-bill": (CONTRACTOR, contractor.to_bill),
    "late": (CONTRACTOR, contractor.late),
    "stands": (OWNER, owner.stands),
    "waiting": (OWNER, owner.waiting),
    "still-to-come": (OWNER, owner.still_to_come),
    "this-month": (OWNER, owner.this_month),
    "may-it-run": (OPERATOR, operator.may_it_run),
}


def _panel(key, request):
    role, block = BLOCKS[key]
    if role not in roles_of(request.user):
        return None
    return Panel(TEMPLATE, {"block": block(request.user)})


# What the rest of the app has to show stands below, a line each.
today = [*(partial(_panel, key) for key in BLOCKS), home_machines, home_due]
