"""Tell of the station what was told of the swept surface: sheets, axes and ways of adjusting.

Checks keep their figures as they were measured and signed, and say that their signs are the
dial's. A sheet's limits with a sign are turned where the indicator's view says so, so that what
was within stays within, and say that they were.
"""

from django.db import migrations

from alignment.register.as_the_dial_saw_it import (
    NEW_NAMES,
    OTHER,
    UPWARDS,
    along,
    figure_sign,
    limits_now,
    names_station,
    settings_now,
)


def turn_sheets(apps, schema_editor):
    items = apps.get_model("alignment", "AcceptanceItem").objects.select_related("station")
    for item in items.filter(quantity__in=[*NEW_NAMES, *UPWARDS]):
        item.quantity = NEW_NAMES.get(item.quantity, item.quantity)
        station = item.station
        view = (station.indicator_in, station.look)
        if figure_sign(item.quantity, item.surface, *view) < 0:
            turned = limits_now(item.lower_um, item.upper_um, item.factory_um)
            item.lower_um, item.upper_um, item.factory_um = turned
            item.turned = True
        item.save(update_fields=["quantity", "lower_um", "upper_um", "factory_um", "turned"])


def name_movers(apps, schema_editor):
    """Each axis at the stations its words name, its plus as their indicator's view has it."""
    mover = apps.get_model("alignment", "StationMover")
    axes = apps.get_model("machines", "Axis")
    for station in apps.get_model("alignment", "Station").objects.all():
        for axis in axes.objects.filter(machine=station.machine_id).exclude(moves=""):
            if not names_station(axis.moves, station.name, station.kind):
                continue
            if along(station.look) < 0 and not mover.objects.filter(axis=axis).exists():
                axis.plus = OTHER.get(axis.plus, axis.plus)
                axis.save(update_fields=["plus"])
            mover.objects.create(station=station, axis=axis)


def turn_ways(apps, schema_editor):
    ways = apps.get_model("alignment", "AdjustingWay").objects.select_related("station")
    for way in ways:
        turned = settings_now(way.kind, way.settings, way.station.look)
        if turned != way.settings:
            way.settings = turned
            way.save(update_fields=["settings"])


class Migration(migrations.Migration):
    dependencies = [
        ('alignment', '0011_frame_fields'),
    ]

    operations = [
        migrations.RunPython(turn_sheets, migrations.RunPython.noop),
        migrations.RunPython(name_movers, migrations.RunPython.noop),
        migrations.RunPython(turn_ways, migrations.RunPython.noop),
    ]
