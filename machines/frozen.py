"""What of this app no longer changes once a visit is signed."""

from shop.freezing import Freeze, visit_signed

OF_VISIT = visit_signed("{row}.visit_id")

RULES = [
    Freeze("machines_visitedmachine", OF_VISIT),
    Freeze("machines_beltinspection", OF_VISIT),
    Freeze(
        "machines_toothfinding",
        visit_signed(
            "(SELECT b.visit_id FROM machines_beltinspection b WHERE b.id = {row}.inspection_id)"
        ),
    ),
    Freeze("machines_recommendation", OF_VISIT),
    Freeze(
        "machines_evidence",
        visit_signed(
            "(SELECT r.visit_id FROM machines_recommendation r"
            " WHERE r.id = {row}.recommendation_id)"
        ),
    ),
    # The account of an incident that a signed report repeats stays as it was; its state goes on.
    Freeze(
        "machines_incident",
        "EXISTS (SELECT 1 FROM machines_visitedmachine m JOIN shop_visit v ON v.id = m.visit_id"
        " WHERE m.incident_id = {row}.id AND v.state = 'signed')",
        columns=(
            "machine_id",
            "happened_at",
            "what_hit",
            "hit_what",
            "severity",
            "offset_seen_um",
            "offset_seen_typed",
            "broken",
            "note",
            "may_run",
            "made_by_id",
        ),
        inserts=False,
    ),
]
