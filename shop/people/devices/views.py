"""Pages of shared devices: the owner's list, the browser's set-up, the names, and PINs."""

import segno
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.decorators import login_not_required
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from shop.people.access import demand_owner, find
from shop.people.models import Pin, Role, SharedDevice, Shop
from shop.web.errors import Refused
from shop.web.served import absolute

from . import services
from .forms import DeviceCodeForm, DeviceForm, NewPinForm, PinForm
from .sessions import COOKIE, begin, is_stay, keep_secret

DEVICES = SharedDevice.objects.select_related("shop", "made_by")


def devices(request, pk):
    """The devices the shop's people may share, and the form to allow one more."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand_owner(request.user, shop)
    form = DeviceForm(request.POST or None)
    if form.is_valid():
        try:
            made = services.allow_device(shop=shop, made_by=request.user, **form.cleaned_data)
            return _with_code(request, made)
        except Refused as refusal:
            form.add_error("name", str(refusal))
    return render(
        request,
        "shop/devices.html",
        {
            "shop": shop,
            "form": form,
            "devices": DEVICES.filter(shop=shop).allowed(),
            "taken_back": DEVICES.filter(shop=shop, revoked_at__isnull=False).order_by(
                "-revoked_at"
            )[:10],
            "people": services.people_of(shop),
        },
    )


@require_POST
def device_code(request, pk):
    """A fresh code for a device, to set it up or to set it up anew."""
    return _with_code(request, _owned(request, pk))


@never_cache
def _with_code(request, device):
    """The code, shown once: to open as a link, to scan, to type."""
    try:
        code = services.new_code(device)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("shop:devices", device.shop_id)
    address = absolute(reverse("shop:device_set_up", args=[code]))
    picture = segno.make(address, error="m").svg_inline(omitsize=True, border=4, light="#fff")
    return render(
        request,
        "shop/device_code.html",
        {
            "device": device,
            "shop": device.shop,
            "code": f"{code[:5]} {code[5:]}",
            "address": address,
            "typed_at": absolute(reverse("shop:device")),
            "picture": mark_safe(picture),
            "minutes": int(services.CODE_LASTS.total_seconds() // 60),
        },
    )


@require_POST
def revoke_device(request, pk):
    """Let a device be one no longer."""
    device = _owned(request, pk)
    services.revoke_device(device, by=request.user)
    messages.success(request, f"{device} is no shared device any longer.")
    return redirect("shop:devices", device.shop_id)


def _owned(request, pk):
    device = find(DEVICES, request.user, pk=pk)
    demand_owner(request.user, device.shop)
    return device


@login_not_required
@never_cache
def set_up(request, code):
    """Make this browser the device the code is for; asks first, since a code works once."""
    device = services.device_of_code(code)
    if device is None:
        raise Http404("no such code, or it was used or is too old")
    if request.method == "POST":
        made = services.set_up(code)
        if made is None:
            raise Http404("the code was used meanwhile")
        logout(request)
        response = redirect("shop:device")
        keep_secret(response, made[1])
        return response
    return render(request, "shop/device_set_up.html", {"device": device, "shop": device.shop})


@login_not_required
@never_cache
def device(request):
    """Whose turn it is: the names of the shop's people; on any other browser, the code's box."""
    found = _this_device(request)
    if found is None:
        return _ask_for_code(request)
    return render(
        request,
        "shop/device_names.html",
        {
            "device": found,
            "shop": found.shop,
            "people": services.people_of(found.shop),
            "next": request.GET.get("next", ""),
        },
    )


def _this_device(request):
    secret = request.COOKIES.get(COOKIE)
    return services.device_of_secret(secret) if secret else None


def _ask_for_code(request):
    form = DeviceCodeForm(request.POST or None)
    if form.is_valid():
        code = services.plain_code(form.cleaned_data["code"])
        if services.device_of_code(code) is not None:
            return redirect("shop:device_set_up", code)
        form.add_error("code", "This code is wrong, was used, or is too old; ask for a new one.")
    response = render(
        request, "shop/device_ask.html", {"form": form, "was": COOKIE in request.COOKIES}
    )
    response.delete_cookie(COOKIE)
    return response


@login_not_required
@never_cache
def pin(request, pk):
    """Type the PIN of the name that was picked."""
    found = _this_device(request)
    if found is None:
        return redirect("shop:device")
    person = get_object_or_404(services.people_of(found.shop), pk=pk)
    onward = request.POST.get("next") or request.GET.get("next", "")
    form = PinForm(request.POST or None)
    if form.is_valid():
        try:
            services.check_pin(found, person, form.cleaned_data["pin"])
        except Refused as refusal:
            form.add_error("pin", str(refusal))
        else:
            begin(request, found, person)
            return redirect(_safe(request, onward) or settings.SHARED_DEVICE_HOME)
    return render(
        request,
        "shop/device_pin.html",
        {"device": found, "shop": found.shop, "person": person, "form": form, "next": onward},
    )


def _safe(request, address):
    """An address of this site, else nothing."""
    ours = url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return address if ours else ""


@login_not_required
@require_POST
def done(request):
    """End a stay at a shared device."""
    if is_stay(request):
        logout(request)
    return redirect("shop:device")


def my_pin(request):
    """A person's own PIN: set, changed or given up."""
    if request.method == "POST" and "forget" in request.POST:
        services.forget_pin(request.user)
        messages.success(request, "Your PIN is gone; your name is no longer offered.")
        return redirect("shop:my_pin")
    form = NewPinForm(request.POST or None, request=request)
    if form.is_valid():
        services.set_pin(request.user, form.cleaned_data["pin"])
        messages.success(request, "Your PIN is set.")
        return redirect("shop:my_pin")
    own = request.user.memberships.current().exclude(role=Role.CONTRACTOR).select_related("shop")
    return render(
        request,
        "shop/my_pin.html",
        {
            "form": form,
            "pin": Pin.objects.filter(user=request.user).first(),
            "shops": [membership.shop for membership in own],
        },
    )
