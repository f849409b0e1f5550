"""Settings of the site, read from the environment where an installation differs.

Nothing needs to be set for a first run: the database is SQLite in `.local/`, mail is printed.
"""

import os
import secrets
from datetime import timedelta
from pathlib import Path

import dj_database_url
from reportlab import rl_config

from .logs import JSON_LINES

BASE_DIR = Path(__file__).resolve().parent.parent
LOCAL_DIR = Path(os.environ.get("SWEEPBOOK_DATA", BASE_DIR / ".local"))
LOCAL_DIR.mkdir(parents=True, exist_ok=True)


def _flag(name, default="0"):
    return os.environ.get(name, default).lower() in {"1", "true", "yes", "on"}


def _secret_key():
    """The key from the environment, else one made once for this folder and kept beside the data."""
    if key := os.environ.get("SECRET_KEY"):
        return key
    kept = LOCAL_DIR / "secret_key"
    if not kept.exists():
        kept.write_text(secrets.token_urlsafe(50))
        kept.chmod(0o600)
    return kept.read_text().strip()


SECRET_KEY = _secret_key()
DEBUG = _flag("SWEEPBOOK_DEBUG")
ALLOWED_HOSTS = os.environ.get("SWEEPBOOK_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
HTTPS = _flag("SWEEPBOOK_HTTPS")
# Where the site is reached from: printed on documents and put into mail.
SITE_ADDRESS = os.environ.get("SWEEPBOOK_ADDRESS", "http://127.0.0.1:8000").rstrip("/")

INSTALLED_APPS = [
    "shop",
    "machines",
    "alignment",
    "django_tables2",
    "django_htmx",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_static",
    "django_otp.plugins.otp_totp",
    "django.forms",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "shop.requestlog.RequestLog",
    "django.middleware.security.SecurityMiddleware",
    "shop.headers.SafetyHeaders",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    # After who is signed in is known, and before those who are not are sent to sign in.
    "shop.devices.middleware.SharedDevices",
    "django_otp.middleware.OTPMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "shop.trail.middleware.NameTheActor",
    "shop.signing_in.sessions.SeenSessions",
    "shop.signing_in.second_factor.SecondFactor",
    "shop.once.AskOnce",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.queued.QueuedEntries",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.context.for_every_page",
            ],
        },
    },
]
FORM_RENDERER = "shop.forms.Renderer"
DJANGO_TABLES2_TEMPLATE = "includes/table.html"

DATABASES = {
    "default": dj_database_url.config(
        default=f"sqlite:///{LOCAL_DIR / 'sweepbook.sqlite3'}",
        conn_max_age=60,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # Writers wait for one another instead of failing, and readers never wait for a writer. What was
    # answered is on the disk, even when the power fails. Without recursive triggers, REPLACE would
    # delete signed rows without asking the freezing triggers.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"
        " PRAGMA recursive_triggers=ON;",
    }
# What is worked out from a shop's records stays here until they change (`shop/standing`).
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"},
    "standing": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "LOCATION": "standing",
        "TIMEOUT": 24 * 60 * 60,
        "OPTIONS": {"MAX_ENTRIES": 4000},
    },
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "shop.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
PASSWORD_RESET_TIMEOUT = 3 * 60 * 60
# Wrong passwords for one name from one address shut that way for a while.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_LOCKOUT_TEMPLATE = "shop/locked_out.html"
AXES_CLIENT_IP_CALLABLE = "shop.signing_in.sessions.client_address"
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
# Whether owners, contractors and staff have to give a second factor; anybody may set one up.
SECOND_FACTOR = _flag("SWEEPBOOK_SECOND_FACTOR", "1" if HTTPS else "0")
OTP_TOTP_ISSUER = "Sweepbook"
OTP_ADMIN_HIDE_SENSITIVE_DATA = True
LOGIN_URL = "shop:sign_in"
LOGIN_REDIRECT_URL = "shop:home"
LOGOUT_REDIRECT_URL = "shop:sign_in"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = LOCAL_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "shop.staticfiles.HashedOnceCollected"},
}
MEDIA_ROOT = Path(os.environ.get("SWEEPBOOK_MEDIA", LOCAL_DIR / "media"))
MEDIA_ROOT.mkdir(parents=True, exist_ok=True)
FILE_UPLOAD_PERMISSIONS = 0o600
BACKUPS = Path(os.environ.get("SWEEPBOOK_BACKUPS", LOCAL_DIR / "backups"))
# The most that the record of one machine may come to when it is taken over, unpacked.
MAX_HANDOVER_BYTES = 500 * 1024 * 1024
MAX_PHOTO_BYTES = 15 * 1024 * 1024

