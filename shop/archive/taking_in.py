"""Taking a shop's archive into a site: all of it, or nothing at all."""

from dataclasses import dataclass

from django.contrib.auth.hashers import make_password
from django.contrib.contenttypes.models import ContentType
from django.core.files.base import ContentFile
from django.db import IntegrityError, connection, models, transaction

from shop.errors import Refused
from shop.models import Shop, User
from shop.packing import opened

from . import FILES, KIND, VERSION
from .reading import read
from .rules import Named, fields_of, label_of, loose_reference, references_of, rules

BATCH = 500


@dataclass(frozen=True)
class TakenIn:
    """What came in: the shop, rows by table, and the people who were known here or made anew."""

    shop: Shop
    rows: dict
    known: tuple[User, ...]
    made: tuple[User, ...]


def take_in(file, *, limits):
    """Take an archive in and return the `TakenIn`; raises Refused and leaves the site as it was.

    People are known by their mail address or user name; others are made without a password. Row
    numbers stay as they were where all of them are free, else every row gets a new one.
    """
    stored = []
    with opened(file, kind=KIND, version=VERSION, limits=limits) as package:
        rows = read(package)
        try:
            with transaction.atomic():
                return _put_in(rows, package, stored)
        except BaseException as error:
            for storage, name in stored:
                storage.delete(name)
            if isinstance(error, IntegrityError):
                raise Refused(f"The archive does not fit into this site: {error}") from error
            raise


def _put_in(rows, package, stored):
    _demand_new(rows)
    known = _known_here(rows)
    places = _places(rows, known)
    held = []
    for model, found in rows.items():
        met = known.get(model, {})
        new = [row for row in found if row.number not in met]
        _store_files(model, new, package, stored)
        _insert(model, new, places, held)
        _raise(model, [row for row in found if row.number in met], known)
    for model, changes in held:
        _release(model, changes)
    _move_sequences(rows)
    (shop,) = Shop.objects.filter(pk__in=places[Shop].values())
    people = known.get(User, {})
    made = [key for number, key in places[User].items() if number not in people]
    return TakenIn(
        shop=shop,
        rows={label_of(model): len(found) for model, found in rows.items()},
        known=tuple(User.objects.filter(pk__in=people.values())),
        made=tuple(User.objects.filter(pk__in=made)),
    )


def _demand_new(rows):
    """One shop, which is not here yet."""
    shops = rows.get(Shop, [])
    if len(shops) != 1 or not rows.get(User):
        raise Refused("An archive holds one shop and its people.")
    name = shops[0].values["name"]
    if Shop.objects.filter(name=name).exists():
        raise Refused(f"There is a shop called {name} here already.")


def _known_here(rows):
    """{model: {number in the archive: primary key here}} of what is known by name."""
    known = {}
    for model, found in rows.items():
        rule = rules()[model]
        if not isinstance(rule, Named):
            continue
        known[model] = {}
        for row in found:
            key = _find(model, rule, row, known)
            if key is not None and key not in known[model].values():
                known[model][row.number] = key
    return known


def _find(model, rule, row, known):
    """The primary key of the row here that is known by the same, None when there is none."""
    for fields in rule.by:
        lookup = {}
        for name in fields:
            field = model._meta.get_field(name)
            value = row.values[name]
            if field.is_relation and value is not None:
                value = known.get(field.related_model, {}).get(value)
                if value is None:
                    break
            lookup[name] = value
        if len(lookup) < len(fields) or set(lookup.values()) <= {None, ""}:
            continue
        found = model._base_manager.filter(**lookup).first()
        if found and not _are_two_people(found, row):
            return found.pk
    return None


def _are_two_people(found, row):
    """Whether one user name stands for two mail addresses."""
    addresses = {getattr(found, "email", ""), row.values.get("email", "")} - {""}
    return isinstance(found, User) and len(addresses) > 1


