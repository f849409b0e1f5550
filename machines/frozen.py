"""What of this app no longer changes once a visit is signed."""

from shop.freezing import Freeze, visit_signed

OF_VISIT = visit_signed("{row}.visit_id")
OF_BELT_INSPECTION = visit_signed(
    "(SELECT b.visit_id FROM machines_beltinspection b WHERE b.id = {row}.inspection_id)"
)
# The life that a signed visit closed stays as it was told, whenever it began.
OUT_AT_A_SIGNED_VISIT = (
    "EXISTS (SELECT 1 FROM machines_removal m JOIN shop_visit v ON v.id = m.visit_id"
    " WHERE m.fitting_id = {row}.id AND v.state = 'signed')"
)
OF_RECOMMENDATION = visit_signed(
    "(SELECT r.visit_id FROM machines_recommendation r WHERE r.id = {row}.recommendation_id)"
)


def incident_signed(incident_id):
    """SQL that is true when a signed visit names the incident `incident_id` (SQL with `{row}`)."""
    return (
        "EXISTS (SELECT 1 FROM machines_visitedmachine m JOIN shop_visit v ON v.id = m.visit_id"
        f" WHERE m.incident_id = {incident_id} AND v.state = 'signed')"
    )


RULES = [
    Freeze("machines_visitedmachine", OF_VISIT),
    Freeze("machines_beltoff", OF_VISIT),
    Freeze(
        "machines_findingphoto",
        visit_signed(
            "(SELECT m.visit_id FROM machines_visitedmachine m WHERE m.id = {row}.visited_id)"
        ),
    ),
    Freeze("machines_beltinspection", OF_VISIT),
    # A reading found wrong later is left out of the sums; what it showed stays as it was.
    Freeze(
        "machines_meterreading",
        OF_VISIT,
        columns=("machine_id", "visit_id", "kind", "read_at", "value", "new_meter", "made_by_id"),
    ),
    # Plans are closed by signing, so adding is allowed; taking back what was signed is not.
    Freeze("machines_planclosing", OF_VISIT, inserts=False),
    Freeze("machines_wantedwork", OF_VISIT),
    Freeze(
        "machines_toothfinding",
        OF_BELT_INSPECTION,
    ),
    Freeze("machines_belttension", OF_BELT_INSPECTION),
    Freeze("machines_toothphoto", OF_BELT_INSPECTION),
    Freeze("machines_bearinginspection", OF_VISIT),
    Freeze("machines_rebuild", OF_VISIT),
    Freeze("machines_fitting", f"({OF_VISIT}) OR {OUT_AT_A_SIGNED_VISIT}"),
    Freeze("machines_removal", OF_VISIT),
    Freeze("machines_recommendation", OF_VISIT),
    Freeze("machines_evidence", OF_RECOMMENDATION),
    # Steps go on being added to what was signed, but those taken stay as they are.
    Freeze("machines_recommendationstep", OF_RECOMMENDATION, inserts=False),
    # The account of an incident that a signed report repeats stays as it was; its state goes on.
    Freeze("machines_incidentphoto", incident_signed("{row}.incident_id"), inserts=False),
    Freeze("machines_incidentstep", incident_signed("{row}.incident_id"), inserts=False),
    Freeze(
        "machines_checkline",
        visit_signed(
            "(SELECT m.visit_id FROM machines_visitedmachine m WHERE m.id = {row}.visited_id)"
        ),
    ),
    Freeze(
        "machines_incident",
        incident_signed("{row}.id"),
        columns=(
            "machine_id",
            "happened_at",
            "kind",
            "place",
            "axis",
            "direction",
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
