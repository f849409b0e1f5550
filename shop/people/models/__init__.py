"""Tables of people: shops, firms, memberships, invitations, devices, sign-ins."""

from .billed_to import (
    billed_to,
)
from .devices import (
    Pin,
    PinTries,
    SharedDevice,
    SharedDeviceQuerySet,
)
from .feed_addresses import (
    FeedAddress,
)
from .invitations import (
    Invitation,
    InvitationQuerySet,
)
from .people import (
    LENGTH_UNITS,
    WEEK_STARTS,
    DateForm,
    EndedNotDeleted,
    Firm,
    FirmMembership,
    FirmQuerySet,
    Membership,
    MembershipQuerySet,
    PaperSize,
    Regional,
    Role,
    Shop,
    ShopQuerySet,
    User,
    validate_currency,
    validate_zone,
)
from .sign_ins import (
    SignIn,
)
from .tallies import (
    Tally,
)
from .told import (
    TOLD,
    ToldAnswer,
    ToldAnswerQuerySet,
    ToldReply,
)

__all__ = [
    "LENGTH_UNITS",
    "TOLD",
    "WEEK_STARTS",
    "DateForm",
    "EndedNotDeleted",
    "FeedAddress",
    "Firm",
    "FirmMembership",
    "FirmQuerySet",
    "Invitation",
    "InvitationQuerySet",
    "Membership",
    "MembershipQuerySet",
    "PaperSize",
    "Pin",
    "PinTries",
    "Regional",
    "Role",
    "SharedDevice",
    "SharedDeviceQuerySet",
    "Shop",
    "ShopQuerySet",
    "SignIn",
    "Tally",
    "ToldAnswer",
    "ToldAnswerQuerySet",
    "ToldReply",
    "User",
    "billed_to",
    "validate_currency",
    "validate_zone",
]
