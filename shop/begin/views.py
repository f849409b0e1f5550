"""The first page of a site without people, and the page that leads a phone through trusting it."""

from pathlib import Path

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_safe

from shop.web.errors import Refused

from . import services
from .certificate import AUTHORITY, fingerprint
from .forms import BeginForm

# Accounts made here sign in by the site's own backend, not by the one that counts failures.
BACKEND = "django.contrib.auth.backends.ModelBackend"


@login_not_required
@never_cache
@sensitive_post_parameters("password", "again")
def begin(request, token=""):
    """Who you are and what your firm or shop is; closed for good once somebody has begun."""
    if not services.is_unbegun():
        return redirect("shop:home")
    if not (services.is_token(token) or services.is_at_the_machine(request)):
        return render(request, "shop/begin_elsewhere.html", status=403)
    form = BeginForm(request.POST or None)
    if form.is_valid():
        person = form.person()
        try:
            business = services.begin(
                person=person, business=form.made(), kind=form.cleaned_data["kind"]
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            login(request, person, backend=BACKEND)
            messages.success(request, f"{business} is made, and you are signed in.")
            return redirect("shop:home")
    return render(request, "shop/begin.html", {"form": form})


def _authority():
    """The certificate that phones are to trust; None where the site has none of its own making."""
    return Path(settings.OWN_CERTIFICATE) / AUTHORITY if settings.OWN_CERTIFICATE else None


@login_not_required
@require_safe
def trust(request):
    """How a phone is told, once, to trust this site."""
    own = _authority()
    context = {"address": settings.SITE_ADDRESS, "fingerprint": own and fingerprint(own)}
    return render(request, "shop/trust.html", context)


@login_not_required
@require_safe
def authority(request):
    """The certificate itself, as phones take it."""
    own = _authority()
    if own is None:
        return redirect("shop:trust")
    return FileResponse(
        own.open("rb"),
        content_type="application/x-x509-ca-cert",
        as_attachment=True,
        filename="sweepbook.crt",
    )
