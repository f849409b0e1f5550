"""Archives of formats before today's, brought up to it as the migrations brought up a site.

Of format 1 told is as an indicator saw it (see `as_the_dial_saw_it`); stations belonged to another
app until format 2 was some days old.
"""

from decimal import Decimal, InvalidOperation

from shop.web.errors import Refused

from .as_the_dial_saw_it import (
    AS_FRONT,
    NEW_NAMES,
    OTHER,
    UPWARDS,
    along,
    figure_sign,
    limits_now,
    names_station,
    settings_now,
)

MOVED = {
    "alignment.station": "machines.station",
    "alignment.incidentstation": "machines.incidentstation",
    "alignment.stationmover": "machines.stationmover",
}


def bring_up(tables, version):
    """Bring the rows of an archive up to today's format.

    tables: label to rows as they were said, {field: value}; changed in place. Raises Refused where
    a row names a station that is not there, or says what is no figure.
    """
    for before, now in MOVED.items():
        if before in tables:
            tables[now] = tables.pop(before)
    if version >= 2:
        return
    try:
        _tell_of_the_station(tables)
    except (KeyError, TypeError, AttributeError, InvalidOperation) as error:
        raise Refused(
            "The archive cannot be brought up to date: a row of its sheets, stations or axes names "
            f"what is not in it ({error})."
        ) from error


def _tell_of_the_station(tables):
    stations = {row["id"]: row for row in tables.get("machines.station", [])}
    for row in tables.get("alignment.acceptanceitem", []):
        _turn_line(row, stations[row["station"]])
    for row in tables.get("alignment.check", []):
        row["view"] = "dial"
    for row in tables.get("alignment.adjustingway", []):
        row["settings"] = settings_now(
            row["kind"], row["settings"], _look(stations[row["station"]])
        )
    axes = tables.get("machines.axis", [])
    for row in axes:
        row["plus"] = AS_FRONT.get(row.pop("view", "none"), "none")
    tables["machines.stationmover"] = list(_movers(axes, stations))


def _look(station):
    return station.get("look", "from the headstock")


def _turn_line(row, station):
    quantity = row.get("quantity", "offset")
    row["quantity"] = NEW_NAMES.get(quantity, quantity)
    if quantity not in (*NEW_NAMES, *UPWARDS):
        return
    view = (station.get("indicator_in", "datum"), _look(station))
    if figure_sign(row["quantity"], row.get("surface", "bore"), *view) < 0:
        names = ("lower_um", "upper_um", "factory_um")
        was = [None if row.get(name) is None else Decimal(row[name]) for name in names]
        said = (None if figure is None else str(figure) for figure in limits_now(*was))
        row |= dict(zip(names, said, strict=True)) | {"turned": True}


def _movers(axes, stations):
    """The rows that name each axis at the stations its words name; turns its plus on the way as
    the first of them sees it."""
    number, turned = 0, set()
    for station in sorted(stations.values(), key=lambda one: one["position"]):
        for axis in axes:
            if axis["machine"] != station["machine"] or not axis.get("moves"):
                continue
            if not names_station(axis["moves"], station["name"], station["kind"]):
                continue
            if along(_look(station)) < 0 and axis["id"] not in turned:
                axis["plus"] = OTHER.get(axis["plus"], axis["plus"])
            turned.add(axis["id"])
            number += 1
            yield {"id": number, "station": station["id"], "axis": axis["id"]}
