"""What every answer tells the browser to refuse (CSP Level 3, Permissions Policy; W3C), and that it
keeps no answer that was for somebody signed in (RFC 9111, 5.2.2.5)."""

from django.conf import settings
from django.contrib.auth import SESSION_KEY

# A document that is no page runs nothing; a PDF's viewer needs no more than that.
OTHERS = "frame-ancestors 'none'"


class SafetyHeaders:
    """Middleware: the content security policy and the permissions policy."""

    def __init__(self, get_response):
        self.get_response = get_response
        self.pages = "; ".join(f"{what} {where}" for what, where in settings.PAGE_POLICY.items())

    def __call__(self, request):
        response = self.get_response(request)
        kind = response.headers.get("Content-Type", "")
        policy = self.pages if kind.startswith("text/html") else OTHERS
        if kind.startswith("image/"):
            policy = f"default-src 'none'; style-src 'unsafe-inline'; {OTHERS}"
        response.headers.setdefault("Content-Security-Policy", policy)
        response.headers.setdefault("Permissions-Policy", settings.PERMISSIONS_POLICY)
        if _is_for_somebody(request):
            response.headers.setdefault("Cache-Control", "no-store")
        return response


def _is_for_somebody(request):
    """Whether somebody signed in asked; what never looked at its session was for nobody.

    What a device keeps on purpose its service worker keeps, which goes by a list of its own.
    """
    session = getattr(request, "session", None)
    return session is not None and session.accessed and SESSION_KEY in session
