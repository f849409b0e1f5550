"""What an operator asks in the morning: may my machine run, and what did they find last time."""

from django.db.models import F, OuterRef, Subquery, TextField, Value
from django.db.models.functions import Coalesce, NullIf
from django.urls import reverse
from django.utils import timezone

from machines.register.models import Machine, VisitedMachine
from shop.web.today import LINES, Block, Line, short_day

from .places import OPERATOR, shops_as


def may_it_run(user, most=LINES):
    """The operator's machines, the stopped ones first; one query."""
    machines = _with_last_findings(Machine.objects.filter(shop__in=shops_as(user, OPERATOR)))
    found = list(machines.with_stop_state().select_related("shop").order_by("-stopped", "number"))
    found = [one for one in found if not one.is_out_of_service]
    return Block(
        "may-it-run",
        "May it run?",
        lines=tuple(map(_line, found[:most])),
        count=len(found),
        more_url=reverse("machines:machines"),
        empty="No machine is on record yet. The shop's owner or contractor adds it.",
    )


def _with_last_findings(machines):
    """Annotate `found_at`, `found_on` and `found` of the last visit that was signed."""
    last = VisitedMachine.objects.filter(machine=OuterRef("pk"), visit__state="signed")
    last = last.order_by("-visit__signed_at")
    said = NullIf("findings", Value(""))
    words = last.annotate(words=Coalesce(said, F("visit__purpose"), output_field=TextField()))
    return machines.annotate(
        found_at=Subquery(last.values("visit")[:1]),
        found_on=Subquery(last.values("visit__signed_at")[:1]),
        found=Subquery(words.values("words")[:1]),
    )


def _line(machine):
    today = machine.shop.today
    why, why_url = "No visit is on record yet", ""
    if machine.found_at:
        on = timezone.localdate(machine.found_on, timezone=machine.shop.zone)
        why = f"Last found, {short_day(on, today)}: {machine.found}"
        why_url = reverse("shop:visit", args=[machine.found_at])
    return Line(
        what=str(machine),
        url=machine.get_absolute_url(),
        why=why,
        why_url=why_url,
        keeps=machine,
        action="Log what happened",
        action_url=reverse("alignment:log_incident", args=[machine.pk]),
    )
