"""Answers of an owner that the contractor writes down, and what the owner says to that later."""

from dataclasses import dataclass
from datetime import date

from django import forms
from django.conf import settings
from django.db import transaction

from shop.hooks import hooks
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.fields import DayField

from .models import Firm, ToldAnswer, ToldReply


@dataclass(frozen=True)
class Told:
    """Who of the shop told what firm, how and when; not kept yet."""

    firm: Firm
    told_by: str
    how: str
    told_on: date

    def keep(self, shop, *, what, made_by):
        """Put it on record for a shop; raises Refused for a day to come."""
        if self.told_on > shop.today:
            raise Refused("That day lies ahead; expected the day on which it was told.")
        return ToldAnswer.objects.create(
            shop=shop,
            firm=self.firm,
            told_by=self.told_by,
            how=self.how,
            told_on=self.told_on,
            what=what[:300],
            made_by=made_by,
        )


@transaction.atomic
def enter(told, *, shop, what, made_by):
    """The kept `ToldAnswer` of a `Told`; None of None."""
    return told and told.keep(shop, what=what, made_by=made_by)


@entered_once(ToldReply)
def reply(told, *, made_by, objects_to_it, why="", entry_id=None):
    """Keep what an owner says to an answer that was entered for them; said once.

    Raises Refused for a second reply, and for an objection without its reason.
    """
    told = ToldAnswer.objects.select_for_update(of=("self",)).get(pk=told.pk)
    if ToldReply.objects.filter(told=told).exists():
        raise Refused("This was answered already.")
    if objects_to_it and not why.strip():
        raise Refused("Say what is wrong about it; the firm reads it.")
    kept = ToldReply.objects.create(
        told=told,
        made_by=made_by,
        objects_to_it=objects_to_it,
        why=why.strip(),
        **identified(entry_id),
    )
    if objects_to_it:
        for follow in hooks(settings.AFTER, about="objecting"):
            follow(kept)
    return kept


def told_fields(*, required=True):
    """The boxes that say who told it, how and when."""
    return {
        "told_by": forms.CharField(label="Told by", max_length=120, required=required),
        "told_how": forms.ChoiceField(
            label="How",
            choices=ToldAnswer.How.choices,
            required=required,
            initial=ToldAnswer.How.PHONE,
            widget=forms.RadioSelect(attrs={"class": "choices row"}),
        ),
        "told_on": DayField(label="On", required=required),
    }


def told_in(form, firm):
    """The `Told` that a form's boxes say; None where nobody is named."""
    given = form.cleaned_data
    if not given.get("told_by"):
        return None
    return Told(firm, given["told_by"].strip(), given["told_how"], given["told_on"])


def check_told(form):
    """Where somebody is named, ask how and when; for boxes that may stay empty."""
    given = form.cleaned_data
    if given.get("told_by"):
        for name in ("told_how", "told_on"):
            if not given.get(name) and name not in form.errors:
                form.add_error(name, "Say this too; it stands beside the answer.")


def told_today(shop):
    """What the boxes begin with: today, at the shop."""
    return {"told_on": shop.today}
