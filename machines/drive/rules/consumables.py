"""When a consumable guide bushing is to be renewed."""

from django.utils import timezone

from machines.drive.advice import Advice
from machines.drive.lives import hours_between, start_of
from machines.drive.models import Assembly, Recommendation
from machines.register.meters import meter_totals
from shop.web.wording import day_text


def guide_bushing_overdue(machine, visit):
    """A guide bushing that has run past its hours since it was last renewed is renewed."""
    housing = machine.assemblies.filter(
        kind=Assembly.Kind.HOUSING, renew_after_h__isnull=False
    ).first()
    last = housing and housing.rebuilds.filter(new_bushing=True).first()
    if not last:
        return
    since = start_of(last.rebuilt_on, machine.shop)
    hours = hours_between(meter_totals(machine), since, timezone.now())
    if hours is not None and hours > housing.renew_after_h:
        yield Advice(
            rule="guide bushing overdue",
            subject="guide bushing",
            what="Renew the guide bushing",
            urgency=Recommendation.Urgency.THIS_VISIT,
            reason=f"The guide bushing has run {hours:,.0f} of {housing.renew_after_h:,} h since "
            f"it was renewed on {day_text(last.rebuilt_on)}.",
            evidence=((last, f"renewed on {day_text(last.rebuilt_on)}: {last.fitted}"),),
        )


RULES = [guide_bushing_overdue]
