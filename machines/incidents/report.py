"""The incident and its check list in the service report."""

from machines.register.report import visited
from shop.paper.documents import heading, key_values


def incident(report):
    """What happened at the machines visited, as the person who was there tells it."""
    flowables = []
    for here in report.once(visited):
        if here.incident is not None:
            flowables += _account(report, here.machine, here.incident)
    return [heading("What happened"), *flowables] if flowables else []


def _account(report, machine, incident):
    told = [
        ("Machine", str(machine)),
        ("When", report.when(incident.happened_at)),
        ("What happened", incident.get_kind_display()),
        ("What hit what", _what_hit_what(incident)),
        ("Where", incident.place),
        ("Moving", incident.movement),
        ("How hard", incident.get_severity_display()),
        ("Offset seen afterwards", _offset_seen(report, incident)),
        ("What was broken", incident.broken),
        ("Logged by", incident.made_by.name),
        ("Anything else", incident.note),
    ]
    return [key_values([(label, text) for label, text in told if text])]


def _what_hit_what(incident):
    told = [incident.what_hit, incident.hit_what]
    return " hit ".join(told) if all(told) else "".join(told)


def _offset_seen(report, incident):
    """The offset as it was typed, and in the report's unit where that says more."""
    if incident.offset_seen_um is None:
        return ""
    length = report.length(incident.offset_seen_um)
    typed = incident.offset_seen_typed
    return f"{length} (typed as {typed})" if typed and typed not in length else length
