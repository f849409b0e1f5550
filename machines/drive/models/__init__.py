"""Tables of the drive train: belts, bearings, parts, fittings, looks, advice."""

from .bearings import (
    BEARING_KINDS,
    Assembly,
    Bearing,
    OfMachineQuerySet,
    Rebuild,
    RebuildQuerySet,
)
from .belts import (
    Belt,
    BeltQuerySet,
    Part,
    PartQuerySet,
)
from .belts_off import (
    BeltOff,
)
from .fittings import (
    Fitting,
    FittingQuerySet,
    Removal,
)
from .inspections import (
    WITH_ITS_INSPECTION,
    BearingInspection,
    BearingInspectionQuerySet,
    BeltInspection,
    BeltInspectionQuerySet,
    BeltTension,
    ToothCondition,
    ToothFinding,
    ToothPhoto,
    ToothPhotoQuerySet,
)
from .replacements import (
    ITS_RECOMMENDATION_SIGNED,
    Evidence,
    Recommendation,
    RecommendationQuerySet,
    RecommendationStep,
    StepQuerySet,
)
from .thresholds import (
    COMMON_PRACTICE,
    Thresholds,
)

__all__ = [
    "BEARING_KINDS",
    "COMMON_PRACTICE",
    "ITS_RECOMMENDATION_SIGNED",
    "WITH_ITS_INSPECTION",
    "Assembly",
    "Bearing",
    "BearingInspection",
    "BearingInspectionQuerySet",
    "Belt",
    "BeltInspection",
    "BeltInspectionQuerySet",
    "BeltOff",
    "BeltQuerySet",
    "BeltTension",
    "Evidence",
    "Fitting",
    "FittingQuerySet",
    "OfMachineQuerySet",
    "Part",
    "PartQuerySet",
    "Rebuild",
    "RebuildQuerySet",
    "Recommendation",
    "RecommendationQuerySet",
    "RecommendationStep",
    "Removal",
    "StepQuerySet",
    "Thresholds",
    "ToothCondition",
    "ToothFinding",
    "ToothPhoto",
    "ToothPhotoQuerySet",
]
