"""One shop with at least one record of everything, for pages to be found and filled in."""

from decimal import Decimal

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from alignment.adjusting.services import record_adjustment
from alignment.incidents.services import log_incident_at
from alignment.register.kinds import keep_as_kind
from alignment.sheets.scans import clean_scan
from alignment.sheets.services import attach_scan
from alignment.sweeps.services import save_check
from machines.drive.inspecting import inspect_belt
from machines.drive.models import Assembly
from machines.drive.services import note_rebuild, pin_photo
from machines.planning.visit_planning import chosen, key_of, open_items, plan_visit, propose
from machines.register.models import Machine
from machines.visit_work.services import add_machine_to_visit, add_photo
from shop.billing.models import Quote, Rate, TaxCategory
from shop.billing.quotes import Priced, issue_quote, quotables
from shop.calendar.services import close_days
from shop.calendar.times import Slot
from shop.people.models import Role, Shop
from shop.sandbox.synthetic_data import Asked, make_fleet
from shop.visits.models import Visit
from shop.visits.services import correct_visit, issue_report, open_visit
from tests.factories import PartFactory, item_of, station_of, today, typed_sweep, workday
from tests.fuzz.nasty import files


def furnish():
    """A small fleet, then work under way on its first machine; returns its people by role."""
    make_fleet(Asked(machines=3, years=1, seed=1, shops=1))
    shop = Shop.objects.get()
    people = {role: shop.memberships.filter(role=role).first().user for role in Role}
    machine = Machine.objects.filter(bearings__isnull=False).distinct().first()
    _break(machine, people)
    _work(shop, machine, people)
    _look_ahead(shop, people)
    return people


def _break(machine, people):
    log_incident_at(
        machine=machine,
        stations=[station_of(machine, "guide bushing")],
        made_by=people[Role.OPERATOR],
        happened_at=timezone.now(),
        kind="hit",
        what_hit="drill",
        hit_what="collet",
        severity="hard",
        may_run=False,
        photos=[_photo()],
    )


def _work(shop, machine, people):
    by = people[Role.CONTRACTOR]
    firm = shop.memberships.filter(user=by).get().firm
    visit = open_visit(shop=shop, firm=firm, contractor=by, purpose="after the crash", made_by=by)
    visited = add_machine_to_visit(visit, machine, incident=machine.incidents.first())
    item = item_of(machine, "guide bushing")
    check = {"visit": visit, "item": item, "made_by": by}
    save_check(phase="as found", sweep=typed_sweep(3, 9), **check)
    record_adjustment(visit=visit, station=item.station, what="eased", made_by=by)
    save_check(phase="as left", sweep=typed_sweep(1, 1), **check)
    teeth = {3: "cracked", 4: "worn"}
    looked = inspect_belt(belt=machine.belts.first(), visit=visit, made_by=by, teeth=teeth)
    pin_photo(looked, tooth=3, photo=_photo())
    add_photo(visited=visited, image=_photo(), caption="the collet", made_by=by)
    note_rebuild(
        assembly=Assembly.objects.filter(machine=machine).first(),
        made_by=by,
        visit=visit,
        rebuilt_on=today(),
        who=by.name,
        fitted="both bearings",
        feel_before="gritty",
        feel_after="smooth",
    )
    file, kind = clean_scan(SimpleUploadedFile("sheet.png", _image(), "image/png"))
    attach_scan(sheet=machine.sheets.first(), file=file, kind=kind, made_by=by)
    PartFactory(shop=shop, number="OWN-1")
    keep_as_kind(machine, firm=firm, made_by=by)
    signed = Visit.objects.filter(state="signed").first()
    issue_report(signed)
    correct_visit(signed, made_by=by, firm=firm, reason="a slip of the pen")
    _offer(shop, firm, by)


def _offer(shop, firm, by):
    assert Rate.objects.filter(firm=firm).exists()
    assert TaxCategory.objects.filter(firm=firm).exists()
    offered = [Priced(one, Decimal(60), Decimal(1)) for one in quotables(shop, firm)[:2]]
    issue_quote(shop=shop, firm=firm, made_by=by, offered=offered)
    assert Quote.objects.exists()


def _look_ahead(shop, people):
    owner, by = people[Role.OWNER], people[Role.CONTRACTOR]
    firm = shop.memberships.filter(user=by).get().firm
    day = timezone.localdate(timezone=shop.zone)
    close_days(shop=shop, first=day, last=day, why="holiday", made_by=owner)
    items = open_items(shop)
    pairs = chosen(items, [key_of(item) for item in items[:2]])
    slots = [Slot(workday(shop, days)) for days in (9, 13)]
    propose(shop=shop, firm=firm, purpose="checks", slots=slots, pairs=pairs, made_by=owner)
    plan_visit(
        shop=shop,
        firm=firm,
        contractor=by,
        purpose="checks",
        slot=slots[0],
        pairs=pairs[:1],
        made_by=by,
    )


def _photo():
    return ContentFile(_image(), "photo.png")


def _image():
    return next(data for name, _type, data in files() if name == "fine.png")
