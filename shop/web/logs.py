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

# The pages whose addresses take words that are no secrets: parts of pages, kinds, codes on paper.
PLAIN_WORDS = {
    "shop:firm_form",
    "shop:changes",
    "shop:check",
    "machines:at_machine",
    "machines:kind",
    "machines:kind_picture",
    "shop:withdraw",
    "shop:restore",
    "alignment:way",
    "alignment:drop_way",
}


def address_in_log(request):
    """The path of a request without the secrets in it: once it is known which page it leads to,
    whatever words the page's address takes are masked unless they are listed as plain ones; what
    looks like a secret is masked in any case."""
    match = getattr(request, "resolver_match", None)
    path = request.path
    if match is not None and match.view_name not in PLAIN_WORDS:
        for word in match.kwargs.values():
            if isinstance(word, str):
                path = path.replace(word, MASK)
    return mask(path)


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
            "says": self._words(record),
            "request": self._request_of(record),
            **getattr(record, "facts", {}),
        }
        if record.exc_info:
            said["trace"] = mask(self.formatException(record.exc_info))
        return json.dumps({name: value for name, value in said.items() if value is not None})

    def _words(self, record):
        words = record.getMessage()
        asked = getattr(record, "request", None)
        if hasattr(asked, "path"):
            words = words.replace(asked.path, address_in_log(asked))
        return mask(words)

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
