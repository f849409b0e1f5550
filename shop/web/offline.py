"""What lets pages open and entries wait while there is no network."""

import json

from django.contrib.auth.decorators import login_not_required
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

# The pages that are kept on the device once opened, as patterns of their addresses.
KEPT_PAGES = [
    r"^/$",
    r"^/waiting/$",
    r"^/machines/\d+/$",
    r"^/machines/\d+/incidents/new/$",
    r"^/machines/\d+/stop/$",
    r"^/belts/\d+/inspect/$",
    r"^/visits/\d+/$",
    r"^/visits/\d+/items/\d+/sweep/$",
]
# Those of them that stand ready as soon as a page links to them, before anybody opens them.
KEPT_BEFORE_OPENED = [
    r"^/machines/\d+/stop/$",
    r"^/visits/\d+/items/\d+/sweep/$",
    r"^/belts/\d+/inspect/$",
]


@login_not_required
@never_cache
@require_safe
def service_worker(request):
    """The script that answers for the site when there is no network.

    It stands at the root of the site because it may answer only for what lies below it.
    """
    return render(
        request,
        "shop/service-worker.js",
        {
            "kept_pages": json.dumps(KEPT_PAGES),
            "kept_before_opened": json.dumps(KEPT_BEFORE_OPENED),
        },
        content_type="text/javascript",
    )


@login_not_required
@require_safe
def manifest(request):
    """What a phone puts on its home screen: the site as an app (W3C, Web App Manifest)."""
    return render(request, "shop/manifest.json", content_type="application/manifest+json")


@require_safe
def waiting(request):
    """What waits on this device to be sent, and what was refused; a script fills the list in."""
    return render(request, "shop/waiting.html")
