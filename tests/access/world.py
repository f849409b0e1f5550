"""A shop with one record of every kind that an address names, and the cast of people around it."""

from datetime import date, timedelta
from decimal import Decimal

from django.contrib.auth.hashers import make_password
from django.core.files.base import ContentFile
from django.test import Client
from django.utils import timezone

from alignment.adjusting.models import AdjustingWay
from alignment.adjusting.services import set_way
from alignment.incidents.services import log_incident_at
from alignment.register.kinds import keep_as_kind
from alignment.sheets.models import SheetScan
from alignment.sweeps.models import Indicator
from alignment.sweeps.services import save_check
from machines.calls.services import note_call
from machines.drive.inspecting import inspect_belt
from machines.drive.services import inspect_bearing, pin_photo
from machines.incidents.models import CheckLine
from machines.incidents.stopping import stop_machine
from machines.planning import visit_planning
from machines.planning.plans import make_plan, mark_done
from machines.visit_work.services import add_machine_to_visit, add_photo, read_meter
from shop.billing.services import add_charge, issue_statement
from shop.calendar.feed import make_address
from shop.calendar.services import close_days
from shop.calendar.times import Slot
from shop.outbox.services import post
from shop.people import letting_in
from shop.people.devices.services import allow_device, new_code
from shop.people.inviting import invite, token_of
from shop.people.models import Role, ToldAnswer
from shop.visits.clock import enter_spell
from shop.visits.services import arrive, sign_and_issue
from tests import factories

from . import rules

NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}


