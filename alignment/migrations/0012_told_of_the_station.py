"""Tell of the station what was told of the swept surface: sheets, axes and ways of adjusting.

Checks keep their figures as they were measured and signed, and say that their signs are the
dial's. A sheet's limits with a sign are turned where the indicator's view says so, so that what
was within stays within, and say that they were.
"""

from django.db import migrations

NEW_NAMES = {"right": "front", "tilt right": "tilt front", "bow right": "bow front"}
SIDEWAYS, UPWARDS, TILTS = ("front", "tilt front"), ("up", "tilt up"), ("tilt front", "tilt up")
OTHER = {"front": "rear", "rear": "front"}


def turn_sheets(apps, schema_editor):
    items = apps.get_model("alignment", "AcceptanceItem").objects.select_related("station")
    for item in items.filter(quantity__in=[*NEW_NAMES, *UPWARDS]):
        item.quantity = NEW_NAMES.get(item.quantity, item.quantity)
        if _sign(item) < 0:
            lower, upper = item.lower_um, item.upper_um
            item.lower_um = None if upper is None else -upper
            item.upper_um = None if lower is None else -lower
            item.factory_um = None if item.factory_um is None else -item.factory_um
            item.turned = True
        item.save(update_fields=["quantity", "lower_um", "upper_um", "factory_um", "turned"])


def _sign(item):
    """Between the dial's figure and the frame's, every headstock standing at the left by now."""
    station = item.station
    hand = along = _along(station)
    if item.surface in ("bar", "flat"):
        return hand if item.quantity in SIDEWAYS else 1
    holder = 1 if station.indicator_in == "datum" else -1
    if item.quantity in TILTS:
        return holder * (hand * along if item.quantity in SIDEWAYS else along)
    return holder * (hand if item.quantity in SIDEWAYS else 1)


def _along(station):
    return 1 if station.look == "from the headstock" else -1


def name_movers(apps, schema_editor):
    """Each axis at the stations its words name, its plus as their indicator's view has it."""
    mover = apps.get_model("alignment", "StationMover")
    axes = apps.get_model("machines", "Axis")
    for station in apps.get_model("alignment", "Station").objects.all():
        words = {station.name.casefold(), station.kind.casefold()}
        for axis in axes.objects.filter(machine=station.machine_id).exclude(moves=""):
            if not any(word in axis.moves.casefold() for word in words):
                continue
            if _along(station) < 0 and not mover.objects.filter(axis=axis).exists():
                axis.plus = OTHER.get(axis.plus, axis.plus)
                axis.save(update_fields=["plus"])
            mover.objects.create(station=station, axis=axis)


def turn_ways(apps, schema_editor):
    ways = apps.get_model("alignment", "AdjustingWay").objects.select_related("station")
    for way in ways:
        if isinstance(way.settings, dict):
            turned = _TURNS[way.kind](dict(way.settings), _along(way.station))
            if turned != way.settings:
                way.settings = turned
                way.save(update_fields=["settings"])


def _screws(settings, along):
    near, far = ("towards", "away from") if along > 0 else ("away from", "towards")
    pushes = settings.get("clockwise_pushes", "towards the indicator")
    way = near if pushes == "towards the indicator" else far
    settings["clockwise_pushes"] = f"{way} the headstock"
    if "plane_mm" in settings:
        settings["plane_mm"] = along * settings["plane_mm"]
    return settings


def _shims(settings, along):
    if settings.get("pushes") == "right":
        settings["pushes"] = "front" if along > 0 else "rear"
    if isinstance(settings.get("feet"), dict):
        settings["feet"] = {name: along * z for name, z in settings["feet"].items()}
    return settings


def _control(settings, along):
    if "right" in settings:
        axis = dict(settings.pop("right"))
        settings["front"] = axis | {"sign": along * axis.get("sign", 1)}
    return settings


_TURNS = {
    "shift": lambda settings, along: settings,
    "screws": _screws,
    "shims": _shims,
    "control": _control,
}


class Migration(migrations.Migration):
    dependencies = [
        ('alignment', '0011_frame_fields'),
    ]

    operations = [
        migrations.RunPython(turn_sheets, migrations.RunPython.noop),
        migrations.RunPython(name_movers, migrations.RunPython.noop),
        migrations.RunPython(turn_ways, migrations.RunPython.noop),
    ]
