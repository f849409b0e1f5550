"""Pages of who belongs where: a shop's people, a firm's people, invitations."""

import segno
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import SetPasswordForm
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST, require_safe

from shop.web.errors import Refused
from shop.web.mailing import mail_is_printed, on_its_way

from . import inviting, letting_in, memberships
from .access import demand_owner, find, owns, role_at
from .forms import BroughtFirm, FirmInviteForm, InviteForm, NewPersonForm, PlaceForm, RoleForm
from .models import Firm, FirmMembership, Invitation, Membership, Shop, User

ADD, INVITE = "place", "invite"
# Accounts made here sign in by the site's own backend, not by the one that counts failures.
BACKEND = "django.contrib.auth.backends.ModelBackend"


def people(request, pk):
    """Who may do what at a shop; its owner invites people and ends their places."""
    shop = find(Shop.objects, request.user, pk=pk)
    may_invite = owns(request.user, shop)
    if request.method == "POST":
        demand_owner(request.user, shop)
    form = InviteForm(request.POST or None)
    if form.is_valid() and _invited(request, form, shop=shop):
        return redirect("shop:people", shop.pk)
    members = shop.memberships.select_related("user", "firm").order_by(
        "role", "user__last_name", "pk"
    )
    context = {
        "shop": shop,
        "current": members.current(),
        "left": members.exclude(ended_at=None).order_by("-ended_at")[:20],
        "owns": may_invite,
        "form": form if may_invite else None,
        "invitations": shop.invitations.open().select_related("made_by") if may_invite else (),
    }
    return render(request, "shop/people.html", context)


def firm_people(request, pk):
    """The firm's people and where they serve; who looks after them invites and places them."""
    firm = find(Firm.objects, request.user, pk=pk)
    leads = memberships.is_firm_admin(request.user, firm)
    if request.method == "POST" and not leads:
        raise PermissionDenied
    invite = FirmInviteForm(request.POST if INVITE in request.POST else None)
    add = PlaceForm(request.POST if ADD in request.POST else None, firm=firm, prefix="place")
    if invite.is_valid() and _invited(request, invite, firm=firm):
        return redirect("shop:firm_people", firm.pk)
    if add.is_valid() and _placed(request, add, firm):
        return redirect("shop:firm_people", firm.pk)
    context = {
        "firm": firm,
        "people": firm.people.current().select_related("user").order_by("user__last_name", "pk"),
        "serving": firm.memberships.current()
        .select_related("user", "shop")
        .order_by("shop__name", "user__last_name"),
        "leads": leads,
        "invite": invite,
        "add": add,
        "form": add if add.is_bound else invite,
        "invitations": firm.invitations.open().select_related("made_by") if leads else (),
    }
    return render(request, "shop/firm_people.html", context)


def _invited(request, form, **place):
    """Put the invitation on record and mail it; False, said on the form, when it was refused."""
    try:
        invitation = inviting.invite(made_by=request.user, **form.cleaned_data, **place)
    except Refused as refusal:
        form.add_error("email", str(refusal))
        return False
    _send(request, invitation)
    return True


def _send(request, invitation):
    """Mail the invitation and say what became of it; without a mail server only its link goes."""
    if mail_is_printed():
        link = reverse("shop:invitation_link", args=[invitation.pk])
        words = "No mail server is set, so nothing was mailed to {}. Give the link yourself: {}"
        there = format_html('<a href="{}">show the link</a>', link)
        messages.warning(request, format_html(words, invitation.email, there))
        return
    inviting.send(invitation)
    messages.success(request, on_its_way(invitation.email))


def _placed(request, form, firm):
    given = form.cleaned_data
    try:
        memberships.place(given["person"], given["shop"], firm=firm)
    except Refused as refusal:
        form.add_error("person", str(refusal))
        return False
    messages.success(request, f"{given['person'].name} serves {given['shop']} from now on.")
    return True


@require_POST
def resend(request, pk):
    """Mail an invitation that was not mailed yet."""
    invitation = _own_invitation(request, pk)
    _send(request, invitation)
    return _back(invitation)


@require_safe
@never_cache
def invitation_link(request, pk):
    """The link of an open invitation, to copy or to scan: whoever holds it takes the place."""
    found = _own_invitation(request, pk)
    if not Invitation.objects.open().filter(pk=found.pk).exists():
        raise Http404("this invitation is no longer open")
    address = inviting.link_of(found)
    picture = segno.make(address, error="m").svg_inline(omitsize=True, border=4, light="#fff")
    context = {"invitation": found, "address": address, "picture": mark_safe(picture)}
    return render(request, "shop/invitation_link.html", context)


@require_POST
def revoke(request, pk):
    """Take an invitation back."""
    invitation = _own_invitation(request, pk)
    inviting.revoke(invitation)
    messages.success(request, f"The invitation to {invitation.email} no longer works.")
    return _back(invitation)


def _own_invitation(request, pk):
    """An invitation of the person's shop or firm, for whoever may invite there."""
    mine = Invitation.objects.visible_to(request.user).select_related("shop", "firm")
    invitation = get_object_or_404(mine, pk=pk)
    if invitation.shop:
        demand_owner(request.user, invitation.shop)
    elif not memberships.is_firm_admin(request.user, invitation.firm):
        raise PermissionDenied
    return invitation


