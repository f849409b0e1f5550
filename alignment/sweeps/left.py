"""What a visit left a machine with, for a sheet of its own."""

from .chain_view import chain_at


def figures_left(machine, visit):
    """{pk of an item: the figure it was left with, in µm} of a machine at a visit.

    Only what was measured there and is not stale since: as left, or as found where nothing was
    moved.
    """
    return {
        one.item.pk: one.final.told_um
        for state in chain_at(machine, visit)
        for one in state.items
        if one.final and one.final.visit_id == visit.pk
    }
