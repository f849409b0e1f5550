"""Pages of issued documents: the file, and the check whether a file is the one that was issued."""

from datetime import timedelta
from io import BytesIO

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, Http404
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from shop.people.access import CONTRACTOR, demand, find
from shop.people.rate_limit import once_more
from shop.web.mailing import on_its_way
from shop.web.site_key import in_groups, public_key
from shop.web.wording import day_text

from .forms import CheckFileForm, SendForm
from .issuing import NotAsIssued, is_the_issued_file, issued_content
from .models import Document
from .sending import send_document, with_states

# Mails of documents that one person sends to addresses outside the shop.
MOST_OUTSIDE_A_DAY = 20
DOCUMENTS = Document.objects.select_related("shop", "firm", "visit", "statement", "quote")


@require_safe
def document(request, pk):
    """The file as it was issued."""
    found = find(DOCUMENTS, request.user, pk=pk)
    return issued_file(request, found)


def issued_file(request, document):
    """A stored document as the answer to a request, as long as it is the one that was issued."""
    try:
        content = issued_content(document)
    except FileNotFoundError as error:
        raise Http404("the file of this document is gone") from error
    except NotAsIssued:
        return render(request, "shop/not_as_issued.html", {"document": document}, status=422)
    return FileResponse(
        BytesIO(content),
        content_type="application/pdf",
        filename=document.file_name,
        headers={"X-Content-Type-Options": "nosniff"},
    )


def send(request, pk):
    """Mail a document to the shop's people; below stands what went to whom."""
    found = find(DOCUMENTS, request.user, pk=pk)
    demand(request.user, found.shop, CONTRACTOR)
    form = SendForm(request.POST or None, shop=found.shop)
    if form.is_valid() and _may_go(request, form, found):
        sent = send_document(
            found,
            to=form.recipients(),
            made_by=request.user,
            message=form.cleaned_data["message"],
            entry_id=form.cleaned_data["entry_id"],
        )
        for one in sent:
            messages.success(request, on_its_way(one.to_address))
        return redirect("shop:send", pk=found.pk)
    log = with_states(found.sendings.select_related("made_by"))
    return render(request, "shop/send.html", {"document": found, "form": form, "log": log})


def _may_go(request, form, document):
    """Whether the document is there and as issued, and the person mails no crowd outside the shop;
    what is wrong is said on the form."""
    try:
        issued_content(document)
    except FileNotFoundError:
        form.add_error(None, "The file of this document is gone; whoever keeps the site was told.")
    except NotAsIssued:
        form.add_error(None, "Its file is not the one that was issued, so it is not sent.")
    if form.goes_outside() and not once_more(
        f"mail outside by {request.user.pk}", most=MOST_OUTSIDE_A_DAY, within=timedelta(days=1)
    ):
        sent = f"{MOST_OUTSIDE_A_DAY} mails went to other addresses within a day"
        form.add_error("other", f"{sent}; send more tomorrow.")
    return form.is_valid()


@login_not_required
def check(request, code):
    """Whether a file is the one that was issued, for whoever holds the document.

    The page says no more than the document's own head does: kind, number, firm and day.
    """
    found = DOCUMENTS.filter(code=code.upper()).first()
    if found is None:
        return render(request, "shop/check.html", status=404)
    form = CheckFileForm(request.POST or None, request.FILES or None)
    context = {
        "document": found,
        "issued_on": day_text(found.issued_at.astimezone(found.shop.zone)),
        "later": _corrected_by(found),
        "form": form,
        "site_key": in_groups(public_key()),
    }
    if form.is_valid():
        file = form.cleaned_data["file"]
        context |= {"same": is_the_issued_file(found, file), "file_name": file.name}
    return render(request, "shop/check.html", context)


def _corrected_by(document):
    """What was issued since in place of this document, in words; empty when it stands."""
    if document.kind == Document.Kind.REPORT:
        visits = document.visit.corrections.filter(signed_at__isnull=False)
        return ", ".join(f"service report SR-{visit.number}" for visit in visits)
    if document.kind == Document.Kind.STATEMENT:
        return ", ".join(str(note) for note in document.statement.credit_notes.all())
    return ""
