"""Issuing labels: each is stored once, with its SHA-256, like every document."""

from datetime import datetime, time
from functools import partial

from django.urls import reverse

from shop.paper.documents import DocumentMeta, Letterhead
from shop.paper.issuing import issue_again
from shop.paper.models import Document
from shop.web.wording import day_text

from .labels import SHEETS, Label, on_roll, on_sheets


def label_of(machine, absolute):
    """A machine's label; absolute: a function that makes a whole address of a path."""
    return Label(
        number=machine.number,
        name=machine.name,
        shop=str(machine.shop),
        address=absolute(reverse("machines:at_machine", args=[machine.code])),
    )


def issue_label(machine, size, absolute):
    """The label of a machine, or the sheet of its shop's labels, as an issued document."""
    shop = machine.shop
    day = shop.today
    machines = shop.machines.select_related("shop") if size in SHEETS else [machine]
    labels = [label_of(one, absolute) for one in machines]
    return issue_again(
        partial(_build, labels, size, shop, day),
        shop=shop,
        kind=Document.Kind.LABEL,
        number=f"LB-{'all' if size in SHEETS else machine.number}-{day:%Y%m%d}",
    )


def _build(labels, size, shop, day, number, check):
    meta = DocumentMeta(
        firm=Letterhead(shop.name),
        title="Machine label",
        number=number,
        date=day_text(day),
        subject=f"Label of {', '.join(label.number for label in labels)}, {shop.name}"[:200],
        stamped_at=datetime.combine(day, time(), tzinfo=shop.zone),
    )
    mark = f"{number} · {check.code}" if check else number
    if size in SHEETS:
        return on_sheets(labels, size, meta, mark)
    return on_roll(labels[0], size, meta, mark)
