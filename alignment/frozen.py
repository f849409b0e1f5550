"""What of this app no longer changes once a visit is signed."""

from machines.frozen import incident_signed
from shop.freezing import Freeze, visit_signed

CHECK = "(SELECT c.visit_id FROM alignment_check c WHERE c.id = {row}.check_id)"
# One key looked up in the other: PostgreSQL keeps a trigger's plan, and that of a join made while
# the tables were empty reads all of them for every row.
SWEEP = (
    "(SELECT c.visit_id FROM alignment_check c WHERE c.id ="
    " (SELECT s.check_id FROM alignment_sweep s WHERE s.id = {row}.sweep_id))"
)

RULES = [
    Freeze("alignment_check", visit_signed("{row}.visit_id")),
    Freeze("alignment_sweep", visit_signed(CHECK)),
    Freeze("alignment_reading", visit_signed(SWEEP)),
    Freeze("alignment_adjustment", visit_signed("{row}.visit_id")),
    Freeze("alignment_steptick", visit_signed("{row}.visit_id")),
    Freeze("alignment_incidentstation", incident_signed("{row}.incident_id")),
    # What a signed check means goes by how its station was set up; else a new line is begun.
    Freeze(
        "alignment_station",
        "EXISTS (SELECT 1 FROM alignment_acceptanceitem i"
        " JOIN alignment_check c ON c.item_id = i.id JOIN shop_visit v ON v.id = c.visit_id"
        " WHERE i.station_id = {row}.id AND v.state = 'signed')",
        columns=("machine_id", "indicator_in", "look", "plane_mm"),
        inserts=False,
    ),
    # A sheet's line that a signed check was held against stays as it was; a new sheet replaces it.
    Freeze(
        "alignment_acceptanceitem",
        "EXISTS (SELECT 1 FROM alignment_check c JOIN shop_visit v ON v.id = c.visit_id"
        " WHERE c.item_id = {row}.id AND v.state = 'signed')",
        inserts=False,
    ),
]