def _places(rows, known):
    """{model: {number in the archive: primary key here}} of all rows."""
    new = {
        model: [row.number for row in found if row.number not in known.get(model, {})]
        for model, found in rows.items()
    }
    as_they_were = not any(_taken(model, numbers) for model, numbers in new.items())
    return {
        model: known.get(model, {})
        | dict(zip(numbers, numbers if as_they_were else _fresh(model, len(numbers)), strict=True))
        for model, numbers in new.items()
    }


def _taken(model, numbers):
    return any(
        model._base_manager.filter(pk__in=numbers[start : start + BATCH]).exists()
        for start in range(0, len(numbers), BATCH)
    )


def _fresh(model, how_many):
    """Primary keys that nobody has and nobody gets; SQLite's writer is alone anyway."""
    table = model._meta.db_table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)",
                [f'"{table}"', how_many],
            )
            return [key for (key,) in cursor.fetchall()]
        cursor.execute(f'SELECT coalesce(max(id), 0) FROM "{table}"')
        (highest,) = cursor.fetchone()
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        given_out = cursor.fetchone() or [0]
    first = max(highest, given_out[0]) + 1
    return list(range(first, first + how_many))


def _store_files(model, rows, package, stored):
    """Store the rows' files; a row whose file's name was taken gets the new one."""
    for field in fields_of(model):
        if not isinstance(field, models.FileField):
            continue
        for row in rows:
            if name := row.values[field.name]:
                content = ContentFile(b"".join(package.chunks(FILES + name)))
                new = field.storage.save(name, content, max_length=field.max_length)
                stored.append((field.storage, new))
                row.values[field.name] = new


def _insert(model, rows, places, held):
    """Insert rows; what would make them signed or sealed is noted in `held` and comes last."""
    hold = getattr(rules()[model], "held", {})
    made = [_made(model, row, places) for row in rows]
    changes = []
    for one in made:
        final = {name: getattr(one, name) for name in hold}
        if final != dict(hold):
            changes.append((one.pk, final))
        for name, meanwhile in hold.items():
            setattr(one, name, meanwhile)
    model._base_manager.bulk_create(made, batch_size=BATCH)
    held.append((model, changes))


def _made(model, row, places):
    references, loose = references_of(model), loose_reference(model)
    one = model(pk=places[model][row.number])
    for field in fields_of(model):
        value = row.values[field.name]
        if loose and field.name == loose.ct_field:
            target = value
            value = ContentType.objects.get_for_model(target).pk
        elif field in references and value is not None:
            value = places[field.related_model][value]
        setattr(one, field.attname, value)
    if loose:
        setattr(one, loose.fk_field, places[target][row.values[loose.fk_field]])
    if isinstance(one, User):
        one.password = make_password(None)
        one.username = _free_username(one.username)
    return one


def _free_username(name):
    """The name, or with a number behind it where somebody else has it here."""
    wanted, count = name, 1
    while User.objects.filter(username=name).exists():
        count += 1
        name = f"{wanted[:140]}-{count}"
    return name


def _raise(model, rows, known):
    """Of a row known here and in the archive, let the higher value stand where the rule says so."""
    for name in getattr(rules()[model], "higher", ()):
        for row in rows:
            lower = model._base_manager.filter(
                pk=known[model][row.number], **{f"{name}__lt": row.values[name]}
            )
            lower.update(**{name: row.values[name]})


def _release(model, changes):
    for key, final in changes:
        model._base_manager.filter(pk=key).update(**final)


def _move_sequences(rows):
    """Let PostgreSQL's sequences go on behind the highest number, where they are before it."""
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        for model in rows:
            cursor.execute("SELECT pg_get_serial_sequence(%s, 'id')", [f'"{model._meta.db_table}"'])
            (sequence,) = cursor.fetchone()
            cursor.execute(
                f"SELECT setval(%s, greatest(s.last_value, t.highest)) FROM {sequence} s,"
                f' (SELECT max(id) AS highest FROM "{model._meta.db_table}") t'
                " WHERE t.highest IS NOT NULL",
                [sequence],
            )
