"""Taking an archive into a site: all of it, or nothing at all."""

import contextlib
import hashlib
from dataclasses import dataclass, field

from django.contrib.auth.hashers import make_password
from django.contrib.contenttypes.models import ContentType
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import IntegrityError, connection, models, transaction

from shop.audit.archive_rules import label_of, loose_reference, whole_shop
from shop.people.models import Shop, User
from shop.record import Named
from shop.records.packing import opened
from shop.visits.models import SignedRecord, Visit
from shop.visits.signed import UNREADABLE, renumbered
from shop.web.errors import Refused
from shop.web.hashed_images import sha256_name
from shop.web.images import made_anew
from shop.web.site_key import Proof, proof_of

from . import FILES
from .origin import Origin, say_where_from
from .reading import read

BATCH = 500
# A value that nothing here can have.
UNKNOWN = object()


@dataclass(frozen=True)
class TakenIn:
    """What came in: the shop, the `Proof` of where it came from, rows by table, and the people who
    were known here or made anew."""

    shop: Shop
    proof: Proof
    rows: dict
    known: tuple[User, ...]
    made: tuple[User, ...]


def take_in(file, *, limits, key=""):
    """Take a shop's archive in and return the `TakenIn`; raises Refused and leaves all as it was.

    key: the public key of the site it comes from, as it was had from there.

    People are known by their mail address or user name; others are made without a password. Row
    numbers stay as they were where all of them are free, else every row gets a new one.
    """
    scope = whole_shop()
    with opened(file, kind=scope.kind, version=scope.version, limits=limits) as package:
        rows = read(package, scope)
        _demand_new(rows)
        intake = Intake(scope, package, rows)
        with all_or_nothing(intake):
            _demand_new(rows)
            proof = proof_of(package.facts, key)
            name = rows[Shop][0].values["name"]
            intake.put_in(Origin("another site", signed_for=name, proof=proof))
    (shop,) = Shop.objects.filter(pk__in=intake.places[Shop].values())
    people = intake.known[User]
    made = [key for number, key in intake.places[User].items() if number not in people]
    return TakenIn(
        shop=shop,
        proof=proof,
        rows={label_of(model): len(found) for model, found in rows.items()},
        known=tuple(User.objects.filter(pk__in=people.values())),
        made=tuple(User.objects.filter(pk__in=made)),
    )


@contextlib.contextmanager
def all_or_nothing(intake):
    """Store the files of an `Intake`, and then a transaction; where that fails the files go again.

    The transaction comes last: on SQLite nobody else writes while it lasts. Raises Refused where
    the database refuses what is put in.
    """
    try:
        intake.store_files()
        with transaction.atomic():
            yield
        intake.drop_files(intake.unneeded)
    except BaseException as error:
        intake.drop_files(intake.stored)
        if isinstance(error, IntegrityError):
            raise Refused(f"The archive does not fit into this site: {error}") from error
        raise


def _demand_new(rows):
    """One shop, which is not here yet."""
    shops = rows[Shop]
    if len(shops) != 1 or not rows[User]:
        raise Refused("An archive holds one shop and its people.")
    name = shops[0].values["name"]
    if Shop.objects.filter(name=name).exists():
        raise Refused(f"There is a shop called {name} here already.")


