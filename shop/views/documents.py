"""Pages of issued documents: the file, and the check whether a file is the one that was issued."""

from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, Http404
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ..access import find
from ..forms import CheckFileForm
from ..issuing import is_the_issued_file
from ..models import Document
from ..wording import day_text

DOCUMENTS = Document.objects.select_related("shop", "firm", "visit", "statement", "quote")


@require_safe
def document(request, pk):
    """The file as it was issued."""
    found = find(DOCUMENTS, request.user, pk=pk)
    return issued_file(found)


def issued_file(document):
    """A stored document as the answer to a request."""
    try:
        content = document.file.open()
    except FileNotFoundError as error:
        raise Http404("the file of this document is gone") from error
    return FileResponse(
        content,
        content_type="application/pdf",
        filename=document.file_name,
        headers={"X-Content-Type-Options": "nosniff"},
    )


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