# Mail is printed unless an SMTP server is named.
EMAIL_BACKEND = os.environ.get(
    "SWEEPBOOK_MAIL_BACKEND",
    "django.core.mail.backends.smtp.EmailBackend"
    if "SWEEPBOOK_SMTP_HOST" in os.environ
    else "django.core.mail.backends.console.EmailBackend",
)

EMAIL_HOST = os.environ.get("SWEEPBOOK_SMTP_HOST", "localhost")
EMAIL_PORT = int(os.environ.get("SWEEPBOOK_SMTP_PORT", "25"))
EMAIL_HOST_USER = os.environ.get("SWEEPBOOK_SMTP_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("SWEEPBOOK_SMTP_PASSWORD", "")
EMAIL_USE_TLS = _flag("SWEEPBOOK_SMTP_TLS")
DEFAULT_FROM_EMAIL = os.environ.get("SWEEPBOOK_MAIL_FROM", "sweepbook@localhost")

# JSON lines on standard error when asked for; gunicorn's settings ask.
LOGGING = JSON_LINES if os.environ.get("SWEEPBOOK_LOG") == "json" else {}

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
# The watchman asks from the machine itself, where nothing speaks TLS.
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
# Preloading is a promise about a whole domain in every browser; it is not this site's to give.
SILENCED_SYSTEM_CHECKS = ["security.W021"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# How many proxies stand in front of the site. Only where they set these headers themselves may
# they be believed: else anybody could claim to come over TLS, or from elsewhere.
PROXIES = int(os.environ.get("SWEEPBOOK_PROXIES", "0"))
if PROXIES:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
# Scripts, styles, pictures and fonts come from the site alone, none written into a page.
PAGE_POLICY = {
    "default-src": "'self'",
    "img-src": "'self' data: blob:",
    "object-src": "'none'",
    "base-uri": "'none'",
    "form-action": "'self'",
    "frame-ancestors": "'none'",
}
PERMISSIONS_POLICY = "camera=(self), geolocation=(), microphone=(), payment=(), usb=()"

# What gathers from all three apps is listed here, in the order it appears.
HOME_PANELS = [
    "machines.panels.home_machines",
    "machines.planning.panels.home_due",
    "alignment.panels.home_drift",
    "shop.panels.home_money",
    "shop.planning.panels.proposals_waiting",
]
MACHINE_PANELS = [
    "alignment.panels.chain",
    "machines.panels.incidents",
    "machines.past.panels.downtime",
    "machines.panels.drive_train",
    "machines.planning.panels.plans",
    "machines.planning.panels.meters",
    "machines.panels.recommendations",
    "alignment.panels.series",
]
VISIT_PANELS = [
    "shop.panels.clock",
    "machines.panels.visit_incident",
    "alignment.checklist.check_list",
    "alignment.panels.visit_chain",
    "machines.panels.visit_belts",
    "machines.panels.visit_bearings",
    "machines.planning.panels.visit_work",
    "machines.planning.panels.visit_meters",
    "machines.panels.visit_recommendations",
    "shop.panels.money",
    "shop.panels.documents",
]
AFTER_OPENING_CORRECTION = ["machines.services.bring_corrected_machines"]
BEFORE_SIGNING = [
    "shop.lacks.clocks_still_running",
    "alignment.lacks.stations_not_settled",
    "machines.lacks.parts_not_looked_at",
    "machines.lacks.belts_off_not_inspected",
    "machines.lacks.urgent_replacements_left_open",
    "machines.planning.lacks.wanted_work_left_open",
]
INCIDENT_CHAIN = "alignment.triage.chain_of"
# What a visit is charged with by itself, in the order of the statement.
CHARGE_SOURCES = ["shop.charging.hours", "machines.charging.fitted_parts"]
# What can be quoted to a shop, and what follows from what the owner accepts.
QUOTE_SOURCES = ["machines.quoting.open_advice"]
AFTER_ACCEPTING = ["machines.quoting.approve"]
AFTER_PLANNING_QUOTED = ["machines.quoting.bring_machines"]
AFTER_SIGNING = [
    "machines.services.look_at_incidents",
    "machines.planning.plans.close_what_was_done",
    "shop.billing.charge_what_is_known",
    "alignment.drafts.forget_drafts",
]
# What stands in the calendar and its feed: functions (user, first, last, most) -> list of Entry.
CALENDAR_SOURCES = [
    "shop.planning.entries.closed_days",
    "shop.planning.entries.visits",
    "shop.planning.entries.proposals",
    "machines.planning.entries.due_days",
]
# What stands in tables for lists: functions () that bring all of it up to date.
STANDING_LISTS = [
    "machines.planning.standing.work_out_all",
    "alignment.drifting.risk.work_out_all",
]
# What people are reminded of: functions (user, now) -> list of Reminder.
REMINDER_SOURCES = [
    "machines.planning.reminders.due_work",
    "machines.planning.reminders.replacements_to_decide",
    "shop.planning.reminders.proposals_to_answer",
]
# Planning: what was done at a visit, what a plan may be about, and when the risk of drift comes.
DONE_AT_VISIT = [
    "machines.planning.plans.belts_looked_at",
    "machines.planning.plans.bearings_looked_at",
    "alignment.planning.stations_checked",
]
PLAN_SUBJECTS = [
    "alignment.planning.station_names",
    "machines.planning.plans.belt_names",
    "machines.planning.plans.bearing_names",
]
# The owner's year: what a shop was charged, and what it agreed to pay besides its plans' costs.
# Functions (shop, first day, last day, viewer) -> list of (day, amount without tax, currency).
SPENDING_SOURCES = ["shop.spending.charged"]
AGREED_COST_SOURCES = [
    "shop.spending.accepted_quotes",
    "machines.planning.spending.approved_advice",
]
# Functions (machines, risk) -> {machine pk: the day the risk of drift reaches it, or None}.
RISK_DATES = ["alignment.drifting.risk.risk_dates"]
# What a person may open at a shared device of a shop: the name of a page to a function (shop,
# **what its address holds) -> whether it is one of that shop's. The first is where it starts.
SHARED_DEVICE_HOME = "machines:at_device"
SHARED_DEVICE_PAGES = {
    "machines:at_device": "shop.devices.pages.everybodys",
    "machines:at_machine": "machines.devices.has_label",
    "alignment:log_incident": "machines.devices.has_machine",
    "machines:inspect_belt": "machines.devices.has_belt",
    "machines:pin_photo": "machines.devices.has_belt_inspection",
    "shop:device": "shop.devices.pages.everybodys",
    "shop:device_pin": "shop.devices.pages.everybodys",
    "shop:device_done": "shop.devices.pages.everybodys",
    "shop:device_set_up": "shop.devices.pages.everybodys",
    "shop:waiting": "shop.devices.pages.everybodys",
    "shop:service_worker": "shop.devices.pages.everybodys",
}
REPORT_SECTIONS = [
    "machines.report.summary",
    "machines.report.photos",
    "machines.report.incident",
    "machines.report.check_list",
    "alignment.report.chain",
    "alignment.report.pictures",
    "alignment.report.indicators",
    "alignment.report.adjustments",
    "alignment.report.steps",
    "alignment.drifting.report.drift",
    "machines.report.belts",
    "machines.report.bearings",
    "machines.report.fitted",
    "machines.report.replacements",
    "machines.planning.report.planned_work",
    "machines.planning.report.meters",
    "machines.report.declined",
    "shop.report.come_back",
    "shop.report.cautions",
    "shop.report.signatures",
    "shop.report.signed_records",
    "shop.report.check",
]
# The history of a machine on paper: functions (MachineHistory) -> list of flowables.
MACHINE_HISTORY_SECTIONS = [
    "machines.past.sections.title_page",
    "alignment.past.chain",
    "alignment.past.items",
    "alignment.past.drift",
    "alignment.past.adjustments",
    "machines.past.sections.incidents",
    "machines.past.sections.standstills",
    "machines.past.sections.inspections",
    "machines.past.sections.parts_fitted",
    "machines.past.sections.open_advice",
    "machines.past.sections.visits",
    "machines.past.sections.check",
]
# What tells of a machine's life, each with the kind it is shown and filtered under; a station's
# life is told by the second list: functions that also take the station's pk.
HISTORY_SOURCES = [
    ("planned work", "machines.planning.history.plan_closings"),
    ("incidents", "machines.history.incidents"),
    ("incidents", "machines.history.incident_steps"),
    ("standstills", "machines.history.standstills"),
    ("out of service", "machines.history.service_breaks"),
    ("visits", "machines.history.visits"),
    ("checks", "alignment.history.checks"),
    ("adjustments", "alignment.history.adjustments"),
    ("replacements", "machines.history.recommendations"),
    ("inspections", "machines.history.belt_inspections"),
    ("inspections", "machines.history.bearing_inspections"),
    ("replacements", "machines.history.rebuilds"),
    ("replacements", "machines.history.fittings"),
]
STATION_HISTORY_SOURCES = [
    ("incidents", "alignment.history.incidents_at"),
    ("checks", "alignment.history.checks"),
    ("adjustments", "alignment.history.adjustments"),
]
HISTORY_STATIONS = "alignment.history.stations"
# What the page of changes between two visits shows.
CHANGE_SECTIONS = [
    "machines.past.between.meter_hours",
    "alignment.changes.items",
    "machines.past.between.adjustments",
    "machines.past.between.incidents",
    "machines.past.between.inspections",
    "machines.past.between.parts_fitted",
    "machines.past.between.advice",
]
REPLACEMENT_RULES = [
    "machines.rules.belts.missing_or_cracked_teeth",
    "machines.rules.belts.marked_or_worn_teeth",
    "machines.rules.belts.damage_that_grew",
    "machines.rules.belts.tension_outside_the_band",
    "machines.rules.belts.belt_past_its_age",
    "machines.rules.belts.belt_with_its_partner",
    "machines.rules.bearings.zone_c_or_d",
    "machines.rules.bearings.rough_feel",
    "machines.rules.bearings.runout_that_grew",
    "machines.rules.bearings.life_used_up",
    "machines.rules.consumables.guide_bushing_overdue",
    "alignment.rules.station_that_keeps_drifting",
]
DEMO_STEPS = [
    "shop.demo.people.introduce",
    "shop.demo.billing.set_prices",
    "machines.demo.install",
    "alignment.demo.chains.draw_up",
    "machines.planning.demo.plan_the_years",
    "alignment.demo.story.tell",
    "shop.demo.billing.send_statements",
    "machines.planning.demo.look_ahead",
]
# The synthetic fleet for measuring: functions (fleet, batch), one batch a firm.
FLEET_STEPS = [
    "shop.fleet.people.introduce",
    "machines.fleet.register.install",
    "alignment.fleet.draw_up",
    "machines.fleet.visits.let_happen",
    "alignment.fleet.name_stations_hit",
    "machines.fleet.visits.come",
    "machines.fleet.wear.read_meters",
    "machines.fleet.wear.live",
    "machines.fleet.looks.look",
    "alignment.fleet.measure",
    "shop.fleet.closing.put_down_times",
    "shop.fleet.closing.bill",
    "shop.fleet.closing.sign",
]
PICTURES = "alignment.demo.pictures.pages"

# The library holds each number and colour of a figure against what is allowed there as it is
# drawn: a help to whoever makes a new figure, and more than half of the time of making one.
rl_config.shapeChecking = DEBUG
