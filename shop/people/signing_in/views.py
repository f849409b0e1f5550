"""Pages of signing in and of one's own account."""

import io
import time
from base64 import b32encode

import segno
from django.contrib import messages
from django.contrib.auth import login, views
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, PasswordChangeView, PasswordResetView
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe
from django_otp import login as verified_by

from shop.people.editing import editing, stamped
from shop.people.models import SignIn, User
from shop.web.served import site_address

from . import second_factor, sessions
from .forms import (
    AccountForm,
    ChangeFactorForm,
    CodeForm,
    ForgottenForm,
    NewPasswordForm,
    SetUpForm,
)
from .guessing import too_many
from .limits import may_mail_link
from .notices import tell_former_address

PENDING = "waits for its second factor"
PENDING_FOR_S = 600
MOST_WRONG_CODES = 5


class SignInView(LoginView):
    """The password; who has a second factor is asked for it next."""

    template_name = "shop/sign_in.html"
    redirect_authenticated_user = True

    def get(self, request, *args, **kwargs):
        if not User.objects.exists():
            return redirect("shop:begin")
        return super().get(request, *args, **kwargs)

    def form_invalid(self, form):
        if too_many(self.request, form.cleaned_data.get("username")):
            return render(self.request, "shop/locked_out.html", status=429)
        return super().form_invalid(form)

    def form_valid(self, form):
        user = form.get_user()
        if second_factor.device_of(user) is None:
            return super().form_valid(form)
        self.request.session.cycle_key()
        self.request.session[PENDING] = {
            "user": user.pk,
            "backend": user.backend,
            "since": time.time(),
            "wrong": 0,
            "next": self.get_success_url(),
        }
        return redirect("shop:sign_in_code")


@login_not_required
@never_cache
def sign_in_code(request):
    """The code, after the password; without it nobody is signed in."""
    pending = request.session.get(PENDING)
    if not pending or time.time() - pending["since"] > PENDING_FOR_S:
        return redirect("shop:sign_in")
    user = get_object_or_404(User, pk=pending["user"], is_active=True)
    form = CodeForm(request.POST or None, user=user)
    if form.is_valid():
        user.otp_device = form.device
        login(request, user, backend=pending["backend"])
        request.session.pop(PENDING, None)
        return redirect(pending["next"])
    if form.is_bound:
        request.session[PENDING] = pending | {"wrong": pending["wrong"] + 1}
        if pending["wrong"] + 1 >= MOST_WRONG_CODES:
            del request.session[PENDING]
            messages.error(request, "Too many wrong codes. Begin with the password again.")
            return redirect("shop:sign_in")
    return render(request, "shop/sign_in_code.html", {"form": form})


@editing
def account(request):
    """A person's own account: name, mail and unit, and the ways to the rest of it."""
    former = request.user.email
    form = AccountForm(request.POST or None, instance=request.user, request=request)
    stamped(request, form, request.user)
    if form.is_valid():
        changed = form.save()
        if changed.email != former:
            tell_former_address(changed, former)
        messages.success(request, "Saved.")
        return redirect("shop:my_settings")
    context = {
        "form": form,
        "memberships": request.user.memberships.current().select_related("shop", "firm"),
        "firm_memberships": request.user.firm_memberships.current().select_related("firm"),
    }
    return render(request, "shop/my_settings.html", context)


class ChangePassword(PasswordChangeView):
    """A new password; every other browser is signed out."""

    template_name = "shop/password.html"
    form_class = NewPasswordForm
    success_url = reverse_lazy("shop:my_settings")

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"request": self.request}

    def form_valid(self, form):
        response = super().form_valid(form)
        sessions.note(self.request, self.request.user)
        second_factor.end_other_sessions(self.request)
        messages.success(self.request, "It is in force, and you are signed out elsewhere.")
        return response


