"""Values of fields as JSON knows them, and back to exactly what they were."""

import math
import uuid
from datetime import UTC, date, datetime, time
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import models

from shop.web.errors import Refused

AS_THEY_ARE = (str, int, float, bool, list, dict, type(None))


def told(value):
    """A field's value for JSON; decimals keep their places and moments their microseconds."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, Decimal | uuid.UUID):
        return str(value)
    if isinstance(value, models.fields.files.FieldFile):
        return value.name or ""
    if isinstance(value, AS_THEY_ARE):
        return value
    raise TypeError(f"an archive has no way to say {value!r}")


def heard(field, value):
    """What JSON says of a field, as the field's own value; raises Refused."""
    if value is None:
        if not field.null:
            raise Refused(f"'{field.name}' is missing")
        return None
    _demand_plain(value)
    if isinstance(field, models.FileField):
        return _text(field, value)
    if isinstance(field, models.CharField | models.TextField):
        value = _text(field, value)
    try:
        made = field.to_python(value)
        if made not in field.empty_values:
            _check(field, made)
    except (ValidationError, ValueError, TypeError, OverflowError) as error:
        raise Refused(f"'{field.name}' cannot be {str(value)[:60]!r}") from error
    return made


def _check(field, value):
    """Hold a value against the field's choices and limits, as forms do."""
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError("no finite number")
    if field.choices and value not in {key for key, _words in field.flatchoices}:
        raise ValueError("none of the choices")
    field.run_validators(value)


def _text(field, value):
    if not isinstance(value, str):
        raise Refused(f"'{field.name}' is {value!r}; expected a text")
    if field.max_length and len(value) > field.max_length:
        raise Refused(f"'{field.name}' is longer than {field.max_length} characters")
    return value


def _demand_plain(value):
    """Refuse texts that no database takes: NUL, and halves of a character."""
    if isinstance(value, dict):
        for pair in value.items():
            _demand_plain(list(pair))
    elif isinstance(value, list):
        for one in value:
            _demand_plain(one)
    elif isinstance(value, str):
        try:
            value.encode()
        except UnicodeEncodeError as error:
            raise Refused("a text has half a character in it") from error
        if "\x00" in value:
            raise Refused("a text has a NUL in it")
