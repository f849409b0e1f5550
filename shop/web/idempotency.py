"""A form sent twice makes one record, also where the record itself keeps no `entry_id`.

The form carries an id of its own; the first time it is sent and taken, the id is put on record with
where the answer led to, in the transaction that made the record. Sent again, it leads there.
"""

import functools
import uuid

from django import forms
from django.db import transaction
from django.shortcuts import redirect

from .models import SentForm

FIELD = "entry_id"


def sent_once(view):
    """Decorate a view that makes a record of a form that carries an id (`with_id`)."""

    @functools.wraps(view)
    def once(request, *args, **kwargs):
        entry_id = _id_in(request)
        if entry_id is None:
            return view(request, *args, **kwargs)
        with transaction.atomic():
            sent, is_first = SentForm.objects.get_or_create(entry_id=entry_id, sent_by=request.user)
            if not is_first:
                return redirect(sent.led_to)
            answer = view(request, *args, **kwargs)
            if answer.status_code == 302:
                sent.led_to = answer.url
                sent.save(update_fields=["led_to"])
            else:
                transaction.set_rollback(True)
        return answer

    return once


def _id_in(request):
    """The id that a sent form carries; None without one."""
    try:
        return uuid.UUID(request.POST.get(FIELD, "")) if request.method == "POST" else None
    except ValueError:
        return None


def with_id(form):
    """The form, carrying an id; a form that is drawn anew keeps the one it was sent with."""
    form.fields[FIELD] = forms.UUIDField(widget=forms.HiddenInput, required=False)
    form.initial.setdefault(FIELD, uuid.uuid4())
    return form