@dataclass
class Intake:
    """Rows that were read and found right, on their way into the database.

    known: {model: {number in the archive: primary key here}} of what is known here by name.
    places: the same of all rows, once they are put in.
    standing_in: {model: primary key} of what here stands in for a table that stayed there.
    stored: {(model, number in the archive, field): (storage, name)} of the files.
    keep_numbers: whether rows may come under the numbers they had.
    """

    scope: object
    package: object
    rows: dict
    standing_in: dict = field(default_factory=dict)
    keep_numbers: bool = True
    known: dict = field(default_factory=dict)
    places: dict = field(default_factory=dict)
    stored: dict = field(default_factory=dict)

    def put_in(self, origin):
        """Insert everything, and write its `Origin` at the visits; call it inside
        `all_or_nothing`."""
        self._find_known()
        self._give_places()
        changes = []
        for model, found in self.rows.items():
            met = self.known.get(model, {})
            new = [row for row in found if row.number not in met]
            changes += self._insert(model, new)
            self.keep_higher(model, [row for row in found if row.number in met])
        say_where_from(self.places[Visit].values(), origin)
        for model, key, final in changes:
            model._base_manager.filter(pk=key).update(**final)
        _move_sequences(self.rows)

    def _find_known(self):
        for model, found in self.rows.items():
            rule = self.scope.going[model]
            if not isinstance(rule, Named):
                continue
            self.known[model] = {}
            for row in found:
                key = self._find(model, rule, row)
                if key is not None and key not in self.known[model].values():
                    self.known[model][row.number] = key

    def _find(self, model, rule, row):
        """The primary key of the row here that is known by the same, None when there is none."""
        for names in rule.by:
            lookup = {name: self._sought(model, name, row) for name in names}
            if UNKNOWN in lookup.values() or set(lookup.values()) <= {None, ""}:
                continue
            found = model._base_manager.filter(**lookup).first()
            if found and not _are_two_people(found, row):
                return found.pk
        return None

    def _sought(self, model, name, row):
        """The value by which a row is looked for here, UNKNOWN when it names what is new here."""
        named = model._meta.get_field(name).related_model
        if named in self.standing_in:
            return self.standing_in[named]
        value = row.values.get(name)
        if named is None or value is None:
            return value
        return self.known.get(named, {}).get(value, UNKNOWN)

    def _give_places(self):
        new = {
            model: [row.number for row in found if row.number not in self.known.get(model, {})]
            for model, found in self.rows.items()
        }
        keep = self.keep_numbers and not any(_taken(model, many) for model, many in new.items())
        for model, numbers in new.items():
            keys = numbers if keep else _fresh(model, len(numbers))
            known = self.known.get(model, {})
            self.places[model] = known | dict(zip(numbers, keys, strict=True))

    def store_files(self):
        """Store the rows' files; a row whose file's name was taken gets the new one."""
        for model, rows in self.rows.items():
            for file_field in self.scope.fields_of(model):
                if isinstance(file_field, models.FileField):
                    for row in rows:
                        self._store_file(model, row, file_field)

    def _store_file(self, model, row, file_field):
        if name := row.values[file_field.name]:
            content = _as_uploaded(b"".join(self.package.chunks(FILES + name)), file_field, name)
            row.values[sha256_name(file_field)] = hashlib.sha256(content).hexdigest()
            storage = file_field.storage
            new = storage.save(name, ContentFile(content), max_length=file_field.max_length)
            self.stored[model, row.number, file_field.name] = storage, new
            row.values[file_field.name] = new

    @property
    def unneeded(self):
        """The stored files of rows that are known here, and stayed as they are here."""
        return {
            key: one for key, one in self.stored.items() if key[1] in self.known.get(key[0], ())
        }

    def drop_files(self, files):
        for storage, name in files.values():
            storage.delete(name)

    def _insert(self, model, rows):
        """Insert rows; returns (model, primary key, values) of what makes them signed or sealed."""
        hold = getattr(self.scope.going[model], "held", {})
        made = [self._made(model, row) for row in rows]
        changes = []
        for one in made:
            final = {name: getattr(one, name) for name in hold}
            if final != dict(hold):
                changes.append((model, one.pk, final))
            for name, meanwhile in hold.items():
                setattr(one, name, meanwhile)
        model._base_manager.bulk_create(made, batch_size=BATCH)
        return changes

    def _made(self, model, row):
        references, loose = self.scope.references_of(model), loose_reference(model)
        one = model(pk=self.places[model][row.number])
        for each in self.scope.fields_of(model):
            value = row.values[each.name]
            if loose and each.name == loose.ct_field:
                number = row.values[loose.fk_field]
                setattr(one, loose.ct_field, ContentType.objects.get_for_model(value))
                setattr(one, loose.fk_field, self.places[value][number])
            elif loose and each.name == loose.fk_field:
                continue
            elif each in references and value is not None:
                setattr(one, each.attname, self.places[each.related_model][value])
            elif each.is_relation:
                setattr(one, each.attname, self.standing_in.get(each.related_model))
            else:
                setattr(one, each.attname, value)
        if isinstance(one, SignedRecord):
            one.numbers = _renumbered(one, self.places)
        if isinstance(one, User):
            one.password = make_password(None)
            one.username = _free_username(one.username)
        return one

    def keep_higher(self, model, rows):
        """Of rows known here, let the higher value stand where the rule says so."""
        for name in getattr(self.scope.going[model], "higher", ()):
            for row in rows:
                here = model._base_manager.filter(pk=self.known[model][row.number])
                value = row.values[name]
                here.filter(**{f"{name}__lt": value}).update(**{name: value})


def _as_uploaded(content, file_field, name):
    """A file as it would be kept of an upload: a PDF as it is, a picture made anew."""
    if content.startswith(b"%PDF") and not isinstance(file_field, models.ImageField):
        return content
    try:
        return made_anew(content, name)
    except ValidationError as error:
        raise Refused(f"The file '{name}' is neither a PDF nor a picture that is taken.") from error


def _renumbered(record, places):
    """Under which numbers the rows of a signed record are found here."""
    try:
        return renumbered(record, places)
    except UNREADABLE as error:
        raise Refused(f"What was signed as '{record}' cannot be read.") from error


def _are_two_people(found, row):
    """Whether one user name stands for two mail addresses."""
    addresses = {getattr(found, "email", ""), row.values.get("email", "")} - {""}
    return isinstance(found, User) and len(addresses) > 1


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


def _free_username(name):
    """The name, or with a number behind it where somebody else has it here."""
    wanted, count = name, 1
    while User.objects.filter(username=name).exists():
        count += 1
        name = f"{wanted[:140]}-{count}"
    return name


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
