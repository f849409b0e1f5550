"""Settings of the site, read from the environment where an installation differs.

Nothing needs to be set for a first run: the database is SQLite in `.local/`, mail is printed.
"""

import os
import secrets
from datetime import timedelta
from pathlib import Path

import dj_database_url
from reportlab import rl_config

from .web.kept_files import kept_once
from .web.logs import JSON_LINES

BASE_DIR = Path(__file__).resolve().parent.parent
LOCAL_DIR = Path(os.environ.get("SWEEPBOOK_DATA", BASE_DIR / ".local"))
LOCAL_DIR.mkdir(parents=True, exist_ok=True)


def _flag(name, default="0"):
    return os.environ.get(name, default).lower() in {"1", "true", "yes", "on"}


def _secret_key():
    """The key from the environment, else one made once for this folder and kept beside the data."""
    if key := os.environ.get("SECRET_KEY"):
        return key
    return kept_once(LOCAL_DIR / "secret_key", lambda: secrets.token_urlsafe(50).encode()).decode()


SECRET_KEY = _secret_key()
DEBUG = _flag("SWEEPBOOK_DEBUG")
ALLOWED_HOSTS = os.environ.get("SWEEPBOOK_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
HTTPS = _flag("SWEEPBOOK_HTTPS")
# Where the site is reached from: printed on documents and put into mail.
# While a page is made and no address is set, the one that the page was asked at counts instead
# (`shop.web.served`).
ADDRESS_IS_SET = bool(os.environ.get("SWEEPBOOK_ADDRESS"))
SITE_ADDRESS = (os.environ.get("SWEEPBOOK_ADDRESS") or "http://127.0.0.1:8000").rstrip("/")
# The folder of the certificate that `manage.py begin --https` made; None where there is none.
OWN_CERTIFICATE = os.environ.get("SWEEPBOOK_CERTIFICATE")

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
    "shop.web.request_log.RequestLog",
    "django.middleware.security.SecurityMiddleware",
    "shop.web.headers.SafetyHeaders",
    "shop.web.served.ServedAddress",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "shop.people.signing_in.sessions.Sessions",
    "django.middleware.common.CommonMiddleware",
    # Before whatever reads what was sent.
    "shop.web.uploads.UploadCeiling",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    # After who is signed in is known, and before those who are not are sent to sign in.
    "shop.people.devices.middleware.SharedDevices",
    "django_otp.middleware.OTPMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "shop.audit.middleware.NameTheActor",
    "shop.people.signing_in.sessions.SeenSessions",
    "shop.people.signing_in.second_factor.SecondFactor",
    "shop.web.request_memo.RequestMemo",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.web.queued.QueuedEntries",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "shop.site_urls"
WSGI_APPLICATION = "shop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["shop.templatetags.components"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.web.context.for_every_page",
            ],
        },
    },
]
FORM_RENDERER = "shop.web.forms.Renderer"
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
# What is worked out from a shop's records stays here until they change (`shop/snapshots`).
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
    "shop.people.signing_in.guessing.Guessing",
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
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
AUTH_PASSWORD_VALIDATORS += [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "shop.people.passwords.NoNameOfOurs"},
]
PASSWORD_RESET_TIMEOUT = 3 * 60 * 60
# Wrong passwords for one name from one address shut that way for a while.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_LOCKOUT_TEMPLATE = "shop/locked_out.html"
AXES_CLIENT_IP_CALLABLE = "shop.people.signing_in.sessions.client_address"
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
# Whether owners, contractors and staff have to give a second factor; anybody may set one up.
SECOND_FACTOR = _flag("SWEEPBOOK_SECOND_FACTOR", "1" if HTTPS else "0")
OTP_TOTP_ISSUER = "Sweepbook"
OTP_ADMIN_HIDE_SENSITIVE_DATA = True
# In a cookie, a message would make a page that was loaded beforehand another page.
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
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
    "staticfiles": {"BACKEND": "shop.web.staticfiles.HashedOnceCollected"},
}
MEDIA_ROOT = Path(os.environ.get("SWEEPBOOK_MEDIA", LOCAL_DIR / "media"))
MEDIA_ROOT.mkdir(parents=True, exist_ok=True)
FILE_UPLOAD_PERMISSIONS = 0o600
BACKUPS = Path(os.environ.get("SWEEPBOOK_BACKUPS", LOCAL_DIR / "backups"))
# The most that the record of one machine may come to when it is taken over, unpacked.
MAX_HANDOVER_BYTES = 500 * 1024 * 1024
MAX_PHOTO_BYTES = 15 * 1024 * 1024
# The most that may be sent at once: eight photos and what is typed beside them; more to some pages;
# and what somebody may send who is not signed in, to a page that takes no file from strangers.
MOST_SENT = 8 * MAX_PHOTO_BYTES + 1024 * 1024
MOST_SENT_TO = {
    "machines:take_over": MAX_HANDOVER_BYTES,
    "shop:check": 60 * 1024 * 1024,
}
MOST_FROM_STRANGERS = 64 * 1024

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
# How long a mail server may say nothing before the mail is tried again later.
EMAIL_TIMEOUT = 20
# The server sends what waits in the outbox by a thread of its own; 0 leaves it to `send_mail`.
SENDS_MAIL_ITSELF = _flag("SWEEPBOOK_SENDS_MAIL", "1")
DEFAULT_FROM_EMAIL = os.environ.get("SWEEPBOOK_MAIL_FROM", "sweepbook@localhost")

