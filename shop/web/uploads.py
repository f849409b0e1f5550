"""How much may be sent to an address: refused by what is declared, and by what is counted, before
any of it is written to the disk."""

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadhandler import FileUploadHandler
from django.shortcuts import render

from .listing import whole_number

READING = ("GET", "HEAD", "OPTIONS")


class UploadCeiling:
    """Middleware: refuse what is larger than an address takes; stands before what reads forms."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        if request.method in READING:
            return None
        declared = whole_number(request.META.get("CONTENT_LENGTH", "")) or 0
        most = settings.MOST_FROM_STRANGERS
        if declared > most:
            # Only then is it worth a question who sends it.
            most = _most_bytes(request, view)
        if declared > most:
            answer = render(request, "413.html", {"most_mb": most / 1e6}, status=413)
            # What was not read must not be taken for the next request.
            answer["Connection"] = "close"
            return answer
        request.upload_handlers.insert(0, Counting(most, request))
        return None


def _most_bytes(request, view):
    """The most that whoever asks may send to a view."""
    named = settings.MOST_SENT_TO.get(request.resolver_match.view_name)
    if not getattr(view, "login_required", True):
        return named or settings.MOST_FROM_STRANGERS
    if request.user.is_authenticated:
        return named or settings.MOST_SENT
    return settings.MOST_FROM_STRANGERS


class Counting(FileUploadHandler):
    """Counts the bytes of files as they come, whatever was declared; stands first of the handlers,
    so that nothing is written that is over the ceiling."""

    def __init__(self, most, request=None):
        super().__init__(request)
        self.left = most

    def receive_data_chunk(self, raw_data, start):
        self.left -= len(raw_data)
        if self.left < 0:
            raise RequestDataTooBig("more was sent than was declared")
        return raw_data

    def file_complete(self, file_size):
        return None
