"""Pages of what should be replaced and what was found."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render

from shop.access import CONTRACTOR, demand, find, role_at
from shop.errors import Refused
from shop.models import Role

from ..forms import STEPS_OF, FindingsForm, StepForm
from ..models import Recommendation, RecommendationStep, VisitedMachine
from ..services import note_findings, take_step

RECOMMENDATIONS = Recommendation.objects.select_related(
    "machine__shop", "visit", "part", "made_by"
).prefetch_related("evidence__record", "steps__made_by")


def recommendation(request, pk):
    """One recommendation: why, on what evidence, what became of it, and the next step."""
    found = find(RECOMMENDATIONS, request.user, pk=pk)
    role = role_at(request.user, found.machine.shop)
    if request.method == "POST" and role not in STEPS_OF:
        raise PermissionDenied
    steps = found.steps.all()
    settled = any(step.state in RecommendationStep.SETTLED for step in steps)
    form = None
    if role in STEPS_OF and not (settled and request.method != "POST"):
        form = StepForm(request.POST or None, role=role)
        if form.is_valid() and _taken(request, found, form):
            return redirect(found)
    return render(
        request,
        "machines/recommendation.html",
        {
            "recommendation": found,
            "machine": found.machine,
            "machine_url": found.machine.get_absolute_url(),
            "steps": steps,
            "settled": settled,
            "form": form,
            "may_decide": role == Role.OWNER,
            "stop_it": found.urgency == Recommendation.Urgency.BEFORE_RUN
            and not settled
            and not found.machine.is_stopped,
        },
    )


def _taken(request, recommendation, form):
    """Take the step; False, with the reason on the form, when it is refused."""
    given = form.cleaned_data
    try:
        step = take_step(
            recommendation,
            given["state"],
            made_by=request.user,
            note=given["note"],
            entry_id=given["entry_id"],
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    messages.success(request, f"{recommendation.what}: {step.get_state_display()}.")
    return True


def findings(request, pk):
    """What was found at a machine visited, in words."""
    visited = find(
        VisitedMachine.objects.select_related("visit__shop", "machine__shop", "incident"),
        request.user,
        pk=pk,
    )
    demand(request.user, visited.machine.shop, CONTRACTOR)
    form = FindingsForm(request.POST or None, initial={"findings": visited.findings})
    if form.is_valid():
        try:
            note_findings(visited, form.cleaned_data["findings"])
            return redirect(visited.visit)
        except Refused as refusal:
            form.add_error("findings", str(refusal))
    return render(
        request,
        "machines/findings.html",
        {
            "visited": visited,
            "machine": visited.machine,
            "machine_url": visited.machine.get_absolute_url(),
            "form": form,
        },
    )
