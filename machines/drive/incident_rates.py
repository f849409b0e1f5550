"""How often each machine has incidents, over the hours its meter counted."""

from collections import defaultdict
from dataclasses import dataclass

from machines.engineering.meters import days_utc
from machines.engineering.repair_rates import Mtbf, PowerLaw, mtbf, power_law

from ..models import Incident, Machine
from .fleet import totals_of


@dataclass(frozen=True)
class IncidentRate:
    """A machine's incidents over its metered hours; what cannot be told is None."""

    machine: Machine
    mtbf: Mtbf | None
    law: PowerLaw | None

    @property
    def trend(self):
        """Whether incidents come more often, in words; empty where it cannot be told."""
        if self.law is None:
            return ""
        often = "more often" if self.law.exponent > 1 else "less often"
        high = f"{self.law.high_h:,.0f}" if self.law.high_h != float("inf") else "no upper bound"
        return (
            f"They come {often} (power law, exponent {self.law.exponent:.2f}): now one in "
            f"{self.law.mtbf_h:,.0f} h (80 % interval {self.law.low_h:,.0f} to {high})."
        )


def rates_of(machines):
    """The `IncidentRate` of each of some machines; two queries."""
    totals, happened = totals_of(machines), defaultdict(list)
    incidents = Incident.objects.filter(machine__in=machines).order_by()
    for key, at in incidents.values_list("machine", "happened_at"):
        happened[key].append(at)
    return [_rate(one, totals.get(one.pk), happened[one.pk]) for one in machines]


def _rate(machine, totals, happened):
    if totals is None or totals.totals[-1] <= 0:
        return IncidentRate(machine, None, None)
    observed = float(totals.totals[-1])
    hours = [
        totals.at(moment)
        for moment in happened
        if totals.days[0] <= days_utc(moment) <= totals.days[-1]
    ]
    return IncidentRate(machine, mtbf(observed, len(hours)), _law(hours, observed))


def _law(hours, observed):
    """The power law, None with fewer than two incidents between the first hour and the last."""
    try:
        return power_law([hour for hour in hours if hour > 0], observed)
    except ValueError:
        return None
