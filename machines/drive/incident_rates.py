"""How often each machine has incidents, over the hours its meter counted."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from machines.engineering.meters import days_utc
from machines.engineering.repair_rates import Mtbf, PowerLaw, grouped_power_law, mtbf, power_law
from machines.engineering.trends import Trend, trend
from machines.incidents.models import Incident
from machines.register.models import Machine

from .lifetimes import totals_of


@dataclass(frozen=True)
class IncidentRate:
    """A machine's incidents over its metered hours; what cannot be told is None. The power law is
    told only with a trend."""

    machine: Machine
    mtbf: Mtbf | None
    trend: Trend | None
    law: PowerLaw | None

    @property
    def sentence(self):
        """How often they come and whether that changes."""
        if self.mtbf is None:
            return "No metered hours yet, so no rate."
        told = [self.mtbf, self.mtbf.failures and self.trend, self.law]
        return " ".join(one.sentence for one in told if one)


def rates_of(machines):
    """The `IncidentRate` of each of some machines; two queries."""
    totals, happened = totals_of(machines), defaultdict(list)
    incidents = Incident.objects.each_once().filter(machine__in=machines).order_by()
    for key, at in incidents.values_list("machine", "happened_at"):
        happened[key].append(at)
    return [_rate(one, totals.get(one.pk), happened[one.pk]) for one in machines]


def _rate(machine, totals, happened):
    if totals is None or totals.totals[-1] <= 0:
        return IncidentRate(machine, None, None, None)
    observed = float(totals.totals[-1])
    hours = [
        totals.at(moment)
        for moment in happened
        if totals.days[0] <= days_utc(moment) <= totals.days[-1]
    ]
    # What happened before the first hour has no place in a trend over the hours.
    found = trend([hour for hour in hours if hour > 0], observed)
    law = _law(hours, totals) if found.direction else None
    # What happened since the last reading counts too: a machine that stands crashed has failed. Its
    # hours are not known, so that the rate is told over those that were read.
    since = sum(days_utc(moment) > totals.days[-1] for moment in happened)
    return IncidentRate(machine, mtbf(observed, len(hours) + since), found, law)


def _law(hours, totals):
    """The power law of more than two incidents. Where the meter was read more seldom than they
    came, it says no more of their hours than how many lie between two readings."""
    ends = np.unique(totals.totals)[1:]
    if len(ends) >= len(hours):
        return power_law([hour for hour in hours if hour > 0], ends[-1])
    counts, _ = np.histogram(hours, bins=[0, *ends])
    try:
        return grouped_power_law(ends, counts)
    except ValueError:
        return None