# JSON lines on standard error when asked for; gunicorn's settings ask.
LOGGING = JSON_LINES if os.environ.get("SWEEPBOOK_LOG") == "json" else {}

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
# Over HTTPS a browser takes a cookie of such a name from this host alone (RFC 6265bis, 4.1.3.2).
COOKIE_PREFIX = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME = f"{COOKIE_PREFIX}sessionid"
CSRF_COOKIE_NAME = f"{COOKIE_PREFIX}csrftoken"
SECURE_SSL_REDIRECT = HTTPS
# The watchman asks from the machine itself, where nothing speaks TLS.
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
if OWN_CERTIFICATE:
    # Read by a phone that does not trust the certificate yet.
    SECURE_REDIRECT_EXEMPT += [r"^trust/", r"^static/"]
    SECURE_SSL_HOST = os.environ.get("SWEEPBOOK_SSL_HOST")
# A browser that was told once to insist would not show the page about trust any more.
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS and not OWN_CERTIFICATE else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
# Preloading is a promise about a whole domain in every browser; it is not this site's to give.
SILENCED_SYSTEM_CHECKS = ["security.W021"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# How many proxies stand in front of the site. Only where they set these headers themselves may
# they be believed: else anybody could claim to come over TLS, or from elsewhere.
PROXIES_ARE_SAID = "SWEEPBOOK_PROXIES" in os.environ
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

# What gathers from all three apps is listed here, in the order it appears; each path names a
# function, or a list of functions in the app that knows. `shop.hooks` reads the lists.

# Functions (request) -> Panel or None; the home page calls them.
HOME_PANELS = [
    "machines.today.panels.today",
    "alignment.drift.panels.home_drift",
    "shop.billing.panels.home_money",
]
# Functions (machine, request) -> Panel or None; a machine's page calls them. Each with where it
# stands: in the middle, beside it, or below that, folded up to a line.
MACHINE_PANELS = {
    "alignment.drift.panels.alignment_now": "middle",
    "machines.incidents.panels.incidents": "beside",
    "machines.drive.panels.recommendations": "beside",
    "machines.drive.panels.drive_train": "folded",
    "machines.planning.panels.plans": "folded",
    "machines.history.panels.downtime": "folded",
    "machines.planning.panels.meters": "folded",
    "alignment.drift.panels.series": "folded",
}
# Functions (visit, request) -> Panel or None; a visit's page calls them.
VISIT_PANELS = [
    "alignment.drift.panels.visit_chain",
    "alignment.sweeps.check_list.check_list",
    "machines.drive.panels.LOOKS_AT_VISIT",
    "machines.incidents.panels.visit_incident",
    "machines.drive.panels.visit_recommendations",
    "machines.planning.panels.AT_VISIT",
    "shop.visits.panels.come_backs",
    "shop.visits.panels.clock",
    "shop.billing.panels.money",
    "shop.paper.panels.documents",
]
# Functions (visit) -> Lacks; `shop.visits.services.lacks` calls them before a visit is signed.
BEFORE_SIGNING = [
    "shop.visits.signing_blockers.clocks_still_running",
    "alignment.sweeps.signing_blockers.stations_not_settled",
    "machines.drive.signing_blockers.parts_not_looked_at",
    "machines.drive.signing_blockers.belts_off_not_inspected",
    "machines.drive.signing_blockers.urgent_replacements_left_open",
    "machines.planning.signing_blockers.wanted_work_left_open",
]
# What follows: functions called in the transaction of `shop.visits.services.sign_visit` (visit),
# of the page that opens a correction (visit), of `shop.billing.quotes` (answer; visit, accepted),
# of `shop.people.telling` when an owner objects to an answer that was entered for them (reply), and
# by `manage.py tidy` every night (nothing).
AFTER = [
    ("signing", "machines.incidents.services.look_at_incidents"),
    ("signing", "machines.planning.plans.close_what_was_done"),
    ("signing", "shop.billing.services.charge_what_is_known"),
    ("signing", "alignment.sweeps.drafts.forget_drafts"),
    ("opening a correction", "machines.visit_work.services.bring_corrected_machines"),
    ("accepting", "machines.drive.quoting.approve"),
    ("planning what was quoted", "machines.drive.quoting.bring_machines"),
    ("objecting", "machines.drive.objections.advise_again"),
    ("nightfall", "machines.incidents.photos.store_all_waiting"),
]
# Money. `shop.billing.services` calls what charges a visit, in the order of the statement (visit);
# `shop.billing.quotes` what can be quoted (shop, firm); `machines.planning.year` the owner's year:
# what a shop was charged and what it agreed to pay besides its plans' costs, functions (shop,
# first day, last day, viewer) -> list of (day, amount without tax, currency).
MONEY_SOURCES = [
    ("charges", "shop.billing.charge_sources.hours"),
    ("charges", "machines.drive.charge_sources.fitted_parts"),
    ("quotes", "machines.drive.quoting.open_advice"),
    ("spending", "shop.billing.spending.charged"),
    ("agreed costs", "shop.billing.spending.accepted_quotes"),
    ("agreed costs", "machines.planning.spending.approved_advice"),
]
# Planning. `machines.planning.plans` calls what was done at a visit and what a plan may be about;
# `machines.planning.board` when the risk of drift comes, functions (machines, risk) -> {machine pk:
# day or None}; `shop.calendar` the calendar and its feed (user, first, last, most) and reminders
# (user, now); the command work_out what brings a table for a long list up to date.
PLANNING_SOURCES = [
    ("done at a visit", "machines.planning.plans.DONE_AT_VISIT"),
    ("done at a visit", "alignment.sweeps.planning.stations_checked"),
    ("subjects", "alignment.sweeps.planning.station_names"),
    ("subjects", "machines.planning.plans.SUBJECTS"),
    ("risk dates", "alignment.drift.risk.risk_dates"),
    ("calendar", "shop.calendar.entries.SOURCES"),
    ("calendar", "machines.planning.entries.due_days"),
    ("reminders", "machines.planning.reminders.SOURCES"),
    ("reminders", "shop.calendar.reminders.proposals_to_answer"),
    ("long lists", "machines.planning.due_times.work_out_all"),
    ("long lists", "alignment.drift.risk.work_out_all"),
]
# What a person searches, in the order it is shown: `shop.search.searched.Searched`, or lists of it.
SEARCHED = [
    "machines.search.sources.REGISTER",
    "shop.search.sources.SHOPS",
    "shop.search.sources.PEOPLE",
    "shop.search.sources.VISITS",
    "machines.search.sources.WHAT_HAPPENED",
    "shop.search.sources.PROPOSALS",
    "shop.search.sources.DOCUMENTS",
]
# Functions (machine, visit) -> Advice; `machines.drive.advice` calls them.
REPLACEMENT_RULES = [
    "machines.drive.rules.belts.RULES",
    "machines.drive.rules.bearings.RULES",
    "machines.drive.rules.consumables.RULES",
    "alignment.drift.rules.RULES",
]
# Functions (report) -> list of flowables; `shop.visits.reporting` calls them for a service report.
REPORT_SECTIONS = [
    "alignment.drift.page_one.page_one",
    "machines.drive.report.THE_CALL",
    "alignment.sweeps.report.SECTIONS",
    "machines.planning.report.SECTIONS",
    "machines.drive.report.DRIVE_TRAIN",
    "alignment.drift.report.OPINIONS",
    "shop.visits.report.SECTIONS",
]
# Functions (MachineHistory) -> list of flowables; `machines.history.issued` calls them.
MACHINE_HISTORY_SECTIONS = [
    "alignment.drift.history_sections.title_page",
    "alignment.drift.history_sections.SECTIONS",
    "machines.history.sections.SECTIONS",
]
# Pairs of a kind and a function (machine) -> list of Past; `shop.hooks.history` calls them.
HISTORY_SOURCES = [
    "machines.planning.history.SOURCES",
    "machines.drive.history.EVENTS",
    "alignment.sweeps.history.SOURCES",
    "machines.drive.history.DRIVE_TRAIN",
]
# Functions (Between) -> Panel; the page of what changed between two visits calls them.
CHANGE_SECTIONS = [
    "machines.history.between.meter_hours",
    "alignment.sweeps.between_visits.items",
    "machines.history.between.SECTIONS",
]
# What a person may open at a shared device of a shop: a function (shop, **what the address holds)
# -> whether it is one of that shop's, and the names of its pages; `shop.people.devices.pages` asks.
SHARED_DEVICE_HOME = "machines:at_device"
SHARED_DEVICE_PAGES = {
    "shop.people.devices.pages.everybodys": [
        "machines:at_device",
        "shop:device",
        "shop:device_pin",
        "shop:device_done",
        "shop:device_set_up",
        "shop:waiting",
        "shop:service_worker",
        "shop:manifest",
    ],
    "machines.register.shared_devices.has_label": ["machines:at_machine"],
    "machines.register.shared_devices.has_machine": [
        "alignment:log_incident",
        "alignment:drawn_machine",
    ],
    "machines.register.shared_devices.has_belt": ["machines:inspect_belt"],
    "machines.register.shared_devices.has_belt_inspection": ["machines:pin_photo"],
}
# What a lower app asks of the highest: `machines.incidents.first_look` the stations an incident
# may have hit, the page of a belt what is next at its visit, the list of machines their small
# pictures, the history's filter a machine's stations and `shop.hooks` what tells of one; the
# commands demo, fleet and pictures their steps.
FROM_ABOVE = {
    "older archives": "alignment.register.older_archives.bring_up",
    "incident chain": "alignment.incidents.triage.chain_of",
    "has machines": "machines.drive.panels.has_machines",
    "thread": "alignment.sweeps.views.thread.FOR_LOWER_APPS",
    "small pictures": "alignment.sweeps.small_pictures.small_pictures",
    "stations": "alignment.sweeps.history.stations",
    "station": "alignment.sweeps.history.OF_STATION",
    "demo": "alignment.sandbox.demo.steps.DEMO",
    "fleet": "alignment.sandbox.demo.steps.FLEET",
    "pictures": "alignment.sandbox.demo.pictures.pages",
}

# The library holds each number and colour of a figure against what is allowed there as it is
# drawn: a help to whoever makes a new figure, and more than half of the time of making one.
rl_config.shapeChecking = DEBUG
