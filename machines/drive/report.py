"""The parts of the service report that the machines app knows: machines, incidents, belts and
replacements."""

from dataclasses import replace

from django.db.models import Prefetch, prefetch_related_objects
from django.utils.text import capfirst

from machines.engineering.belts import CONDITION_WORDS
from machines.incidents.report import incident
from machines.register.report import findings, photos
from shop.paper.documents import (
    Column,
    data_table,
    figure,
    heading,
    key_values,
    paragraph,
    photo_grid,
)
from shop.paper.palettes import PRINT
from shop.web.wording import day_text

from .bearing_looks import findings_of
from .belt_looks import belt_figure, last_looks, looks_before, what_changed
from .check_lines import part_lines
from .lifetimes import totals_of
from .lives import hours_between
from .models import BearingInspection, Belt, Recommendation, RecommendationStep

State = RecommendationStep.State
STEPS = Prefetch("steps", RecommendationStep.objects.with_told())
MAP_WIDTH = 280  # points; wide enough for the numbers of the teeth to be read
MAP_CAPTION = "Counted from the belt's mark in its running direction."


def belts(report):
    """The belts of the machines visited: what was seen of each, and which were not looked at.

    A belt that is not sound, or not as it was last time, is drawn tooth by tooth.
    """
    looks = report.once(_looks)
    if not looks:
        return []
    told = [
        part
        for look, before in report.once(_looked_at_belts)
        for part in _belt(report, look, before)
    ]
    left = [f"{belt}, machine {belt.machine.number}" for belt in report.once(belts_not_looked_at)]
    if left:
        told.append(paragraph(f"Not looked at during this visit: {'; '.join(left)}."))
    return [heading("Belts"), *told] if told else []


def belts_not_looked_at(report):
    """The belts nobody looked at, for `Report.once`: neither tooth by tooth, nor as a line of an
    incident's check list, nor by fitting a new one."""
    done = {
        (part.line.visited.machine_id, part.line.subject)
        for part in report.once(check_lines)
        if part.is_done
    }
    new = {one.belt_id for one in report.once(new_parts)}
    left = [look.belt for look in report.once(_looks) if not look.replaces]
    return [
        belt for belt in left if belt.pk not in new and (belt.machine_id, belt.name) not in done
    ]


def _looks(report):
    """A look at each belt there; at a correction `signed` is what the corrected visit says."""
    there = Belt.objects.filter(machine__visited__visit=report.visit)
    there = there.select_related("machine").order_by("machine__number", "pk")
    looks = last_looks(there, visit=report.visit)
    if report.visit.corrects_id is None:
        return looks
    signed = last_looks(there, visit=report.visit.corrects_id)
    return [
        replace(look, signed=before.inspection) for look, before in zip(looks, signed, strict=True)
    ]


def _looked_at_belts(report):
    """(look, inspection before it or None) of each belt looked at."""
    looks = [look for look in report.once(_looks) if look.inspection]
    inspections = [look.inspection for look in looks]
    prefetch_related_objects(inspections, "photos")
    before = looks_before(inspections)
    return [(look, before.get(look.inspection.pk)) for look in looks]


def _belt(report, look, before):
    """One belt looked at: its map right under its heading, so that the two stay together."""
    belt, inspection = look.belt, look.inspection
    changes = what_changed(inspection, before)
    name = f"{capfirst(belt)}, machine {belt.machine.number}"
    if _is_plain(inspection, changes):
        return [paragraph(f"{name}: {belt.told}. {look.sentence}")]
    told = [heading(name, 2)]
    if changes or inspection.conditions():
        drawing = belt_figure(inspection, before).drawing(PRINT)
        told.append(figure(drawing, MAP_CAPTION, MAP_WIDTH))
    told.append(paragraph(f"{belt.told}. {look.sentence}"))
    if changes:
        told.append(paragraph(f"Since {report.day(before.made_at)}: {' '.join(changes)}"))
    if hasattr(inspection, "tension"):
        tension = inspection.tension
        told.append(paragraph(f"Tension: {tension} Measured: {tension.measured}."))
    if inspection.note:
        told.append(paragraph(inspection.note))
    conditions = inspection.conditions()
    pinned = [
        (
            photo.image,
            f"Tooth {photo.tooth}: {CONDITION_WORDS[conditions.get(photo.tooth, 'sound')]}",
        )
        for photo in inspection.photos.all()
    ]
    if pinned:
        told.append(photo_grid(pinned))
    return told


def _is_plain(inspection, changes):
    """Whether a sentence says all there is of a belt: sound, as it was, nothing noted."""
    more = changes or inspection.conditions() or inspection.note or inspection.photos.all()
    return not more and not hasattr(inspection, "tension")


def bearings(report):
    """The bearings looked at and the housings rebuilt; empty when there was neither."""
    found = (
        BearingInspection.objects.not_superseded()
        .filter(visit=report.visit)
        .select_related("bearing__machine")
        .order_by("bearing__machine__number", "bearing", "made_at")
    )
    told = [part for inspection in found for part in _bearing(report, inspection)]
    for rebuild in report.visit.rebuilds.select_related("assembly__machine"):
        told += _rebuild(report, rebuild)
    return [heading("Bearings and housings"), *told] if told else []


def _bearing(report, inspection):
    bearing = inspection.bearing
    told = [
        heading(f"{capfirst(bearing)}, machine {bearing.machine.number}", 2),
        key_values(findings_of(inspection, report.unit)),
    ]
    return told + ([paragraph(inspection.note)] if inspection.note else [])


