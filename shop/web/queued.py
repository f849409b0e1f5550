"""Entries that a page kept on the device until there was a connection.

A script sends them with the person who made them in a header. It cannot follow a redirect and tell
what it means, so what a view answers is put in terms it can act on.
"""

from django.conf import settings
from django.http import JsonResponse
from django.shortcuts import resolve_url

MADE_BY = "X-Entry-Made-By"


class QueuedEntries:
    """Middleware: tell a script whether the entry it sent was saved, refused, or must wait.

    200 saved, with the address of what was saved; 401 sign in first; 409 somebody else is signed
    in; 422 the form refused it, with the page that says why. Other answers stay as they are.
    Stands last in the list, so that messages and cookies are added to the answer it gives.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        made_by = request.headers.get(MADE_BY)
        if request.method != "POST" or made_by is None:
            return self.get_response(request)
        if not request.user.is_authenticated:
            return JsonResponse({"sign_in": resolve_url(settings.LOGIN_URL)}, status=401)
        if made_by != str(request.user.pk):
            return JsonResponse({"signed_in": request.user.name}, status=409)
        return _told(self.get_response(request))


def _told(response):
    if 300 <= response.status_code < 400:
        saved = JsonResponse({"saved": response.url})
        saved.cookies = response.cookies
        return saved
    if response.status_code == 200:
        response.status_code = 422
    return response
