"""Names the person of a request to the trail."""

import uuid

from .actor import acting


class NameTheActor:
    """Middleware: what is changed while a request is answered was changed by its person.

    Stands after authentication. Each request gets an id that its changes share.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.request_id = uuid.uuid4().hex
        via = "" if request.user.is_authenticated else "somebody not signed in"
        with acting(who=request.user.pk, via=via, request_id=request.request_id):
            return self.get_response(request)
