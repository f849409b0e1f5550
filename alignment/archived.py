"""What of this app goes into a shop's archive."""

from shop.archive.rules import Goes, Named, Stays

RULES = {
    "alignment.Station": Goes("machine__shop"),
    "alignment.StationMover": Goes("station__machine__shop"),
    "alignment.IncidentStation": Goes("station__machine__shop"),
    "alignment.AcceptanceSheet": Goes("machine__shop"),
    "alignment.AcceptanceItem": Goes("sheet__machine__shop"),
    "alignment.SheetScan": Goes("sheet__machine__shop"),
    "alignment.StepTick": Goes("station__machine__shop"),
    "alignment.AdjustingWay": Goes("station__machine__shop"),
    # The firm's, as far as a sweep of the shop's was taken with them.
    "alignment.Indicator": Named(by=(("firm", "serial"),)),
    "alignment.Check": Goes("item__sheet__machine__shop"),
    "alignment.Sweep": Goes("check_record__item__sheet__machine__shop"),
    "alignment.Reading": Goes("sweep__check_record__item__sheet__machine__shop"),
    "alignment.Adjustment": Goes("station__machine__shop"),
    "alignment.SweepDraft": Goes("visit__shop"),
    "alignment.MachineRisk": Stays("it is worked out from the rest"),
}

OF_MACHINE = {
    "alignment.Station": Goes("machine"),
    "alignment.StationMover": Goes("station__machine"),
    "alignment.IncidentStation": Goes("station__machine"),
    "alignment.AcceptanceSheet": Goes("machine"),
    "alignment.AcceptanceItem": Goes("sheet__machine"),
    "alignment.SheetScan": Goes("sheet__machine"),
    "alignment.StepTick": Goes("station__machine"),
    "alignment.AdjustingWay": Goes("station__machine"),
    # What a sweep used of its indicator stands in the sweep; the indicator itself stays.
    "alignment.Check": Goes("item__sheet__machine"),
    "alignment.Sweep": Goes("check_record__item__sheet__machine"),
    "alignment.Reading": Goes("sweep__check_record__item__sheet__machine"),
    "alignment.Adjustment": Goes("station__machine"),
}
