"""Reading an archive that comes from elsewhere: every table, field, reference and file is checked.

Nothing is written here; what comes out is fit to be.
"""

import contextlib
import json
from dataclasses import dataclass

from django.apps import apps
from django.db import models

from shop.audit.archive_rules import label_of, loose_reference
from shop.hooks import from_above
from shop.web.errors import Refused
from shop.web.hashed_images import sha256_name

from . import FILES, RECORDS
from .values import heard

ENDING = ".jsonl"
MAX_LINE_BYTES = 16 * 1024 * 1024


@dataclass(frozen=True)
class ArchivedRow:
    """One row: its number in the archive and {field's name: value}, references still as numbers."""

    number: int
    values: dict


def read(package, scope):
    """{model: rows}, in the order of the rules; a table that is not in it has none.

    Raises Refused with the table and the line where something is wrong.
    """
    _refuse_too_much(package)
    package.verify()
    strange = [n for n in package.names() if not n.startswith((RECORDS, FILES))]
    if strange:
        raise Refused(f"'{strange[0]}' has no place in an archive.")
    room = iter(range(package.limits.rows))
    tables = {_label(name): _said_in(package, name, room) for name in package.names(RECORDS)}
    if _is_older(package, scope, tables):
        tables = {label: list(said) for label, said in tables.items()}
        from_above("older archives")(tables, package.facts["version"])
    found = {_model_of(scope, label): _rows(scope, label, said) for label, said in tables.items()}
    rows = {model: found.get(model, []) for model in scope.going}
    _check_references(scope, rows)
    _check_files(scope, rows, package)
    return rows


def _is_older(package, scope, tables):
    """Whether it is of a format before today's, or has tables by the names they had then."""
    known = {label_of(model) for model in scope.going}
    return package.facts["version"] < scope.version or not tables.keys() <= known


def _label(name):
    if not name.endswith(ENDING):
        raise Refused(f"This site does not know the table '{name.removeprefix(RECORDS)}'.")
    return name.removeprefix(RECORDS).removesuffix(ENDING)


def _model_of(scope, label):
    known = {label_of(model): model for model in scope.going}
    if label not in known:
        raise Refused(f"This site does not know the table '{label}'.")
    return known[label]


def _refuse_too_much(package):
    """Refuse by what it says of itself; what it says too little of is counted as it is read."""
    size = sum(package.facts["entries"][name]["bytes"] for name in package.names(RECORDS))
    if size > package.limits.record_bytes:
        raise Refused(
            f"Its records unpack to {size:,} bytes; at most {package.limits.record_bytes:,} are "
            "taken here."
        )


def _said_in(package, name, room):
    """Yield what each line of an entry says, {field: value}; refused at the first line for which
    there is no room (an iterator that all entries share)."""
    for place, line in enumerate(_lines(package, name), start=1):
        if next(room, None) is None:
            raise Refused(
                f"It holds more than {package.limits.rows:,} rows, the most that is taken here."
            )
        with _at(name, place):
            yield _said(line)


@contextlib.contextmanager
def _at(name, place):
    """Say with a refusal where it is."""
    try:
        yield
    except Refused as refusal:
        raise Refused(f"{name}, line {place}: {refusal}.") from refusal


def _rows(scope, label, said):
    model, rows, numbers = _model_of(scope, label), [], set()
    for place, one in enumerate(said, start=1):
        with _at(f"{RECORDS}{label}{ENDING}", place):
            row = _row(scope, model, one)
            if row.number in numbers:
                raise Refused(f"row {row.number} is in it twice")
        numbers.add(row.number)
        rows.append(row)
    return rows


def _lines(package, name):
    """Yield the lines of an entry, each of bounded length."""
    rest = b""
    for chunk in package.chunks(name):
        *whole, rest = (rest + chunk).split(b"\n")
        yield from whole
        if len(rest) > MAX_LINE_BYTES:
            raise Refused(f"{name} has a line of more than {MAX_LINE_BYTES:,} bytes.")
    if rest:
        raise Refused(f"{name} ends in the middle of a line.")


def _said(line):
    try:
        said = json.loads(line, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise Refused("this is no JSON") from error
    if not isinstance(said, dict) or type(said.get("id")) is not int or said["id"] < 1:
        raise Refused("expected an object with its 'id'")
    return said


def _row(scope, model, said):
    number = said.pop("id")
    fields = {field.name: field for field in scope.fields_of(model)}
    if unknown := sorted(said.keys() - fields):
        raise Refused(f"this site does not know the field '{unknown[0]}'")
    values = {}
    for name, field in fields.items():
        if name in said:
            values[name] = _value(scope, model, field, said[name])
        elif field.has_default() or field.blank or field.null:
            values[name] = field.get_default()
        else:
            raise Refused(f"'{name}' is missing")
    return ArchivedRow(number, values)


def _value(scope, model, field, value):
    loose = loose_reference(model)
    if loose and field.name == loose.ct_field:
        return _known_model(value)
    if not field.is_relation:
        return heard(field, value)
    goes = field in scope.references_of(model)
    if value is None and (field.null or not goes):
        return None
    if type(value) is not int or not goes:
        raise Refused(f"'{field.name}' is {str(value)[:60]!r}; expected the id of another row")
    return value


def _known_model(label):
    try:
        model = apps.get_model(label)
    except (LookupError, ValueError, AttributeError, TypeError) as error:
        raise Refused(f"this site does not know the table {str(label)[:60]!r}") from error
    return model


def _no_number(word):
    raise ValueError(f"{word} is no number")


def _check_references(scope, rows):
    """Refuse a row that names one which is not in the archive."""
    numbers = {model: {row.number for row in found} for model, found in rows.items()}
    for model, found in rows.items():
        loose = loose_reference(model)
        for row in found:
            named = [(field.related_model, field.name) for field in scope.references_of(model)]
            if loose:
                named.append((row.values[loose.ct_field], loose.fk_field))
            for target, name in named:
                number = row.values[name]
                if number is not None and number not in numbers.get(target, ()):
                    raise Refused(
                        f"{label_of(model)} {row.number}: '{name}' names {label_of(target)} "
                        f"{number}, which is not in the archive."
                    )


def _check_files(scope, rows, package):
    """Hold each file against its row; what an older site put no SHA-256 on record of gets one.

    Refuses a file that no row names, a row that names a file which is not there, and a file that is
    not the one its row is about.
    """
    there = {name.removeprefix(FILES) for name in package.names(FILES)}
    named = set()
    for row, name, hashed in _files_of(scope, rows):
        named.add(name)
        if name in there:
            _hold_against(row, hashed, name, package.sha256(FILES + name))
    for name in sorted(named ^ there)[:1]:
        which = "is named but not there" if name in named else "is there but nothing names it"
        raise Refused(f"The file '{name}' {which}.")


def _files_of(scope, rows):
    """Yield (row, name of its file, name of the field with the file's SHA-256)."""
    for model, found in rows.items():
        for field in scope.fields_of(model):
            if isinstance(field, models.FileField):
                for row in found:
                    if row.values[field.name]:
                        yield row, row.values[field.name], sha256_name(field)


def _hold_against(row, hashed, name, found):
    if row.values.get(hashed) not in ("", found):
        raise Refused(f"The file '{name}' is not the one on record; its SHA-256 differs.")
    row.values[hashed] = found
