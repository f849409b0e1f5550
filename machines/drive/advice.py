"""What a replacement rule says, and how rules that agree are merged."""

from dataclasses import dataclass, replace
from datetime import date

from django.conf import settings

from shop.hooks import hooks
from shop.web.request_memo import asking_once

from .models import Bearing, Belt, Part, Recommendation

ORDER = list(Recommendation.Urgency.values)


@dataclass(frozen=True)
class Advice:
    """One rule's advice to replace something.

    rule: the name of the rule. subject: the thing it is about, such as one belt of the machine.
    reason: one sentence. evidence: (record, sentence) pairs the advice rests on. belt, bearing:
    what is replaced, when it is one of them. safety_relevant: somebody may get hurt if it is left.
    """

    rule: str
    subject: str
    what: str
    urgency: str
    reason: str
    evidence: tuple = ()
    part: Part | None = None
    quantity: int = 1
    by_date: date | None = None
    belt: Belt | None = None
    bearing: Bearing | None = None
    safety_relevant: bool = False


def _merged(first, second):
    """Two rules' advice on the same thing: the more urgent wins, every reason is kept."""
    lead = min(first, second, key=lambda advice: (ORDER.index(advice.urgency), _day(advice)))
    known = {(type(record), record.pk, sentence) for record, sentence in first.evidence}
    added = tuple(
        (record, sentence)
        for record, sentence in second.evidence
        if (type(record), record.pk, sentence) not in known
    )
    return replace(
        lead,
        rule=_joined(", ", first.rule, second.rule),
        reason=_joined(" ", first.reason, second.reason),
        evidence=first.evidence + added,
        part=first.part or second.part,
        quantity=max(first.quantity, second.quantity),
        belt=first.belt or second.belt,
        bearing=first.bearing or second.bearing,
        safety_relevant=first.safety_relevant or second.safety_relevant,
    )


def _joined(glue, first, second):
    return first if second in first else f"{first}{glue}{second}"


def _day(advice):
    return advice.by_date or date.max


def advise(machine, visit):
    """What all `REPLACEMENT_RULES` say of a machine at a visit, one line for each thing."""
    merged = {}
    with asking_once():
        for rule in hooks(settings.REPLACEMENT_RULES):
            for advice in rule(machine, visit):
                key = (advice.subject, advice.what)
                merged[key] = _merged(merged[key], advice) if key in merged else advice
    return sorted(merged.values(), key=lambda advice: ORDER.index(advice.urgency))
