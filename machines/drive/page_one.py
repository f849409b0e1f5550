"""What page one of a service report tells of a machine's drive train, one line each."""

from django.utils import timezone
from django.utils.text import capfirst

from machines.register.report import visited
from shop.web.amounts import money_text, number_text

from .quoting import quotable
from .report import answer_words, belts_not_looked_at, check_lines, new_parts
from .standing import advice_open


def told_until(report):
    """The moment a report tells of: that of signing, or now for a draft."""
    return report.visit.signed_at or timezone.now()


def advice(report):
    """Machine pk to the advice that was open then; for `Report.once`."""
    machines = [here.machine for here in report.once(visited)]
    return advice_open(machines, report.visit, told_until(report))


def to_replace(report, machine):
    """What to replace, by when, at what price where one is known, and what was answered."""
    return [_replace(report, one) for one in report.once(advice)[machine.pk]]


def _replace(report, one):
    many = f"{one.quantity} × " if one.quantity > 1 else ""
    told = [f"{many}{one.what}: {one.urgency_words}", _price(report, one)]
    told += [answer_words(one.steps_then)] if one.steps_then else []
    return "; ".join(part for part in told if part)


def _price(report, one):
    """The part and the hours as a quote reckons with them; an agreed price goes first."""
    firm = report.visit.firm
    asked = quotable(one, firm)
    agreed = [step.unit_price for step in one.steps_then if step.unit_price is not None]
    price = agreed[-1] if agreed else asked.part_price
    told = []
    if price is not None:
        each = " each" if one.quantity > 1 else ""
        told.append(f"part {money_text(price, firm.currency)}{each}")
    if asked.hours is not None:
        told.append(f"{number_text(asked.hours)} h to fit")
    return ", ".join(told)


def fitted(report, machine):
    """The belts and bearings fitted at the visit."""
    new = [one for one in report.once(new_parts) if one.place.machine.pk == machine.pk]
    return [capfirst(f"{one.place}: {one.part or 'a new one'}") for one in new]


def not_looked_at(report, machine):
    """The belts nobody looked at, and what an incident called for and nobody did."""
    belts = [one.name for one in report.once(belts_not_looked_at) if one.machine_id == machine.pk]
    lines = [
        part.line.subject
        for part in report.once(check_lines)
        if part.line.visited.machine_id == machine.pk and not part.is_done
    ]
    return list(dict.fromkeys([*belts, *lines]))
