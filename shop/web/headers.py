"""What every answer tells the browser to refuse (CSP Level 3, Permissions Policy; W3C)."""

from django.conf import settings

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
        # What somebody saw who signed in is not left to whoever has the browser next; what is kept
        # on purpose says so itself. Asking who it is would cost pages that need nobody a query.
        user = getattr(request, "_cached_user", None)
        if user is not None and user.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store, private")
        return response