class ForgotPassword(PasswordResetView):
    """Mail a link to set a new password, so often and no more; the answer is always the same, so
    that it never tells whether there is an account."""

    template_name = "shop/forgotten.html"
    form_class = ForgottenForm
    email_template_name = "shop/reset.txt"
    subject_template_name = "shop/reset_subject.txt"
    success_url = reverse_lazy("shop:forgotten_sent")

    def form_valid(self, form):
        self.extra_email_context = {"site": site_address()}
        if not may_mail_link(self.request, form.cleaned_data["email"]):
            return redirect(self.get_success_url())
        return super().form_valid(form)


forgotten_sent = views.PasswordResetDoneView.as_view(template_name="shop/forgotten_sent.html")
reset = views.PasswordResetConfirmView.as_view(
    template_name="shop/reset.html", success_url=reverse_lazy("shop:sign_in")
)


@never_cache
def second_factor_page(request):
    """The second factor: set up, new recovery codes, taken off the account."""
    if second_factor.device_of(request.user) is None:
        return _set_up(request)
    if second_factor.wanted_of(request.user) and not request.user.is_verified():
        return _verify(request)
    form = ChangeFactorForm(request.POST or None, user=request.user, request=request)
    if form.is_valid():
        if "remove" in request.POST:
            second_factor.remove(request.user)
            messages.success(request, "The second factor is taken off your account.")
            return redirect("shop:my_settings")
        codes = second_factor.new_recovery_codes(request.user)
        return render(request, "shop/recovery_codes.html", {"codes": codes})
    context = {
        "form": form,
        "left": second_factor.recovery_codes_left(request.user),
        "wanted": second_factor.wanted_of(request.user),
    }
    return render(request, "shop/second_factor.html", context)


def _set_up(request):
    device = second_factor.device_to_set_up(request.user)
    form = SetUpForm(request.POST or None, device=device, request=request)
    if form.is_valid():
        verified_by(request, device)
        second_factor.end_other_sessions(request)
        codes = second_factor.new_recovery_codes(request.user)
        return render(request, "shop/recovery_codes.html", {"codes": codes})
    key = b32encode(device.bin_key).decode()
    context = {
        "form": form,
        "key": " ".join(key[start : start + 4] for start in range(0, len(key), 4)),
        "wanted": second_factor.wanted_of(request.user),
    }
    return render(request, "shop/set_up_second_factor.html", context)


def _verify(request):
    """Ask who is signed in, by whatever way, for the code the site wants of them."""
    form = CodeForm(request.POST or None, user=request.user)
    if form.is_valid():
        verified_by(request, form.device)
        return redirect("shop:home")
    return render(request, "shop/sign_in_code.html", {"form": form})


@require_safe
@never_cache
def second_factor_picture(request):
    """The key as a QR code, while the app is being set up and never after."""
    if second_factor.device_of(request.user) is not None:
        raise Http404("the second factor is set up already")
    address = second_factor.device_to_set_up(request.user).config_url
    out = io.BytesIO()
    segno.make(address, error="m").save(out, kind="svg", scale=5, border=4, light="white")
    return HttpResponse(out.getvalue(), content_type="image/svg+xml")


@require_safe
def sign_ins(request):
    """Where the person is signed in."""
    return render(
        request,
        "shop/sign_ins.html",
        {
            "sign_ins": SignIn.objects.filter(user=request.user),
            "here": request.session.session_key,
        },
    )


@require_POST
def end_sign_in(request, pk):
    """Sign out one browser."""
    found = get_object_or_404(SignIn, user=request.user, pk=pk)
    sessions.end(SignIn.objects.filter(pk=found.pk))
    messages.success(request, f"The {found.device} is signed out.")
    return redirect("shop:sign_ins")


@require_POST
def end_other_sign_ins(request):
    """Sign out everywhere but here."""
    second_factor.end_other_sessions(request)
    messages.success(request, "You are signed in here only.")
    return redirect("shop:sign_ins")
