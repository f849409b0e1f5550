"""Pages of visits, and the first page."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET, require_POST

from shop.hooks import from_above, hooks, panels
from shop.paper.views import issued_file
from shop.people.access import DESK, demand_work, find, role_at, works_at
from shop.people.editing import editing, stamped
from shop.people.models import TOLD, Shop
from shop.snapshots import with_generation
from shop.snapshots.pages import standing_as_read, standing_for
from shop.visits import services
from shop.visits.come_back import note_for_a_day
from shop.visits.first_steps import first_steps
from shop.visits.forms import ComeBackForm, CorrectForm, SignForm
from shop.visits.models import Visit
from shop.visits.reporting import build_report
from shop.visits.tables import VisitTable
from shop.visits.withdrawing import withdrawn_at_visit
from shop.web.errors import Refused
from shop.web.listing import arrange, csv_of, wants_csv

VISITS_ON_HOME = 8


@require_GET
def home(request):
    """Where the person stands today: what the home panels say, and the visits not signed yet."""
    person = request.user
    today = standing_for(person).keep(lambda: _today(request), "home", person.length_unit)
    return render(
        request,
        "shop/home.html",
        {
            **today,
            "first_steps": first_steps(person, today),
            "firms": person.firm_memberships.current().select_related("firm"),
        },
    )


def _today(request):
    visits = Visit.objects.visible_to(request.user).unsigned().select_related("shop", "contractor")
    shops = list(Shop.objects.visible_to(request.user))
    return {
        "shops": shops,
        "date": f"{shops[0].today:%a} {shops[0].today.day} {shops[0].today:%b}" if shops else "",
        "visits": list(visits[:VISITS_ON_HOME]),
        "unsigned": visits.count(),
        "panels": panels(settings.HOME_PANELS, request),
        "has_machines": from_above("has machines")(request.user),
    }


@require_GET
def visits(request):
    """Every visit the person may see; as CSV when asked."""
    seen = Visit.objects.visible_to(request.user).select_related("shop", "contractor")
    table = arrange(request, VisitTable(seen))
    if wants_csv(request):
        return csv_of(table, "visits")
    return render(request, "shop/visits.html", {"table": table})


VISITS = Visit.objects.select_related(
    "shop", "firm", "contractor", "corrects", *(f"day_told__{name}" for name in TOLD)
)
AS_READ = with_generation(VISITS)


@require_GET
def visit(request, pk):
    """One visit: what is done at it and what it still lacks."""
    found = find(AS_READ, request.user, pk=pk)
    standing = standing_as_read(found, found.shop)
    planned = found.state == Visit.State.PLANNED
    works = works_at(request.user, found)
    return render(
        request,
        "shop/visit.html",
        {
            **standing.keep(lambda: _on_record(found), "visit", found.pk),
            "visit": found,
            "panels": panels(settings.VISIT_PANELS, found, request),
            "may_work": works and not found.is_called_off,
            "not_signed_yet": found.arrived_at and not found.is_signed and not works,
            "may_call_off": planned and role_at(request.user, found.shop) in DESK,
        },
    )


def _on_record(visit):
    over = visit.is_signed or visit.is_called_off
    return {
        "lacks": [] if over else services.lacks(visit),
        "withdrawn": withdrawn_at_visit(visit),
        "signatures": list(visit.signatures.all()),
        "signed_records": list(visit.signed_records.defer("said")) if visit.is_signed else [],
        "corrections": list(visit.corrections.all()),
    }


@require_POST
def arrive(request, pk):
    """Start the work on site."""
    found = _worked_on(request, pk)
    _try(request, services.arrive, found)
    return redirect(found)


@editing
def come_back(request, pk):
    """Write down what is left undone."""
    found = _worked_on(request, pk)
    form = ComeBackForm(request.POST or None, instance=found)
    stamped(request, form, found)
    if form.is_valid():
        try:
            given = {name: form.cleaned_data[name] for name in ("come_back_for", "back_on")}
            note_for_a_day(found, made_by=request.user, **given)
            return redirect(found)
        except Refused as refusal:
            form.add_error("come_back_for", str(refusal))
    return render(request, "shop/come_back.html", {"visit": found, "form": form})


def sign(request, pk):
    """Sign a visit for both parties and issue its report."""
    found = _worked_on(request, pk)
    missing = services.lacks(found)
    form = SignForm(
        request.POST or None,
        initial={"contractor_name": request.user.name, "come_back_for": found.come_back_for},
        is_whole=not any(lack.may_wait for lack in missing),
    )
    if form.is_valid():
        given = form.cleaned_data
        try:
            services.sign_and_issue(
                found,
                contractor=_signed_by(given, "contractor"),
                customer=_signed_by(given, "customer"),
                come_back_for=given.get("come_back_for", ""),
            )
            messages.success(request, f"Visit {found.number} is signed and its report is issued.")
            return redirect(found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {"visit": found, "form": form, "lacks": missing}
    return render(request, "shop/sign.html", context)


def _signed_by(given, party):
    """(name, role, strokes) of a party as the form gave them."""
    return tuple(given[f"{party}_{part}"] for part in ("name", "role", "strokes"))


def correct(request, pk):
    """Open the correction of a signed visit."""
    found = _worked_on(request, pk)
    form = CorrectForm(request.POST or None)
    if form.is_valid():
        firm = request.user.memberships.current().get(shop=found.shop).firm
        try:
            correction = services.correct_visit(
                found, made_by=request.user, firm=firm, **form.cleaned_data
            )
            for follow in hooks(settings.AFTER, about="opening a correction"):
                follow(correction)
            return redirect(correction)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "shop/correct.html", {"visit": found, "form": form})


@require_GET
def report(request, pk):
    """The issued report of a signed visit, else a draft of it."""
    found = find(VISITS, request.user, pk=pk)
    issued = found.documents.filter(kind="service report").first()
    if issued:
        return issued_file(request, issued)
    if found.came_from:
        return render(request, "shop/no_report.html", {"visit": found}, status=422)
    return HttpResponse(
        build_report(found),
        content_type="application/pdf",
        headers={
            "Content-Disposition": content_disposition_header(False, f"SR-{found.number}-draft.pdf")
        },
    )


def _worked_on(request, pk):
    """The visit, for somebody who may work at it."""
    found = find(VISITS, request.user, pk=pk)
    demand_work(request.user, found)
    return found


def _try(request, service, *args, **kwargs):
    """Call a service; what it refuses becomes a message on the next page."""
    try:
        return service(*args, **kwargs)
    except Refused as refusal:
        messages.error(request, str(refusal))
