"""Pages of what should be replaced and what was found."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Prefetch
from django.shortcuts import redirect, render

from machines.drive.forms import AdviceForm, FitForm
from machines.drive.forms_at_visits import STEPS_OF, StepForm, ToldStepForm
from machines.drive.models import Recommendation, RecommendationStep, Removal
from machines.drive.recommending import take_step
from machines.drive.services import advise_by_hand, fit_advised
from machines.register.models import Machine
from shop.people.access import DESK, demand, find, place_at, role_at
from shop.people.models import Role
from shop.people.telling import enter, told_in
from shop.web.errors import Refused

RECOMMENDATIONS = Recommendation.objects.select_related(
    "machine__shop", "visit", "part", "belt", "bearing", "made_by"
).prefetch_related(
    "evidence__record",
    Prefetch("steps", RecommendationStep.objects.with_told().select_related("fitting__part")),
)
State = RecommendationStep.State
# The form of what the owner decided and told; the others go by the state they lead to.
TOLD_DECISION = "told"


def recommendation(request, pk):
    """One recommendation: why, on what evidence, what became of it, and the next step."""
    found = find(RECOMMENDATIONS, request.user, pk=pk)
    role = role_at(request.user, found.machine.shop)
    if request.method == "POST" and role not in STEPS_OF:
        raise PermissionDenied
    steps = found.steps.all()
    settled = any(step.state in RecommendationStep.SETTLED for step in steps)
    forms = {}
    if role in STEPS_OF and not (settled and request.method != "POST"):
        forms = _forms(request, found, role)
        for name, form in forms.items():
            if form.is_bound and form.is_valid() and _taken(request, found, name, form):
                return redirect(found)
    return render(
        request,
        "machines/recommendation.html",
        {
            "recommendation": found,
            "machine": found.machine,
            "machine_url": found.machine.get_absolute_url(),
            "steps": steps,
            "price": _price(found, steps),
            "settled": settled,
            "forms": forms,
            "form": next((form for form in forms.values() if form.is_bound), None),
            "may_decide": role == Role.OWNER,
            "stop_it": found.urgency == Recommendation.Urgency.BEFORE_RUN
            and not settled
            and not found.machine.is_stopped,
        },
    )


def _forms(request, recommendation, role):
    """The forms on the page by name: what the owner decides, or that it is ordered, fitted, done.

    Each is sent with the state it leads to, what was told with who told it; the one that was sent
    is bound.
    """
    sent = request.POST.get("state")
    if role == Role.OWNER:
        return {"decide": StepForm(request.POST or None, states=STEPS_OF[role])}
    fitted = State.DONE if recommendation.place is None else State.FITTED
    is_told = "told_by" in request.POST or sent in STEPS_OF[Role.OWNER]
    told, sent = (request.POST, None) if is_told else (None, sent)
    way = _way_to_here(recommendation, sent)
    forms = {way.value: _step_form(request, sent, way)}
    if fitted == State.FITTED:
        forms[fitted.value] = _fit_form(request, recommendation, sent)
    else:
        forms[fitted.value] = _step_form(request, sent, fitted)
    shop = recommendation.machine.shop
    forms[TOLD_DECISION] = ToldStepForm(told, shop=shop, auto_id="id_told_%s")
    if request.method == "POST" and not any(form.is_bound for form in forms.values()):
        forms[way.value] = StepForm(request.POST, states=[way])
    return forms


def _way_to_here(recommendation, sent):
    """The step of its way to the shop that is sent, or comes next: ordered, then arrived."""
    if sent in (State.ORDERED, State.ARRIVED):
        return State(sent)
    taken = [step.state for step in recommendation.steps.all()]
    return State.ARRIVED if taken and taken[-1] == State.ORDERED else State.ORDERED


def _step_form(request, sent, state):
    return StepForm(request.POST if sent == state else None, states=[state])


def _fit_form(request, recommendation, sent):
    return FitForm(
        request.POST if sent == State.FITTED else None,
        machine=recommendation.machine,
        user=request.user,
        initial={
            "part": recommendation.part_id,
            "quantity": recommendation.quantity,
            "why": Removal.Why.WORN,
        },
    )


def _price(recommendation, steps):
    """The price of one: as approved, else as the register has it now; None where unknown."""
    approved = [step.unit_price for step in steps if step.unit_price is not None]
    if approved:
        return approved[-1]
    return recommendation.part and recommendation.part.price


def _taken(request, recommendation, name, form):
    """Take the step; False, with the reason on the form, when it is refused."""
    given = form.cleaned_data
    entered = {
        "made_by": request.user,
        "note": given["note"],
        "entry_id": given["entry_id"],
    }
    try:
        if name == TOLD_DECISION:
            step = _told_step(request, recommendation, form, entered)
        elif name == State.FITTED:
            step = fit_advised(recommendation, visit=given.get("visit"), **entered, **form.what)
        else:
            step = take_step(recommendation, given["state"], **entered)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    messages.success(request, f"{recommendation.what}: {step.get_state_display()}.")
    return True


@transaction.atomic
def _told_step(request, recommendation, form, entered):
    """The step that the owner decided and told; the answer and the step are kept together."""
    given, shop = form.cleaned_data, recommendation.machine.shop
    firm = place_at(request.user, shop.pk).firm
    what = f"{recommendation.what}, machine {recommendation.machine.number}: {given['state']}"
    told = enter(told_in(form, firm), shop=shop, what=what, made_by=request.user)
    return take_step(recommendation, given["state"], told=told, price=given["price"], **entered)


def recommend(request, pk):
    """Recommend a replacement that no rule has thought of."""
    machine = find(Machine.objects.select_related("shop").with_stop_state(), request.user, pk=pk)
    demand(request.user, machine.shop, DESK)
    form = AdviceForm(
        request.POST or None,
        machine=machine,
        user=request.user,
    )
    if form.is_valid():
        given = form.cleaned_data
        try:
            return redirect(
                advise_by_hand(
                    machine=machine,
                    made_by=request.user,
                    visit=given.get("visit"),
                    entry_id=given["entry_id"],
                    **form.advice,
                )
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "machines/recommend.html", {"machine": machine, "form": form})
