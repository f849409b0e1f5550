"""What the machines app reminds people of."""

from datetime import timedelta

from django.db.models import Exists, OuterRef, Q

from machines.drive.models import Recommendation, RecommendationStep
from machines.engineering.due import BUCKETS
from shop.calendar.reminders import OVERDUE, SOON, WAITING, Reminder
from shop.people.models import Role, Shop
from shop.web.wording import day_text

from .due_times import items_of, standing_dues

SOON_DAYS = 14
ANY_STEP = RecommendationStep.objects.filter(recommendation=OuterRef("pk"))


def due_work(user, now):
    """What is overdue or due within two weeks at the person's shops; told once as each."""
    last = now.date() + timedelta(days=SOON_DAYS + 1)
    dues = standing_dues(Shop.objects.visible_to(user)).next_times()
    return [
        Reminder(f"{group} {item.uid}", group, _sentence(item), item.plan.get_absolute_url())
        for item in items_of(dues.filter(Q(by__lte=last) | Q(rank=BUCKETS.index("overdue"))))
        if (group := _group(item))
    ]


def _group(item):
    if item.bucket == "overdue":
        return OVERDUE
    soon = item.due.on is not None and item.due.on <= item.today + timedelta(days=SOON_DAYS)
    return SOON if soon else ""


def _sentence(item):
    when = f"{day_text(item.due.on)}, " if item.due.on else ""
    return (
        f"{item.plan}, machine {item.machine.number}, {item.machine.shop}: {when}{item.due.reason}"
    )


def replacements_to_decide(user, now):
    """Recommended replacements the owner has not answered; one query."""
    own = user.memberships.current().filter(role=Role.OWNER).values("shop")
    found = (
        Recommendation.objects.open()
        .filter(~Exists(ANY_STEP), machine__shop__in=own)
        .select_related("machine__shop")
    )
    return [
        Reminder(
            f"replacement {advice.pk}",
            WAITING,
            f"{advice.what}, machine {advice.machine.number}, {advice.get_urgency_display()}",
            advice.get_absolute_url(),
        )
        for advice in found
    ]


SOURCES = [due_work, replacements_to_decide]
