"""The machines on the first page."""

from shop.hooks import Panel

from .models import Machine

MACHINES = Machine.objects.select_related("shop").with_stop_state()
MACHINES_ON_HOME = 12


def home_machines(request):
    """The person's machines, the stopped ones first."""
    shown = (
        Machine.objects.visible_to(request.user)
        .select_related("shop")
        .with_stop_state()
        .order_by("-stopped", "shop__name", "number")
    )
    first = list(shown[: MACHINES_ON_HOME + 1])
    return Panel(
        "machines/panels/home_machines.html",
        {"machines": first[:MACHINES_ON_HOME], "more": len(first) > MACHINES_ON_HOME},
    )
