"""The log as JSON lines, one object a line, without secrets.

Knows nothing of Django, so that the server that starts the site can be told of it too.
"""

import contextvars
import json
import logging
import re
from datetime import UTC, datetime

MASK = "***"
# The request that is being answered, as its lines in the log name it.
request_id = contextvars.ContextVar("request_id", default=None)

# A word that names a secret with what follows it; a password in an address; and a long part of a
# path, as in the private addresses of calendars, invitations and new passwords.
_NAMED = re.compile(
    r"(?i)\b(\w*(?:password|passwd|secret|token|api_?key|authorization|cookie|sessionid)\w*)"
    r"(['\"]?\s*[=:]\s*)(?:\"[^\"]*\"|'[^']*'|(?:bearer|basic)\s+\S+|[^\s,;&}\])]+)"
)
_IN_ADDRESS = re.compile(r"(?<=://)([^\s/:@]*):[^\s/@]+@")
_LONG_PART = re.compile(r"(?<=/)[A-Za-z0-9_=-]{20,}(?![A-Za-z0-9_=-])")


def mask(text):
    """`text` with whatever looks like a secret replaced by asterisks."""
    text = _NAMED.sub(rf"\1\2{MASK}", text)
    text = _IN_ADDRESS.sub(rf"\1:{MASK}@", text)
    return _LONG_PART.sub(MASK, text)


class JsonLines(logging.Formatter):
    """One record as one line: line breaks and control characters in it are escaped."""

    def format(self, record):
        said = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "says": mask(record.getMessage()),
            "request": self._request_of(record),
            **getattr(record, "facts", {}),
        }
        if record.exc_info:
            said["trace"] = mask(self.formatException(record.exc_info))
        return json.dumps({name: value for name, value in said.items() if value is not None})

    def _request_of(self, record):
        """Django hands over the request with what it says once the answer is on its way."""
        handed_over = getattr(record, "request", None)
        return getattr(handed_over, "log_id", None) or request_id.get()


# For logging.config.dictConfig: everything to standard error, through one handler.
JSON_LINES = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"lines": {"()": "shop.web.logs.JsonLines"}},
    "handlers": {"lines": {"class": "logging.StreamHandler", "formatter": "lines"}},
    "root": {"handlers": ["lines"], "level": "INFO"},
    "loggers": {
        "django": {"handlers": [], "level": "INFO", "propagate": True},
        "gunicorn.error": {"handlers": [], "level": "INFO", "propagate": True},
        "gunicorn.access": {"handlers": [], "level": "WARNING", "propagate": True},
    },
}
