"""Advice to replace: written from the rules, answered, renewed with new evidence, taken back."""

from textwrap import wrap

from django.contrib.contenttypes.models import ContentType
from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone

from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .advice import advise
from .models import Evidence, Recommendation, RecommendationStep

# What settles a recommendation by what somebody decided or did.
State = RecommendationStep.State
# What is longer goes on in the next row of the same record: nothing is cut off.
LONGEST_SENTENCE = Evidence._meta.get_field("sentence").max_length
ANSWERED = [State.DECLINED, State.FITTED, State.DONE]
# What was agreed to stays so, as far as it has come.
AGREED = [State.APPROVED, State.ORDERED, State.ARRIVED]
# Of an order and of its arrival: the step before, and what lacks where that was not taken.
FOLLOWS = {
    State.ORDERED: (
        State.APPROVED,
        "The owner has not approved it; what is ordered was approved first.",
    ),
    State.ARRIVED: (State.ORDERED, "It is not on order; mark it ordered first."),
}


@transaction.atomic
def recommend(machine, *, visit, made_by, made_at=None):
    """Bring the rules' recommendations for a machine up to date; returns those of this visit.

    At a visit they follow what the rules say: brought up to date, or taken back when no rule says
    them any longer. One of an earlier visit that the rules still say is renewed, keeping what the
    owner answered. What was fitted or declined is not raised again on the same evidence.
    """
    made_at = made_at or timezone.now()
    said = [advice for advice in advise(machine, visit) if not _settled(machine, advice)]
    _take_back(machine, visit, said, made_by=made_by, made_at=made_at)
    return [_recommend(machine, visit, advice, made_by, made_at) for advice in said]


def _settled(machine, advice):
    """Whether the same was fitted or declined on evidence that holds all of this advice's."""
    rests_on = {_key(record) for record, _sentence in advice.evidence}
    answered = RecommendationStep.objects.filter(recommendation=OuterRef("pk"), state__in=ANSWERED)
    settled = machine.recommendations.filter(
        Exists(answered), subject=advice.subject, what=advice.what
    )
    return any(
        rests_on <= {(e.content_type_id, e.object_id) for e in old.evidence.all()}
        for old in settled.prefetch_related("evidence")
    )


def _key(record):
    return ContentType.objects.get_for_model(record).pk, record.pk


def _take_back(machine, visit, said, *, made_by, made_at):
    """Take back what the rules said at this visit and say no longer."""
    still = {(advice.subject, advice.what) for advice in said}
    for old in machine.recommendations.open().filter(visit=visit).exclude(rule=""):
        if (old.subject, old.what) in still:
            continue
        if old.steps.exists():
            take_step(
                old,
                State.WITHDRAWN,
                made_by=made_by,
                note="no longer found",
                made_at=made_at,
            )
        else:
            old.delete()


def _recommend(machine, visit, advice, made_by, made_at):
    """This visit's recommendation for one piece of advice, new, renewed or brought up to date."""
    same = {"subject": advice.subject, "what": advice.what}
    earlier = list(
        machine.recommendations.open().exclude(rule="").filter(**same).select_related("visit")
    )
    here = next((old for old in earlier if old.visit == visit), None)
    if here and (here.reason == advice.reason or (visit and not here.steps.exists())):
        return _write(here, advice)
    new = Recommendation(machine=machine, visit=visit, made_by=made_by, made_at=made_at, **same)
    _write(new, advice)
    for old in earlier:
        _renew(old, new, made_by, made_at)
    return new


def _write(recommendation, advice):
    """Let a recommendation say what the advice says, evidence included."""
    recommendation.rule = advice.rule[:80]
    recommendation.part = advice.part
    recommendation.belt = advice.belt
    recommendation.bearing = advice.bearing
    recommendation.safety_relevant = advice.safety_relevant
    recommendation.quantity = advice.quantity
    recommendation.urgency = advice.urgency
    recommendation.by_date = advice.by_date
    recommendation.reason = advice.reason
    recommendation.save()
    recommendation.evidence.all().delete()
    Evidence.objects.bulk_create(
        Evidence(recommendation=recommendation, record=record, sentence=part)
        for record, sentence in advice.evidence
        for part in wrap(sentence, LONGEST_SENTENCE)
    )
    return recommendation


def _renew(old, new, made_by, made_at):
    """Let `new` stand for `old`, and carry over what was answered.

    To put off or to decline holds for the same reason only; what was approved or ordered stays so.
    """
    answer = old.steps.last()
    agreed = answer is not None and answer.state in AGREED
    if answer is not None and (agreed or old.reason == new.reason):
        take_step(
            new,
            answer.state,
            made_by=answer.made_by,
            note=answer.note,
            made_at=answer.made_at,
            carried_over=answer,
        )
    at_visit = f" at visit {new.visit.number}" if new.visit else ""
    take_step(
        old,
        State.WITHDRAWN,
        made_by=made_by,
        note=f"renewed{at_visit}",
        made_at=made_at,
    )


@entered_once(RecommendationStep)
def take_step(
    recommendation,
    state,
    *,
    made_by,
    note="",
    fitting=None,
    carried_over=None,
    told=None,
    price=None,
    entry_id=None,
    made_at=None,
):
    """Add what became of a recommendation; a settled one takes no further step.

    told: the `ToldAnswer` it stands in, where the owner did not enter it; price: of one, where
    another was agreed than the register has.

    fitting: what was fitted, with 'fitted' of a belt or bearing. An approval keeps the price that
    was approved. carried_over: the same answer to an earlier recommendation, whose price it keeps.
    """
    locked = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    refuse_settled(locked)
    needs_reason = {State.DECLINED, State.DEFERRED}
    if state in needs_reason and not note.strip():
        raise Refused("Say why: a declined or deferred replacement keeps its reason.")
    if state == State.FITTED and locked.place is not None and fitting is None:
        raise Refused("Say what was fitted, so that the life of the old one closes.")
    agreed = carried_over.unit_price if carried_over else _price_agreed(locked, state)
    if price is not None and state == State.APPROVED:
        agreed = price
    return RecommendationStep.objects.create(
        recommendation=locked,
        state=state,
        made_by=made_by,
        note=note.strip(),
        fitting=fitting,
        unit_price=agreed,
        told=told or (carried_over and carried_over.told),
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )


def refuse_settled(recommendation):
    """Raise Refused when nothing more can become of a recommendation."""
    if recommendation.steps.filter(state__in=RecommendationStep.SETTLED).exists():
        raise Refused("This recommendation is settled already.")


def _price_agreed(recommendation, state):
    """The price of one that an approval agrees to, and that an order and its arrival keep.

    Raises Refused for an order of what was not approved, and the arrival of what was not ordered.
    """
    if state == State.APPROVED and recommendation.part is not None:
        return recommendation.part.price
    if state not in FOLLOWS:
        return None
    before, lacking = FOLLOWS[state]
    last = recommendation.steps.last()
    if last is None or last.state != before:
        raise Refused(lacking)
    return last.unit_price