def _rebuild(report, rebuild):
    assembly = rebuild.assembly
    return [
        heading(f"{capfirst(assembly)}, machine {assembly.machine.number}: rebuilt", 2),
        key_values(
            [
                ("Day", day_text(rebuild.rebuilt_on)),
                ("By", rebuild.who),
                ("Fitted", rebuild.fitted),
                ("Felt before", rebuild.feel_before),
                ("Feels now", rebuild.feel_after),
            ]
        ),
    ]


FITTED_COLUMNS = [
    Column("Fitted", 1.8),
    Column("Part", 1.6),
    Column("Serial or lot", 1.0),
    Column("Qty", 0.4, "right"),
    Column("The old one", 2.4),
]


def fitted(report):
    """The belts and bearings fitted, and what became of those that came out."""
    new = report.once(new_parts)
    if not new:
        return []
    removals = report.visit.removals.select_related("fitting")
    out = {(one.fitting.belt_id, one.fitting.bearing_id): one for one in removals}
    totals = totals_of({one.place.machine for one in new})
    rows = [_fitted(report, one, out.get((one.belt_id, one.bearing_id)), totals) for one in new]
    return [heading("Fitted"), data_table(FITTED_COLUMNS, rows, tight=True)]


def new_parts(report):
    """The belts and bearings fitted at the visit, for `Report.once`."""
    return list(report.visit.fittings.select_related("belt__machine", "bearing__machine", "part"))


def _fitted(report, fitting, removal, totals):
    machine = fitting.place.machine
    return [
        f"{capfirst(fitting.place)}, machine {machine.number}",
        str(fitting.part or "–"),
        fitting.serial or "–",
        str(fitting.quantity),
        _came_out(report, removal, totals.get(machine.pk)) if removal else "not on record",
    ]


def _came_out(report, removal, totals):
    old = removal.fitting
    hours = None
    if totals is not None:
        hours = hours_between(totals, old.fitted_at, removal.removed_at)
    ran = "" if hours is None else f", {hours:,.0f} h run"
    return f"in since {report.day(old.fitted_at)}{ran}: {removal.get_why_display()}"


CHECK_COLUMNS = [
    Column("Machine", 0.7),
    Column("Part", 1.8),
    Column("Why", 2.6),
    Column("Found", 1.8),
]


def check_list(report):
    """What the incident called for, line by line, and what was found."""
    parts = report.once(check_lines)
    if not parts:
        return []
    rows = [
        [str(part.line.visited.machine.number), part.line.subject, part.line.reason, _seen(part)]
        for part in parts
    ]
    return [
        heading("Looked at because of what happened"),
        data_table(CHECK_COLUMNS, rows, tight=True),
    ]


def check_lines(report):
    """The `PartLine`s of the machines visited, for `Report.once`."""
    return part_lines(report.visit)


def _seen(part):
    return (part.found or "looked at") if part.is_done else "not looked at"


REPLACEMENT_COLUMNS = [
    Column("Urgency", 1.1),
    Column("Replace", 1.7),
    Column("Qty", 0.4, "right"),
    Column("Reason", 2.4),
    Column("Evidence", 1.9),
    Column("Answer", 1.0),
]


def replacements(report):
    """What should be replaced, the most urgent first, with its reason, evidence and answer."""
    advice = (
        report.visit.recommendations.exclude(steps__state=State.WITHDRAWN)
        .select_related("part", "machine")
        .prefetch_related("evidence", STEPS)
        .most_urgent_first()
    )
    rows = [_replacement(report, one) for one in advice]
    if not rows:
        return []
    return [heading("Recommended replacements"), data_table(REPLACEMENT_COLUMNS, rows, tight=True)]


def _replacement(report, advice):
    part = (
        f" (part {advice.part.number})"
        if advice.part and advice.part.number not in advice.what
        else ""
    )
    return [
        advice.urgency_words,
        f"{advice.what}{part}, machine {advice.machine.number}",
        str(advice.quantity),
        advice.reason,
        "\n".join(one.sentence for one in advice.evidence.all()) or "–",
        answer_words(_taken_by_then(report, advice)),
    ]


def _taken_by_then(report, advice):
    """The steps taken by when the visit was signed; all of them on a draft."""
    signed_at = report.visit.signed_at
    return [one for one in advice.steps.all() if signed_at is None or one.made_at <= signed_at]


def answer_words(steps):
    """What became of a recommendation by the last of its steps."""
    if not steps:
        return "open"
    last = steps[-1]
    note = f": {last.note}" if last.note else ""
    return f"{last.get_state_display()}{last.told_words}{note}"


def declined(report):
    """What was declined earlier though somebody may get hurt, until it is replaced."""
    advice = (
        Recommendation.objects.filter(machine__visited__visit=report.visit)
        .exclude(visit=report.visit)
        .declined_but_safety_relevant()
        .select_related("machine")
        .prefetch_related(STEPS)
        .distinct()
    )
    told = [paragraph(_declined(report, one)) for one in advice]
    return [heading("Declined earlier, though somebody may get hurt"), *told] if told else []


def _declined(report, advice):
    last = [step for step in advice.steps.all() if step.state == State.DECLINED][-1]
    return (
        f"{advice.what}, machine {advice.machine.number}: {advice.reason} Declined by "
        f"{last.made_by.name} on {report.day(last.made_at)}{last.told_words}: {last.note}"
    )


# What the visit was for, and what was looked at and fitted; between the two stands the alignment.
# What is advised is an opinion and comes after all that was measured and seen.
THE_CALL = [findings, photos, incident, check_list]
DRIVE_TRAIN = [belts, bearings, fitted]
ADVICE = [replacements, declined]
