"""What plans of alignment checks need to know of stations and checks."""

from machines.planning.models import Plan
from machines.register.models import Station

from .models import Check


def stations_checked(visit):
    """The stations checked at a visit, for the plans."""
    checks = Check.objects.filter(visit=visit).not_superseded().select_related("item__station")
    for check in checks:
        station = check.item.station
        yield station.machine_id, Plan.Kind.ALIGNMENT, station.name, check.made_at


def station_names(machines):
    """Machine pk and name of each station with something to check on the sheet in force; for
    `PLANNING_SOURCES`."""
    stations = Station.objects.current().filter(machine__in=machines, items__sheet__is_current=True)
    for machine_pk, name in stations.values_list("machine", "name").distinct():
        yield machine_pk, Plan.Kind.ALIGNMENT, name
