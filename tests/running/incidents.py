"""What people send when they log an incident at a machine."""


def incident_fields(entry_id, stations):
    """The form of a light hit; `entry_id` stands in its words, by which it is found again."""
    return {
        "entry_id": entry_id,
        "kind": "hit",
        "what_hit": f"holder {entry_id}",
        "hit_what": "sub-spindle nose",
        "stations": stations,
        "severity": "knock",
        "happened_at": "2025-03-05T14:20",
        "may_run": "yes",
    }