class World:
    """One shop; `mark` is part of every name in it, so that a page that shows any can be told."""

    def __init__(self, mark):
        self.mark = mark
        self.shop = factories.ShopFactory(name=f"{mark} Works", address=f"{mark} Lane 2")
        self.firm = factories.FirmFactory(name=f"{mark} Service")
        self.people = {
            rules.OWNER: self._member(Role.OWNER),
            rules.OPERATOR: self._member(Role.OPERATOR),
            rules.CONTRACTOR: self._member(Role.CONTRACTOR, firm=self.firm),
        }
        self._invite()
        self._share_a_device()
        self._set_up_machine()
        self._work_at_a_visit()
        self._sign_and_charge()
        self._plan_ahead()

    @property
    def owner(self):
        return self.people[rules.OWNER]

    @property
    def contractor(self):
        return self.people[rules.CONTRACTOR]

    def args(self, records):
        """What stands in the address of the records named, in order."""
        found = (getattr(self, name) for name in records.split())
        return [one if isinstance(one, str) else one.pk for one in found]

    def _sign_in_of_somebody(self):
        """Where somebody else is signed in."""
        somebody = factories.UserFactory()
        Client().force_login(somebody)
        return somebody.sign_ins.get()

    def _member(self, role, *, shop=None, firm=None):
        user = factories.UserFactory(last_name=f"{self.mark} {role}")
        shop = shop or self.shop
        factories.MembershipFactory(user=user, shop=shop, role=role, firm=firm)
        return user

    def invite_everybody_else(self):
        """The rest of the cast: others of the firm, other firms, other shops, who left."""
        elsewhere = factories.ShopFactory(name=f"{self.mark} Other Works")
        former = self._member(Role.OWNER)
        former.memberships.update(ended_at=timezone.now())
        self.people |= {
            rules.ADMIN: self._member(Role.CONTRACTOR, firm=self.firm),
            rules.RIVAL: self._member(Role.CONTRACTOR, firm=factories.FirmFactory()),
            rules.COLLEAGUE: self._member(Role.CONTRACTOR, shop=elsewhere, firm=self.firm),
            rules.STRANGER: self._member(Role.OWNER, shop=elsewhere),
            rules.OUTSIDER: self._member(
                Role.CONTRACTOR, shop=elsewhere, firm=factories.FirmFactory()
            ),
            rules.FORMER: former,
        }
        self.firm_place.user = self.people[rules.ADMIN]
        self.firm_place.save()

    def _share_a_device(self):
        """A device at the machines that waits to be set up."""
        self.operator = self.people[rules.OPERATOR]
        self.shared_device = allow_device(
            shop=self.shop, name=f"{self.mark} tablet", made_by=self.owner
        )
        self.device_code = new_code(self.shared_device)

    def _invite(self):
        """Invitations, and the places that can be ended: of an operator, and in the firm."""
        self.membership = self.people[rules.OPERATOR].memberships.get()
        self.firm_place = factories.FirmMembershipFactory(
            user=factories.UserFactory(last_name=f"{self.mark} lead"),
            firm=self.firm,
            is_admin=True,
        )
        self.invitation = invite(
            email=f"{self.mark}@shop.example", role="operator", shop=self.shop, made_by=self.owner
        )
        self.token = token_of(self.invitation)
        newcomer = factories.UserFactory(password=make_password(None))
        self.welcome_token = letting_in.token_of(newcomer)
        self.reset_user, self.reset_token = "MQ", "set-password"
        self.sign_in = self._sign_in_of_somebody()
        self.letter = post(
            to=f"{self.mark}@shop.example",
            subject=f"{self.mark} letter",
            body="",
            made_by=self.owner,
        )

    def _set_up_machine(self):
        self.machine = factories.five_station_machine(
            self.shop, number=f"{self.mark}-1", name=f"slider {self.mark}"
        )
        self.machine_code = self.machine.code
        self.firm_kind = keep_as_kind(self.machine, firm=self.firm, made_by=self.contractor)
        self.kind_slug = self.firm_kind.slug
        self.stopped = factories.MachineFactory(shop=self.shop, number=f"{self.mark}-2")
        stop_machine(self.stopped, by=self.owner)
        self.axis = self.machine.axes.first()
        self.belt, self.belt_with_part = self.machine.belts.order_by("pk")
        self.bearing = factories.BearingFactory(machine=self.machine, name=f"{self.mark} place")
        self.assembly = factories.AssemblyFactory(machine=self.machine)
        self.part = factories.PartFactory(shop=self.shop, description=f"{self.mark} belt")
        self.firm_part = factories.PartFactory(
            shop=None, firm=self.firm, description=f"{self.mark} spare"
        )
        self.item = factories.item_of(self.machine, "guide bushing")
        self.station, self.sheet = self.item.station, self.item.sheet
        self.way_kind = "shift"
        set_way(self.station, AdjustingWay(station=self.station, kind="shift"))
        self.scan = SheetScan.objects.create(
            sheet=self.sheet,
            file=ContentFile(b"%PDF", name="a.pdf"),
            kind="application/pdf",
            made_by=self.owner,
        )
        self.reading = read_meter(
            machine=self.machine, made_by=self.owner, value=Decimal(812), read_at=timezone.now()
        )

    def _work_at_a_visit(self):
        self.incident = log_incident_at(
            machine=self.machine,
            made_by=self.people[rules.OPERATOR],
            stations=[self.station],
            photos=[ContentFile(b"jpeg", name="a.jpg")],
            happened_at=timezone.now(),
            what_hit=f"{self.mark} holder",
            hit_what="sub-spindle nose",
            severity="hard",
            may_run=True,
        )
        self.photo = self.incident.photos.get()
        self.call = note_call(
            shop=self.shop,
            firm=self.firm,
            machine=self.machine,
            who=f"{self.mark} foreman",
            says=f"{self.mark} noise",
            made_by=self.contractor,
        )
        self.visit = self._visit(f"{self.mark} crash")
        self.visit_app, self.visit_model = "shop", "visit"
        arrive(self.visit)
        self.visited = add_machine_to_visit(self.visit, self.machine, incident=self.incident)
        self.check_line = CheckLine.objects.filter(visited=self.visited).first()
        given = {"made_by": self.contractor, "visit": self.visit}
        self.check = save_check(
            item=self.item, phase="as found", sweep=factories.typed_sweep(12, 5), **given
        )
        self.withdrawable = self.check.withdrawal_key
        self.finding_photo = add_photo(
            visited=self.visited,
            image=ContentFile(b"jpeg", name="a.jpg"),
            caption=f"{self.mark} housing",
            made_by=self.contractor,
        )
        begun = timezone.now() - timedelta(hours=2)
        self.spell = enter_spell(
            who=self.contractor,
            kind="work",
            began_at=begun,
            ended_at=begun + timedelta(hours=1),
            **given,
        )
        self.inspection = inspect_belt(
            belt=self.belt_with_part, teeth={3: "marked", 4: "marked"}, made_by=self.owner
        )
        self.recommendation = self.machine.recommendations.first()
        self.tooth_photo = pin_photo(
            self.inspection, tooth=3, photo=ContentFile(b"jpeg", name="a.jpg")
        )
        self.bearing_inspection = inspect_bearing(
            bearing=self.bearing, feel="stiff", made_by=self.owner
        )

    def _sign_and_charge(self):
        self.rate = factories.RateFactory(firm=self.firm, name=f"{self.mark} rate")
        self.tax = self.rate.tax
        self.indicator = Indicator.objects.create(
            firm=self.firm,
            name=f"{self.mark} lever",
            serial="7",
            resolution_um=1,
            resolution_typed="1",
            error_um=1,
            error_typed="1",
            unit="um",
        )
        self.signed = sign_and_issue(self._visit(f"{self.mark} realigned"), **NAMES).visit
        self.charge = add_charge(
            self.signed,
            made_by=self.contractor,
            text=f"{self.mark} gauge hire",
            price=Decimal(10),
            quantity=Decimal(1),
            tax=self.tax,
        )
        billed = sign_and_issue(self._visit(f"{self.mark} billed"), **NAMES).visit
        add_charge(
            billed,
            made_by=self.contractor,
            text=f"{self.mark} belt",
            price=Decimal(10),
            quantity=Decimal(1),
            tax=self.tax,
        )
        self.statement = issue_statement(billed, made_by=self.contractor)
        self.statement_document = self.statement.document
        self.code = self.statement_document.code
        self.told = ToldAnswer.objects.create(
            shop=self.shop,
            firm=self.firm,
            told_by=f"{self.mark} owner",
            how="phone",
            told_on=timezone.localdate(),
            what=f"{self.mark} belt: approved",
            made_by=self.contractor,
        )
        self.firm_part_name = "letterhead"
        self.quote = factories.QuoteFactory(shop=self.shop, firm=self.firm, made_by=self.contractor)

    def _plan_ahead(self):
        self.plan = make_plan(
            shop=self.shop,
            machine=self.machine,
            made_by=self.owner,
            what=f"{self.mark} way oil",
            kind="lubrication",
            weeks=1,
            starts_on=factories.today(),
        )
        self.closing = mark_done(self.plan, self.machine, made_by=self.owner)
        self.proposal = visit_planning.propose(
            shop=self.shop,
            firm=self.firm,
            purpose=f"{self.mark} checks",
            slots=[Slot(_a_monday_ahead())],
            pairs=[],
            made_by=self.owner,
        )
        day = date(2030, 7, 1)
        close_days(shop=self.shop, made_by=self.owner, first=day, last=day, why=self.mark)
        self.closed = self.shop.closed_days.get()
        self.secret = make_address(self.owner)

    def _visit(self, purpose):
        return factories.VisitFactory(
            shop=self.shop, firm=self.firm, contractor=self.contractor, purpose=purpose
        )


def _a_monday_ahead():
    day = factories.today() + timedelta(days=30)
    return day + timedelta(days=-day.weekday() % 7)
