"""Middleware for devices that people share at the machines."""

from django.conf import settings
from django.contrib.auth import logout
from django.http import Http404
from django.shortcuts import redirect, resolve_url
from django.utils.http import urlencode

from .pages import may_open
from .services import device_of_secret, note_use, people_of
from .sessions import COOKIE, DEVICE, is_stay


class SharedDevices:
    """Hold a stay at a shared device to logging at its shop, and lead others there to the names.

    Sets `request.shared_device` for whoever stays at one or is signed in nowhere on one. A stay
    ends at once where its device was taken back or the person is no longer of the shop.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.shared_device = None
        staying = is_stay(request)
        if staying or not request.user.is_authenticated:
            request.shared_device = _device(request)
        if staying:
            self._go_on(request)
        return self.get_response(request)

    def _go_on(self, request):
        device = request.shared_device
        known = device is not None and device.pk == request.session[DEVICE]
        if not known or not people_of(device.shop).filter(pk=request.user.pk).exists():
            logout(request)
            return
        note_use(device)
        request.session.modified = True  # so that it ends a while after the last thing done

    def process_view(self, request, view, args, kwargs):
        device = request.shared_device
        if device is None:
            return None
        if not request.user.is_authenticated:
            return _to_the_names(request, view)
        if may_open(device.shop, request.resolver_match):
            return None
        if request.method == "GET":
            return redirect(settings.SHARED_DEVICE_HOME)
        raise Http404("not at a shared device")


def _device(request):
    secret = request.COOKIES.get(COOKIE)
    return device_of_secret(secret) if secret else None


def _to_the_names(request, view):
    """Whoever opens a page that needs a person is asked who they are, and comes back."""
    if request.method != "GET" or not getattr(view, "login_required", True):
        return None
    return redirect(f"{resolve_url('shop:device')}?{urlencode({'next': request.get_full_path()})}")
