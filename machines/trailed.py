"""How the tables of this app are trailed: see `shop.trail.tables`."""

EXEMPT = {"DueTime": "it is worked out from records that are trailed"}
LEFT_OUT = {}
OWN_PAGE = [
    "FirmKind",
    "Machine",
    "Part",
    "Belt",
    "Bearing",
    "Assembly",
    "Incident",
    "BeltInspection",
    "BearingInspection",
    "Plan",
    "Recommendation",
]
PARTS_OF = {}
CHAINED = []
SEEN_BY = {}