def _back(invitation):
    if invitation.shop_id:
        return redirect("shop:people", invitation.shop_id)
    return redirect("shop:firm_people", invitation.firm_id)


def membership(request, pk):
    """One person's place at a shop: their role, and ending it."""
    found = find(Membership.objects.select_related("user", "shop", "firm"), request.user, pk=pk)
    if not memberships.may_end(request.user, found):
        raise PermissionDenied
    is_owner = memberships.is_owner(request.user, found.shop)
    changes = is_owner and found.role in memberships.OWN_ROLES
    may_let_in = is_owner and letting_in.waits_to_be_let_in(found.user)
    form = RoleForm(request.POST if "role" in request.POST else None, initial={"role": found.role})
    try:
        if request.method == "POST" and "end" in request.POST:
            return _ended(request, found)
        if "let_in" in request.POST and may_let_in:
            mail = letting_in.let_in(found.user, by=request.user, shop=found.shop)
            messages.success(request, on_its_way(mail.to))
            return redirect("shop:membership", found.pk)
        if changes and form.is_valid():
            memberships.change_role(found, form.cleaned_data["role"])
            messages.success(request, f"{found.user.name} is changed over.")
            return redirect("shop:people", found.shop_id)
    except Refused as refusal:
        messages.error(request, str(refusal))
    context = {
        "membership": found,
        "own": found.user_id == request.user.pk,
        "form": form if changes else None,
        "may_let_in": may_let_in,
        "may_see_people": role_at(request.user, found.shop) is not None,
    }
    return render(request, "shop/membership.html", context)


def _ended(request, membership):
    memberships.end_membership(membership)
    own = membership.user_id == request.user.pk
    who = "You have left" if own else f"{membership.user.name} no longer belongs to"
    messages.success(request, f"{who} {membership.shop}.")
    if own:
        return redirect("shop:home")
    if role_at(request.user, membership.shop) is None:
        return redirect("shop:firm_people", membership.firm_id)
    return redirect("shop:people", membership.shop_id)


def firm_membership(request, pk):
    """One person's place in a firm, and ending it."""
    mine = FirmMembership.objects.current().filter(firm__in=Firm.objects.visible_to(request.user))
    found = get_object_or_404(mine.select_related("user", "firm"), pk=pk)
    own = found.user_id == request.user.pk
    if not own and not memberships.is_firm_admin(request.user, found.firm):
        raise PermissionDenied
    if request.method == "POST":
        try:
            memberships.end_firm_membership(found)
            who = "You have left" if own else f"{found.user.name} no longer belongs to"
            messages.success(request, f"{who} {found.firm}.")
            return redirect("shop:home") if own else redirect("shop:firm_people", found.firm_id)
        except Refused as refusal:
            messages.error(request, str(refusal))
    serving = found.firm.memberships.current().filter(user=found.user).select_related("shop")
    context = {"place": found, "own": own, "serving": serving}
    return render(request, "shop/firm_membership.html", context)


@login_not_required
@never_cache
@sensitive_post_parameters()
def welcome(request, token):
    """Where somebody who came with a shop sets their password."""
    person = letting_in.person_of(token)
    if person is None:
        return render(request, "shop/invitation_gone.html", {"why": inviting.GONE}, status=404)
    form = SetPasswordForm(person, request.POST or None)
    if form.is_valid():
        form.save()
        messages.success(request, "Your password is set. Sign in with it.")
        return redirect("shop:sign_in")
    return render(request, "shop/welcome.html", {"form": form, "person": person})


@login_not_required
@never_cache
@sensitive_post_parameters()
def invitation(request, token):
    """What the link of a mail leads to: take the place, with an account or by making one."""
    try:
        found = inviting.open_invitation(token)
    except Refused as refusal:
        return render(request, "shop/invitation_gone.html", {"why": str(refusal)}, status=404)
    person = request.user if request.user.is_authenticated else None
    account = None
    if person is None:
        start = {"username": found.email}
        joins = [str(found.shop or found.firm)]
        account = NewPersonForm(request.POST or None, initial=start, joins=joins)
    brought = BroughtFirm(request.POST or None, user=person) if found.brings_firm else None
    filled_in = [form.is_valid() for form in (account, brought) if form is not None]
    if request.method == "POST" and all(filled_in):
        try:
            _accepted(request, found, account, brought)
            messages.success(request, f"Welcome: {found.place}.")
            return redirect(settings.LOGIN_REDIRECT_URL)
        except Refused as refusal:
            messages.error(request, str(refusal))
    context = {"invitation": found, "account": account, "brought": brought, "token": token}
    return render(request, "shop/invitation.html", context)


@transaction.atomic
def _accepted(request, invitation, account, brought):
    """Take the place, making the account first where there is none; both happen or neither."""
    person = request.user
    if account is not None:
        person = account.save(commit=False)
        person.email = invitation.email
        person.save()
    inviting.accept(invitation, person, firm=brought and brought.brought)
    if account is not None:
        login(request, User.objects.get(pk=person.pk), backend=BACKEND)
