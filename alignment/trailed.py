"""How the tables of this app are trailed: see `shop.trail.tables`."""

EXEMPT = {
    "SweepDraft": "half typed, nobody's record yet; it is forgotten once it is saved",
    "MachineRisk": "it is worked out from records that are trailed",
}
LEFT_OUT = {}
OWN_PAGE = ["AcceptanceSheet", "Check", "Indicator"]
PARTS_OF = {}
CHAINED = ["Check", "Sweep", "Reading", "Adjustment"]
SEEN_BY = {}
