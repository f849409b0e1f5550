"""Who may open and send what: one rule for each address of the site, by the address's name.

Declare a new address here, in one line:

    "machines:belt": shows("belt")                     looked at by everybody of the shop
    "machines:edit_belt": form("belt", DESK)           opened and sent by owner and contractor
    "shop:closed_days": form("shop", ALL, {OWNER})     opened by all, sent by the owner only
    "shop:arrive": action("visit", OWN_FIRM)        only sent, never opened

The first argument names the records in the address, as `tests/access/world.py` calls them, in the
address's order; "" for an address without a record. `seen_by` narrows to whom the record exists at
all: everybody else gets 404. Whoever sees it without being named gets 403.
"""

from dataclasses import dataclass, field

OWNER, OPERATOR = "owner", "operator"
CONTRACTOR, ADMIN, RIVAL = "contractor", "firm admin", "contractor of another firm"
COLLEAGUE = "contractor of the firm elsewhere"
STRANGER, OUTSIDER = "owner of another shop", "contractor of another shop"
FORMER, ANONYMOUS = "former owner", "nobody signed in"
ROLES = [
    OWNER, OPERATOR, CONTRACTOR, ADMIN, RIVAL, COLLEAGUE, STRANGER, OUTSIDER, FORMER, ANONYMOUS,
]  # fmt: skip

ALL = frozenset({OWNER, OPERATOR, CONTRACTOR, ADMIN, RIVAL})
CONTRACTORS = frozenset({CONTRACTOR, ADMIN, RIVAL})
DESK = CONTRACTORS | {OWNER}
# The firm's own people, at whatever shop; and those whom a visit's money concerns.
FIRM = frozenset({CONTRACTOR, ADMIN, COLLEAGUE})
OWN_FIRM = frozenset({CONTRACTOR, ADMIN})
MONEY = OWN_FIRM | {OWNER}
# For addresses without a record: what somebody is anywhere.
SIGNED_IN = frozenset(ROLES) - {ANONYMOUS}
MEMBERS = SIGNED_IN - {FORMER}
SERVICE = frozenset({CONTRACTOR, ADMIN, RIVAL, COLLEAGUE, OUTSIDER})
NOBODY = frozenset()


@dataclass(frozen=True)
class Rule:
    """The records of an address, who may open it, who may send to it, for whom they exist.

    `public`: needs no sign-in; whoever holds the address may open it. `data`: what has to be sent
    for the address to know what is asked of it.
    """

    records: str
    opens: frozenset = NOBODY
    sends: frozenset = NOBODY
    seen_by: frozenset = ALL
    is_shown: bool = True
    is_sent: bool = True
    public: bool = False
    data: dict = field(default_factory=dict)

    def status(self, method, role):
        """The status a role is answered with; "in" for being let in, whatever comes then."""
        if self.public:
            return "in" if (self.is_shown if method == "get" else self.is_sent) else 405
        if role == ANONYMOUS:
            return "sign in"
        if not (self.is_shown if method == "get" else self.is_sent):
            return 405
        if role not in self.seen_by:
            return 404
        return "in" if role in (self.opens if method == "get" else self.sends) else 403


def shows(records, opens=None, **more):
    """A page or file that takes nothing in."""
    seen_by = more.setdefault("seen_by", ALL if records else SIGNED_IN)
    return Rule(records, opens=opens or seen_by, is_sent=False, **more)


def form(records, opens, sends=None, **more):
    """A page that is opened and sent, by the same people unless told otherwise."""
    more.setdefault("seen_by", ALL if records else SIGNED_IN)
    return Rule(records, opens=opens, sends=opens if sends is None else sends, **more)


def action(records, sends, **more):
    """Something that is only sent."""
    more.setdefault("seen_by", ALL if records else SIGNED_IN)
    return Rule(records, sends=sends, is_shown=False, **more)


