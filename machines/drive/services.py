"""What changes the records of the drive train."""

from shop.errors import Refused
from shop.services import entered_once, for_work, identified

from ..models import Rebuild
from ..services import bring_to_visit


@entered_once(Rebuild)
def note_rebuild(*, assembly, made_by, visit=None, entry_id=None, **account):
    """Note that an assembly was taken apart and put together; account: the other fields."""
    if visit is not None:
        visit = for_work(visit)
        bring_to_visit(visit, assembly.machine)
    if account.get("new_bushing") and assembly.kind != assembly.Kind.HOUSING:
        raise Refused("Only the guide bushing housing has a guide bushing.")
    return Rebuild.objects.create(
        assembly=assembly, visit=visit, made_by=made_by, **account, **identified(entry_id)
    )
