"""Holds the records of signed visits against what was signed, wherever they were taken in since."""

import json
import zoneinfo
from itertools import groupby

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from shop.audit.freezing import rules
from shop.audit.rows import Difference
from shop.audit.words import Words
from shop.visits.models import SignedRecord
from shop.visits.signed import UNREADABLE, digest_of, fields_of, number_now, numbers_in, read_said

# A picture that was brought in was held against the SHA-256 in its file, and then made anew.
PICTURES_MADE_ANEW = {"sha256"}
UNREAD = "what it said cannot be read."


def signed_troubles(records=None):
    """Yield a sentence for all that is not as it was signed, or not as its digest says.

    Rows may be added to what was signed, such as the next step of a recommendation, and what a
    signature leaves open may change; neither is told. A few queries for each visit.
    """
    found = SignedRecord.objects.all() if records is None else records
    found = found.exclude(said="").select_related("visit").order_by("visit", "position")
    words = Words(unit="mm", zone=zoneinfo.ZoneInfo("UTC"))
    frozen = {one.table: set(one.rule.columns) for one in rules()}
    for visit, of_visit in groupby(found.iterator(), key=lambda one: one.visit):
        for record, trouble in _troubles(list(of_visit), words, frozen):
            yield f"{visit}, signed as '{record}': {trouble}"


def _troubles(records, words, frozen):
    said = {}
    for record in records:
        if digest_of(record.said) != record.digest:
            yield record, "its digest is of something else; one of the two was edited."
        try:
            said[record] = [_as_numbered_here(record, *row) for row in read_said(record.said)]
        except UNREADABLE:
            yield record, UNREAD
    here = _rows_here(row for rows in said.values() for row in rows)
    for record, rows in said.items():
        try:
            left_out = PICTURES_MADE_ANEW if record.visit.came_from else set()
            troubles = [one for row in rows for one in _of_row(*row, here, words, frozen, left_out)]
        except UNREADABLE:
            troubles = [UNREAD]
        for trouble in troubles:
            yield record, trouble


def _as_numbered_here(record, model, row):
    """A row as it was signed, with the numbers that it and what it refers to have here."""
    numbers = {
        column: number_now(record.numbers, named, number)
        for column, named, number in numbers_in(model, row)
    }
    return model, row | numbers


def _rows_here(rows):
    """{model: {primary key: row}} of the rows as they are; one query for each table."""
    wanted = {}
    for model, told in rows:
        wanted.setdefault(model, set()).add(told["id"])
    return {model: model._base_manager.in_bulk(keys) for model, keys in wanted.items()}


def _of_row(model, told, here, words, frozen, left_out):
    """Yield a sentence for each column of a row that is not as it was signed."""
    row, name = here[model].get(told["id"]), f"{model._meta.db_table}:{told['id']}"
    if row is None:
        yield f"{words.name_of(name)} is gone."
        return
    found = json.loads(json.dumps(fields_of(row), cls=DjangoJSONEncoder))
    columns = set(told) & set(found) & (frozen.get(model._meta.db_table) or set(told))
    # A file may have come under another name; which file it is, its SHA-256 says.
    columns -= left_out
    columns -= {one.attname for one in model._meta.fields if isinstance(one, models.FileField)}
    sides = ({column: side[column] for column in columns} for side in (told, found))
    for field, signed, now in words.differences(Difference(name, *sides)):
        yield f"{words.name_of(name)}: {field} is {now!r}, but {signed!r} was signed."
