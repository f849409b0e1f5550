"""What of this app goes into a shop's archive."""

from shop.archive.rules import Goes, Named, Stays

RULES = {
    "machines.Machine": Goes("shop"),
    "machines.Axis": Goes("machine__shop"),
    # The shop's own, and those of a firm that were fitted or recommended here.
    "machines.Part": Named(by=(("shop", "firm", "number"),), way="shop"),
    "machines.Belt": Goes("machine__shop"),
    "machines.VisitedMachine": Goes("machine__shop"),
    "machines.Assembly": Goes("machine__shop"),
    "machines.Rebuild": Goes("assembly__machine__shop"),
    "machines.Bearing": Goes("machine__shop"),
    "machines.Fitting": Goes("belt__machine__shop", "bearing__machine__shop"),
    "machines.Removal": Goes("fitting__belt__machine__shop", "fitting__bearing__machine__shop"),
    "machines.Incident": Goes("machine__shop"),
    "machines.IncidentPhoto": Goes("incident__machine__shop"),
    "machines.IncidentStep": Goes("incident__machine__shop"),
    "machines.Standstill": Goes("machine__shop"),
    "machines.CheckLine": Goes("visited__machine__shop"),
    "machines.BeltInspection": Goes("belt__machine__shop"),
    "machines.ToothFinding": Goes("inspection__belt__machine__shop"),
    "machines.BeltTension": Goes("inspection__belt__machine__shop"),
    "machines.ToothPhoto": Goes("inspection__belt__machine__shop"),
    "machines.BearingInspection": Goes("bearing__machine__shop"),
    "machines.MeterReading": Goes("machine__shop"),
    "machines.FindingPhoto": Goes("visited__machine__shop"),
    "machines.BeltOff": Goes("belt__machine__shop"),
    "machines.Plan": Goes("shop"),
    "machines.PlanSubject": Goes("plan__shop"),
    "machines.PlanClosing": Goes("plan__shop"),
    "machines.WantedWork": Goes("plan__shop"),
    "machines.DueTime": Stays("it is worked out from the rest"),
    "machines.Recommendation": Goes("machine__shop"),
    "machines.Evidence": Goes("recommendation__machine__shop"),
    "machines.RecommendationStep": Goes("recommendation__machine__shop"),
    "machines.Thresholds": Goes("shop"),
    "machines.ServiceBreak": Goes("machine__shop"),
    "machines.IssuedHistory": Goes("machine__shop"),
}

OF_MACHINE = {
    # Its label's code and whether it is in service are for the shop that has it.
    "machines.Machine": Goes("pk", without=("code", "out_of_service_on")),
    "machines.Axis": Goes("machine"),
    # Prices and stock stay; the new owner's part of the same number is used.
    "machines.Part": Named(
        by=(("shop", "number"),), carries=("shop", "number", "description", "maker")
    ),
    "machines.Belt": Goes("machine"),
    "machines.VisitedMachine": Goes("machine"),
    "machines.Assembly": Goes("machine"),
    "machines.Rebuild": Goes("assembly__machine"),
    "machines.Bearing": Goes("machine"),
    "machines.Fitting": Goes("belt__machine", "bearing__machine", without=("unit_price",)),
    "machines.Removal": Goes("fitting__belt__machine", "fitting__bearing__machine"),
    "machines.Incident": Goes("machine"),
    "machines.IncidentPhoto": Goes("incident__machine"),
    "machines.IncidentStep": Goes("incident__machine"),
    "machines.Standstill": Goes("machine"),
    "machines.CheckLine": Goes("visited__machine"),
    "machines.BeltInspection": Goes("belt__machine"),
    "machines.ToothFinding": Goes("inspection__belt__machine"),
    "machines.BeltTension": Goes("inspection__belt__machine"),
    "machines.ToothPhoto": Goes("inspection__belt__machine"),
    "machines.BearingInspection": Goes("bearing__machine"),
    "machines.MeterReading": Goes("machine"),
    "machines.FindingPhoto": Goes("visited__machine"),
    "machines.BeltOff": Goes("belt__machine"),
    "machines.Recommendation": Goes("machine"),
    "machines.Evidence": Goes("recommendation__machine"),
    "machines.RecommendationStep": Goes("recommendation__machine", without=("unit_price",)),
}
