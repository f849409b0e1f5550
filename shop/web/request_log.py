"""Every request has a name of its own, by which its lines in the log are found."""

import logging
import re
import time
import uuid

from .logs import address_in_log, request_id

HEADER = "X-Request-ID"
logger = logging.getLogger("sweepbook.requests")
# What a proxy in front may have named it; anything else is not taken over.
_ACCEPTED = re.compile(r"[A-Za-z0-9-]{8,64}")


class RequestLog:
    """Middleware: name the request, and log what was asked and answered. Stands first in the list.

    The query is not logged, since what people search for stays with them.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        named = request.headers.get(HEADER, "")
        name = named if _ACCEPTED.fullmatch(named) else uuid.uuid4().hex
        request.log_id = name
        token = request_id.set(name)
        began = time.monotonic()
        try:
            response = self.get_response(request)
            self._log(request, response, time.monotonic() - began)
        finally:
            request_id.reset(token)
        response[HEADER] = name
        return response

    def _log(self, request, response, seconds):
        # Asking `request.user` would cost pages that need nobody a query; this is set once asked.
        user = getattr(request, "_cached_user", None)
        facts = {
            "method": request.method,
            "path": address_in_log(request),
            "status": response.status_code,
            "ms": round(seconds * 1000),
            "person": user.pk if user else None,
        }
        logger.info("%s %s", request.method, facts["path"], extra={"facts": facts})
