"""What planning in the ground app shows on the first page."""

from shop.hooks import Panel

from .reminders import proposals_to_answer


def proposals_waiting(request):
    """Proposals of a visit that wait for this person's answer; none without one."""
    waiting = proposals_to_answer(request.user)
    if not waiting:
        return None
    return Panel("shop/panels/proposals.html", {"waiting": waiting})