RULES = {
    # Whoever is signed in, for themselves; a list holds what the person may see.
    "shop:home": shows(""),
    "machines:open": shows("", seen_by=MEMBERS),
    "machines:open_work": shows("", seen_by=SERVICE),
    "machines:new_call": form("", SERVICE, seen_by=SERVICE),
    "machines:call": form("call", OWN_FIRM, seen_by=OWN_FIRM),
    "shop:visits": shows(""),
    "shop:search": shows(""),
    "shop:statements": shows(""),
    "shop:statement_lines": shows(""),
    "shop:quotes": shows(""),
    "shop:calendar": shows(""),
    "shop:waiting": shows(""),
    "shop:my_settings": form("", SIGNED_IN),
    "shop:feed_address": form("", SIGNED_IN),
    "shop:outgoing_mail": shows(""),
    "shop:try_mail_again": action("letter", {OWNER}, seen_by={OWNER}),
    "shop:sign_out": action("", SIGNED_IN),
    "shop:my_pin": form("", SIGNED_IN),
    "shop:password": form("", SIGNED_IN),
    "shop:second_factor": form("", SIGNED_IN),
    "shop:second_factor_picture": shows(""),
    "shop:sign_ins": shows(""),
    "shop:end_sign_in": action("sign_in", NOBODY, seen_by=NOBODY),
    "shop:end_other_sign_ins": action("", SIGNED_IN),
    "machines:machines": shows(""),
    "machines:parts": shows(""),
    "machines:lives": shows(""),
    "machines:due": shows(""),
    "alignment:risk": shows(""),
    "machines:plans": shows(""),
    "machines:trips": shows(""),
    "machines:new_part": form("", MEMBERS - {OPERATOR}),
    "machines:import_parts": form("", MEMBERS - {OPERATOR}),
    "machines:import_readings": form("", MEMBERS),
    "alignment:new_machine": form("", MEMBERS - {OPERATOR}),
    "alignment:list_in": form("", MEMBERS - {OPERATOR}),
    "alignment:list_template": shows("", MEMBERS - {OPERATOR}),
    "machines:kinds": shows(""),
    "machines:kind": form("kind_slug", FIRM, seen_by=FIRM),
    "machines:kind_picture": shows("kind_slug", FIRM, seen_by=FIRM),
    "machines:drop_kind": action("firm_kind", FIRM, seen_by=FIRM),
    # Only at a shared device.
    "machines:at_device": shows("", seen_by=NOBODY),
    "alignment:indicators": shows("", SERVICE),
    "alignment:new_indicator": form("", SERVICE),
    # For whoever holds the address.
    "shop:sign_in": Rule("", public=True),
    # Closed once a site has people, and where it has no certificate of its own.
    "shop:begin": Rule("", public=True),
    "shop:begin_with": Rule("token", public=True),
    "shop:trust": Rule("", public=True, is_sent=False),
    "shop:authority": Rule("", public=True, is_sent=False),
    "shop:sign_in_code": Rule("", public=True),
    "shop:forgotten": Rule("", public=True),
    "shop:forgotten_sent": Rule("", public=True, is_sent=False),
    "shop:reset": Rule("reset_user reset_token", public=True),
    "shop:manifest": Rule("", public=True, is_sent=False),
    "shop:service_worker": Rule("", public=True, is_sent=False),
    "shop:check": Rule("code", public=True),
    "shop:invitation": Rule("token", public=True),
    "shop:welcome": Rule("welcome_token", public=True),
    "shop:healthz": Rule("", public=True, is_sent=False),
    "shop:device": Rule("", public=True),
    "shop:device_pin": Rule("operator", public=True),
    "shop:device_done": Rule("", public=True, is_shown=False),
    "shop:device_set_up": Rule("device_code", public=True),
    "shop:feed": Rule("secret", public=True, is_sent=False),
    # A visit and what is done at it.
    "shop:visit": shows("visit"),
    "shop:changes": shows("visit_app visit_model visit"),
    "shop:report": shows("visit"),
    "shop:arrive": action("visit", OWN_FIRM),
    "shop:come_back": form("visit", OWN_FIRM),
    "shop:settle_come_back": form("signed", OWN_FIRM),
    "shop:sign": form("visit", OWN_FIRM),
    "shop:correct": form("signed", OWN_FIRM),
    "shop:move_visit": form("visit", OWN_FIRM),
    "shop:call_off": form("visit", OWN_FIRM | {OWNER}),
    "shop:clock": action("visit", OWN_FIRM),
    "shop:times": form("visit", ALL, OWN_FIRM),
    "shop:spell": form("spell", OWN_FIRM),
    "shop:remove_spell": action("spell", OWN_FIRM),
    "machines:add_machine": form("visit", OWN_FIRM),
    "machines:belt_off": action("visit belt", OWN_FIRM),
    "machines:finding_photos": form("visited", OWN_FIRM),
    "machines:finding_photo": shows("finding_photo"),
    "machines:remove_finding_photo": action("finding_photo", OWN_FIRM),
    "machines:findings": form("visited", OWN_FIRM),
    "machines:check_line": action("check_line", OWN_FIRM),
    "machines:bring": shows("visit"),
    "alignment:sweep": form("visit item", OWN_FIRM),
    "alignment:try_sweep": action("visit item", OWN_FIRM),
    "alignment:try_picture": shows("visit item", OWN_FIRM),
    "alignment:close_loop": form("visit station", OWN_FIRM),
    "alignment:adjust": form("visit station", OWN_FIRM),
    "alignment:what_moved": shows("visit machine", OWN_FIRM, seen_by=ALL),
    "shop:withdraw": form("visit withdrawable", OWN_FIRM),
    "shop:restore": action("visit withdrawable", OWN_FIRM),
    "alignment:skip": action("visit", OWN_FIRM),
    "alignment:thread_bar": shows("visit item", OWN_FIRM),
    "alignment:card": form("visit station", ALL, OWN_FIRM),
    # Money: the shop's owner and the firm it is owed to; operators and other firms find nothing.
    "shop:charges": form("signed", OWN_FIRM, seen_by=MONEY),
    "shop:first_price": action("signed", OWN_FIRM, seen_by=MONEY),
    "shop:fill_in": action("signed", OWN_FIRM, seen_by=MONEY),
    "shop:add_fixed": action("signed", OWN_FIRM, seen_by=MONEY),
    "shop:add_charge": form("signed", OWN_FIRM, seen_by=MONEY),
    "shop:issue_statement": action("signed", OWN_FIRM, seen_by=MONEY),
    "shop:statement_draft": shows("visit", OWN_FIRM, seen_by=MONEY),
    "shop:charge": form("charge", OWN_FIRM, seen_by=MONEY),
    "shop:remove_charge": action("charge", OWN_FIRM, seen_by=MONEY),
    "shop:statement": form("statement", MONEY, OWN_FIRM, seen_by=MONEY),
    "shop:credit": form("statement", OWN_FIRM, seen_by=MONEY),
    "shop:quote": form("quote", MONEY, seen_by=MONEY),
    "shop:plan_quote": action("quote", OWN_FIRM, seen_by=MONEY),
    "shop:new_quote": form("shop", CONTRACTORS),
    "shop:document": shows("statement_document", seen_by=MONEY),
    "shop:send": form("statement_document", OWN_FIRM, seen_by=MONEY),
    # The firm's own.
    "shop:firm": shows("firm", FIRM, seen_by=FIRM),
    "shop:firm_form": form("firm firm_part_name", {ADMIN}, seen_by=FIRM),
    "shop:numbers": form("firm", FIRM, seen_by=FIRM),
    "shop:customers": shows("firm", FIRM, seen_by=FIRM),
    "shop:new_customer": form("firm", FIRM, seen_by=FIRM),
    "shop:add_rate": form("firm", FIRM, seen_by=FIRM),
    "shop:rate": form("rate", FIRM, seen_by=FIRM),
    "shop:add_tax": form("firm", FIRM, seen_by=FIRM),
    "shop:tax": form("tax", FIRM, seen_by=FIRM),
    "alignment:indicator": form("indicator", FIRM, seen_by=FIRM),
    # Who belongs where.
    "shop:people": form("shop", ALL, {OWNER}),
    "shop:membership": form("membership", {OWNER, OPERATOR}),
    "shop:invitation_link": shows("invitation", {OWNER}),
    "shop:resend_invitation": action("invitation", {OWNER}),
    "shop:revoke_invitation": action("invitation", {OWNER}),
    "shop:firm_people": form("firm", FIRM, {ADMIN}, seen_by=FIRM),
    "shop:firm_membership": form("firm_place", {ADMIN}, seen_by=FIRM),
    # The shop and who comes. A firm may do what owners do only while it keeps the shop.
    "shop:shop": shows("shop"),
    "shop:edit_shop": form("shop", {OWNER}),
    "shop:customer": form("shop", CONTRACTORS),
    "shop:close_customer": form("shop", NOBODY),
    "shop:reopen_customer": action("shop", NOBODY),
    "shop:told_answers": shows("shop", DESK),
    "shop:told_answer": form("told", MONEY, {OWNER}, seen_by=MONEY),
    "shop:devices": form("shop", {OWNER}),
    "shop:device_code": action("shared_device", {OWNER}),
    "shop:revoke_device": action("shared_device", {OWNER}),
    "shop:closed_days": form("shop", ALL, {OWNER}),
    "shop:closed_weekdays": action("shop", {OWNER}),
    "shop:open_again": action("closed", {OWNER}),
    "machines:thresholds": form("shop", ALL, {OWNER}),
    "machines:year": shows("shop", DESK),
    "machines:shop_downtime": shows("shop", DESK),
    "machines:propose": form("shop", {OWNER}),
    "machines:plan_visit": form("shop", CONTRACTORS),
    "machines:proposal": shows("proposal", seen_by=MONEY | {OPERATOR}),
    "machines:answer_proposal": action(
        "proposal", OWN_FIRM, seen_by=MONEY | {OPERATOR}, data={"answer": "accept"}
    ),
    "machines:new_plan": form("shop", DESK),
    "machines:plan": shows("plan"),
    "machines:change_plan": form("plan", DESK),
    "machines:end_plan": form("plan", DESK),
    "machines:plan_done": form("plan machine", ALL),
    "machines:plan_skip": form("plan machine", DESK),
    "machines:reopen_plan": action("closing", DESK),
    # A machine, its drive train and its datum chain.
    "machines:at_machine": shows("machine_code"),
    "machines:machine": shows("machine"),
    "machines:label": shows("machine"),
    "machines:hand_over": form("machine", {OWNER}),
    "machines:take_over": form("shop", {OWNER}),
    "shop:export": form("shop", {OWNER}),
    "machines:history": shows("machine"),
    "machines:changes": shows("machine"),
    "machines:issue_history": form("machine", DESK),
    "machines:print_label": action("machine", ALL, data={"size": "62x29"}),
    "machines:retire": form("machine", DESK),
    "machines:put_back": form("machine", DESK),
    "machines:downtime": shows("machine"),
    "machines:stop": form("machine", ALL),
    "machines:release": form("stopped", DESK),
    "machines:open_visit": form("machine", CONTRACTORS),
    "machines:incident": form("incident", ALL, DESK),
    "machines:same_incident": action("incident", ALL, data={"both": "yes"}),
    "machines:photo": shows("photo"),
    "machines:recommendation": form("recommendation", ALL, DESK),
    "machines:recommend": form("machine", DESK),
    "alignment:sweep_without_limit": action("visit station", OWN_FIRM),
    "alignment:copy_machine": form("machine", DESK),
    "alignment:change_machine": form("machine", DESK),
    "alignment:keep_as_kind": action("machine", CONTRACTORS),
    "alignment:machine_picture": shows("machine"),
    "alignment:drawn_machine": shows("machine"),
    "alignment:stations": shows("machine"),
    "alignment:new_station": form("machine", DESK),
    "alignment:move_station": action("station", DESK),
    "alignment:end_station": form("station", DESK),
    "machines:remove_belt": action("belt", DESK),
    "machines:remove_bearing": action("bearing", DESK),
    "machines:remove_assembly": action("assembly", DESK),
    "machines:axes": form("machine", DESK),
    "machines:axis": form("axis", DESK),
    "machines:remove_axis": action("axis", DESK),
    "machines:drive": shows("machine"),
    "machines:new_belt": form("machine", DESK),
    "machines:new_bearing": form("machine", DESK),
    "machines:new_assembly": form("machine", DESK),
    "machines:belt": shows("belt"),
    "machines:edit_belt": form("belt", DESK),
    "machines:inspect_belt": form("belt", ALL),
    "machines:fit_belt": form("belt", DESK),
    "machines:inspection": shows("inspection"),
    "machines:inspection_picture": shows("inspection"),
    "machines:pin_photo": form("inspection", ALL),
    "machines:tooth_photo": shows("tooth_photo"),
    "machines:bearing": shows("bearing"),
    "machines:edit_bearing": form("bearing", DESK),
    "machines:inspect_bearing": form("bearing", ALL),
    "machines:fit_bearing": form("bearing", DESK),
    "machines:bearing_inspection": shows("bearing_inspection"),
    "machines:assembly": shows("assembly"),
    "machines:edit_assembly": form("assembly", DESK),
    "machines:rebuild": form("assembly", DESK),
    "machines:part": shows("part"),
    "machines:edit_part": form("part", {OWNER}),
    "machines:meters": shows("machine"),
    "machines:read_meter": form("machine", ALL),
    "machines:leave_reading_out": form("reading", ALL),
    "alignment:log_incident": form("machine", ALL),
    "alignment:sheet": shows("machine"),
    "alignment:sheets": shows("machine"),
    "alignment:new_sheet": form("machine", DESK),
    "alignment:import_sheet": form("machine", DESK),
    "alignment:one_sheet": shows("sheet"),
    "alignment:put_sheet_in_force": action("sheet", DESK),
    "alignment:new_scan": form("sheet", DESK),
    "alignment:sheet_scan": shows("scan"),
    "alignment:check_sheet": action("machine", ALL),
    "alignment:placed": shows("machine"),
    "alignment:edit_station": form("station", DESK),
    "alignment:setup_picture": shows(""),
    "alignment:ways": shows("station"),
    "alignment:movers": form("station", DESK),
    "alignment:way": form("station way_kind", DESK),
    "alignment:drop_way": action("station way_kind", DESK),
    "alignment:check": shows("check"),
    "alignment:check_picture": shows("check"),
    "alignment:item": shows("item"),
    "alignment:series_picture": shows("item"),
    "alignment:series_csv": shows("item"),
    "alignment:drift_picture": shows("item"),
    "alignment:track_picture": shows("item"),
    "alignment:forecast_csv": shows("item"),
    "alignment:moves_csv": shows("item"),
}
