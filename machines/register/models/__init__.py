"""Tables of the register."""

from .breaks import (
    ServiceBreak,
)
from .corrections import (
    VisitRelatedQuerySet,
    corrections_index,
    first_said,
    said_first,
)
from .findings import (
    FindingPhoto,
    FindingPhotoQuerySet,
)
from .machines import (
    CODE_LENGTH,
    CODE_LETTERS,
    WITH_ITS_FINDINGS,
    Axis,
    AxisQuerySet,
    Machine,
    MachineQuerySet,
    VisitedMachine,
    VisitedMachineQuerySet,
    new_code,
)
from .meters import (
    MeterReading,
    MeterReadingQuerySet,
)
from .standstills import (
    Standstill,
)
from .stations import (
    Station,
    StationMover,
    StationQuerySet,
    first_lines,
    not_behind_the_headstock,
)

__all__ = [
    "CODE_LENGTH",
    "CODE_LETTERS",
    "WITH_ITS_FINDINGS",
    "Axis",
    "AxisQuerySet",
    "FindingPhoto",
    "FindingPhotoQuerySet",
    "Machine",
    "MachineQuerySet",
    "MeterReading",
    "MeterReadingQuerySet",
    "ServiceBreak",
    "Standstill",
    "Station",
    "StationMover",
    "StationQuerySet",
    "VisitRelatedQuerySet",
    "VisitedMachine",
    "VisitedMachineQuerySet",
    "corrections_index",
    "first_lines",
    "first_said",
    "new_code",
    "not_behind_the_headstock",
    "said_first",
]
