"""What plans of alignment checks need to know of stations and checks."""

from machines.planning.models import Plan
from machines.register.models import Station

from .chain_view import chains_of


def stations_checked(visit):
    """The stations checked at a visit, for the plans: those of which every line of the sheet was
    measured at it since it, or what it is measured from, was last moved."""
    for machine_pk, chain in chains_of(visit).items():
        for state in chain:
            lines = [one for one in state.items if not one.item.closes_a_loop]
            if lines and all(one.final for one in lines):
                moment = max(one.final.made_at for one in lines)
                yield machine_pk, Plan.Kind.ALIGNMENT, state.station.name, moment


def station_names(machines):
    """Machine pk and name of each station with something to check on the sheet in force; for
    `PLANNING_SOURCES`."""
    stations = Station.objects.current().filter(machine__in=machines, items__sheet__is_current=True)
    for machine_pk, name in stations.values_list("machine", "name").distinct():
        yield machine_pk, Plan.Kind.ALIGNMENT, name
