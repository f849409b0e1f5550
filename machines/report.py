"""The parts of the service report that the machines app knows: machines, incidents, belts and
replacements."""

from django.utils.text import capfirst

from shop.documents import Column, data_table, figure, heading, key_values, paragraph, photo_grid
from shop.palettes import PRINT

from .looks import belt_figure, last_looks, look_before, what_changed
from .models import Belt, RecommendationStep

MAP_WIDTH = 280  # points; wide enough for the numbers of the teeth to be read
MAP_CAPTION = "Counted from the belt's mark in its running direction."


def _visited(report):
    return report.visit.visited.select_related("machine__shop", "incident__made_by")


def summary(report):
    """Each machine visited: what it is, how it stands, and what was found in words."""
    flowables = []
    for here in _visited(report):
        flowables += [heading(f"Machine {here.machine}"), key_values(_facts(report, here.machine))]
        if here.findings:
            flowables += [heading("What was found", 2), paragraph(here.findings)]
    return flowables


def _facts(report, machine):
    named = [
        ("Model", machine.model_name),
        ("Serial number", machine.serial),
        ("Year built", machine.built and str(machine.built)),
        ("May it run", _standing(report, machine)),
    ]
    return [(label, text) for label, text in named if text]


def _standing(report, machine):
    if machine.is_stopped:
        return f"no, stopped until looked at, since {report.when(machine.stopped_since)}"
    return "yes"


def photos(report):
    """What was found, in pictures, two beside each other."""
    flowables = []
    for here in _visited(report).prefetch_related("photos"):
        shown = [(photo.image, photo.caption) for photo in here.photos.all()]
        if shown:
            flowables += [heading(f"Photos of machine {here.machine}", 2), photo_grid(shown)]
    return flowables


def incident(report):
    """What happened at the machines visited, as the person who was there tells it."""
    flowables = []
    for here in _visited(report):
        if here.incident is not None:
            flowables += _account(report, here.machine, here.incident)
    return [heading("What happened"), *flowables] if flowables else []


def _account(report, machine, incident):
    told = [
        ("Machine", str(machine)),
        ("When", report.when(incident.happened_at)),
        ("What hit what", f"{incident.what_hit} hit {incident.hit_what}"),
        ("How hard", incident.get_severity_display()),
        ("Offset seen afterwards", _offset_seen(report, incident)),
        ("What was broken", incident.broken),
        ("Told by", incident.made_by.name),
        ("Anything else", incident.note),
    ]
    return [key_values([(label, text) for label, text in told if text])]


def _offset_seen(report, incident):
    """The offset as it was typed, and in the report's unit where that says more."""
    if incident.offset_seen_um is None:
        return ""
    length = report.length(incident.offset_seen_um)
    typed = incident.offset_seen_typed
    return f"{length} (typed as {typed})" if typed and typed not in length else length


def belts(report):
    """The belts of the machines visited: what was seen of each, and which were not looked at.

    A belt that is not sound, or not as it was last time, is drawn tooth by tooth.
    """
    belts_there = Belt.objects.filter(machine__visited__visit=report.visit)
    looks = last_looks(
        belts_there.select_related("machine").order_by("machine__number", "pk"), visit=report.visit
    )
    if not looks:
        return []
    told = [part for look in looks if look.inspection for part in _belt(report, look)]
    left = [f"{one.belt}, machine {one.belt.machine.number}" for one in looks if not one.inspection]
    if left:
        told.append(paragraph(f"Not looked at during this visit: {'; '.join(left)}."))
    return [heading("Belts"), *told]


def _belt(report, look):
    """One belt looked at: its map right under its heading, so that the two stay together."""
    belt, inspection = look.belt, look.inspection
    before = look_before(inspection)
    changes = what_changed(inspection, before)
    told = [heading(f"{capfirst(belt)}, machine {belt.machine.number}", 2)]
    if changes or inspection.conditions():
        drawing = belt_figure(inspection, before).drawing(PRINT)
        told.append(figure(drawing, MAP_CAPTION, MAP_WIDTH))
    told.append(paragraph(f"{belt.teeth} teeth, {belt.profile}, {belt.drives}. {look.sentence}"))
    if changes:
        told.append(paragraph(f"Since {report.day(before.made_at)}: {' '.join(changes)}"))
    if inspection.note:
        told.append(paragraph(inspection.note))
    return told


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
        report.visit.recommendations.exclude(steps__state=RecommendationStep.State.WITHDRAWN)
        .select_related("part", "machine")
        .prefetch_related("evidence", "steps")
        .most_urgent_first()
    )
    rows = [_replacement(one) for one in advice]
    if not rows:
        return []
    return [heading("Recommended replacements"), data_table(REPLACEMENT_COLUMNS, rows)]


def _replacement(advice):
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
        _answer(list(advice.steps.all())),
    ]


def _answer(steps):
    if not steps:
        return "open"
    last = steps[-1]
    return f"{last.get_state_display()}{f': {last.note}' if last.note else ''}"
