"""Settings of Benchtag: one file, from the environment, working with nothing set."""

from __future__ import annotations

from pathlib import Path

from csp.constants import NONE, SELF
from django.utils.functional import SimpleLazyObject

from shop.preferences import languages
from shop.site import env, places

ROOT = places.ROOT
# How a command is typed here, for sentences that name one.
COMMAND = places.COMMAND
DATA = env.data_folder()
env.keep_private(DATA)

SECRET_KEY = env.secret_key(DATA)
# What was signed or sealed with these is still read; parted by blanks.
SECRET_KEY_FALLBACKS = env.secret("OLD_SECRET_KEYS").split()
# Signs heads of ledgers; without it, one is made in the data folder (shop.jobs.shop_keys).
LEDGER_KEY = env.secret("LEDGER_KEY")
# What backups are encrypted by: those of the night when it is set, others when asked for.
BACKUP_PASSPHRASE = env.secret("BACKUP_PASSPHRASE")
NIGHTLY_BACKUP = env.flag("NIGHTLY_BACKUP", default=True)
BACKUP_FOLDER = Path(env.text("BACKUP_FOLDER") or DATA / "backups")
BACKUP_KEEP = env.number("BACKUP_KEEP", 14, low=1, high=1000)
BACKUP_HOUR = env.number("BACKUP_HOUR", 2, high=23)
# Elsewhere too: a folder, and a program that takes each file away.
BACKUP_COPY_TO = env.text("BACKUP_COPY_TO")
BACKUP_COMMAND = env.program("BACKUP_COMMAND")
DEBUG = env.flag("DEBUG")
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", *env.words("HOSTS")]
CSRF_TRUSTED_ORIGINS = env.words("ORIGINS")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.humanize",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_fsm",
    "django_htmx",
    "django_tables2",
    "django_filters",
    "csp",
    "ninja",
    "checklists",
    "shop.preferences",
    "shop.site",
    "shop.lib.web",
    "shop.accounts",
    "shop.parts",
    "shop.instruments",
    "shop.jobs",
    "shop.manuals",
    "shop.model_sheets",
    "shop.planning",
    "shop.photos",
    "shop.backups",
    "shop.timers",
    "shop.meters",
    "shop.outlets",
    "shop.sound",
    "shop.customers",
    "shop.customers.links",
    "shop.customers.announced",
    "shop.intake",
    "shop.estimates",
    "shop.search",
    "shop.messages",
    "shop.documents",
    "shop.push",
    "shop.bills",
    "shop.calendars",
    "shop.reminders",
    "shop.transfer",
    "shop.webhooks",
    "shop.api",
    "shop.pages",
]

MIDDLEWARE = [
    "shop.lib.web.request_log.RequestLogMiddleware",
    "shop.api.middleware.JsonRefusals",
    "shop.lib.web.busy_database.BusyDatabase",
    "shop.lib.web.shop_time.ShopTime",
    "shop.pages.language.ShopLanguage",
    "shop.lib.web.real_address.RealAddress",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # Pages, not static files. A secret beside what a stranger can make a page repeat is not to be
    # told from its length (BREACH): Django adds up to 100 random bytes, and masks CSRF tokens anew.
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.lib.web.htmx.SignInMiddleware",
    "shop.lib.web.errors.RefusalMiddleware",
]

ROOT_URLCONF = "shop.site.urls"
WSGI_APPLICATION = "shop.site.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [places.TEMPLATES],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.accounts.roles.for_templates",
                "shop.accounts.roles.shop_name",
                "shop.accounts.first_visit.for_templates",
            ],
        },
    },
]

if env.text("DATABASE_URL"):
    env.require_extra("DATABASE_URL", "psycopg")
DATABASES = {"default": env.database(env.text("DATABASE_URL"), DATA)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
AUTHENTICATION_BACKENDS = [
    "django.contrib.auth.backends.ModelBackend",
    "allauth.account.auth_backends.AuthenticationBackend",
]
ACCOUNT_ADAPTER = "shop.accounts.adapters.ShopAdapter"
ACCOUNT_FORMS = {"login": "shop.accounts.forms.SignInForm"}
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_PREVENT_ENUMERATION = True
# Wrong passwords: from one address, and for one name from one address (ShopAdapter), so that a
# stranger's wrong ones do not shut out whoever knows the right one. Right ones are not counted short.
ACCOUNT_RATE_LIMITS = {"login_failed": "20/5m/ip,5/5m/key", "login": "300/m/ip"}
ACCOUNT_REAUTHENTICATION_TIMEOUT = 900
MFA_ADAPTER = "shop.accounts.adapters.SecretAdapter"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
# One step of clocks that differ, as RFC 6238 recommends.
MFA_TOTP_TOLERANCE = 1
MFA_TOTP_ISSUER = "Benchtag"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en"
LANGUAGES = list(languages.NAMES.items())
LOCALE_PATHS = [ROOT / "shop" / "locale"]
TIME_ZONE = env.text("TIME_ZONE", "Europe/London")
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = DATA / "static"
STATIC_ROOT.mkdir(parents=True, exist_ok=True)


def _static_prefix() -> str:
    # Only pages ask for it, when the apps are loaded.
    from shop.lib.web.static_files import tree_hash  # noqa: PLC0415

    return f"{STATIC_URL}{tree_hash()}/"


# Served straight from the packages: no collecting step stands between a checkout and a page.
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "shop.lib.web.static_files.StaticFiles"},
}
WHITENOISE_USE_FINDERS = True
WHITENOISE_STATIC_PREFIX = SimpleLazyObject(_static_prefix)
# While somebody works on them, the hash is that of the start.
WHITENOISE_IMMUTABLE_FILE_TEST = rf"^{STATIC_URL}[0-9a-f]+/" if not DEBUG else r"(?!)"
WHITENOISE_MAX_AGE = 0

HTTPS = env.flag("HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
# Health checks and monitors come over the inner network.
SECURE_REDIRECT_EXEMPT = [r"^healthz/", r"^metrics$"]
# A certificate of this machine's own may be left behind again; a browser must not insist on https then.
OWN_CERTIFICATE = env.flag("OWN_CERTIFICATE")
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS and not OWN_CERTIFICATE else 0
# Other hosts of the domain are not this shop's to decide on, and neither is a browser's own list.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SESSION_COOKIE_HTTPONLY = True
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "worker-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}
# Room for a too long text to arrive whole, so that it can be refused with a sentence.
FILE_UPLOAD_HANDLERS = ["shop.lib.web.uploads.StopsAtLimit"]
UPLOAD_LARGEST = 96 * 1024 * 1024
DATA_UPLOAD_MAX_MEMORY_SIZE = 32 * 1024 * 1024

# The rules of the bench.
PACK_FOLDER = ROOT / "checklists" / "packs"
HOUSE_PACK_FOLDER = Path(env.text("HOUSE_PACK")) if env.text("HOUSE_PACK") else None

# Settings of the shop that the environment decides; all others are on a page (shop.preferences).
SHOP_TEXTS = env.shop_texts()
vars().update(env.of_the_shop(SHOP_TEXTS))
# A folder of further fonts for the papers, and the family in it to use after our own.
FONTS = env.text("FONTS", "")
FONT = env.text("FONT", "")
# The library through which instruments are asked: @py is pyvisa-py, @ivi a maker's.
VISA_LIBRARY = env.text("VISA_LIBRARY", "@py")
# Whether the machine names a mail server; else the page does, and without either nobody is written to.
MAIL_ON = bool(env.secret("EMAIL_URL"))
vars().update(env.mail("EMAIL_URL"))

# Services mode has a broker; embedded mode has a child process that runs the same functions.
REDIS_URL = env.secret("REDIS_URL")
if REDIS_URL:
    env.require_extra("REDIS_URL", "celery", "redis")
if REDIS_URL:
    # Shared by all web processes: what is counted in one is counted in all.
    CACHES = {
        "default": {
            "BACKEND": "shop.lib.caches.ForgetfulCache",
            "LOCATION": REDIS_URL,
            "KEY_PREFIX": "benchtag",
        }
    }
CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL
# Tasks wait for the database. Processes of a pool wait up to 30 seconds for each other at the end,
# as long as compose gives them before it kills.
CELERY_WORKER_POOL = "threads"
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 60,
    "unacked_restore_interval": 5,
    "unacked_restore_throttle": 1,
}
WATCH_SECONDS = env.number("WATCH_SECONDS", 60, low=1, high=3600)
CELERY_BEAT_SCHEDULE = {
    name: {
        "task": "shop.reminders.tasks.do",
        "args": [name],
        "schedule": float(WATCH_SECONDS),
        # A beat that nobody took in time is stale: the next one does the same.
        "options": {"expires": 10 * WATCH_SECONDS},
    }
    for name in (
        "follow-rules",
        "remind",
        "write-digests",
        "send-reminders",
        "write-messages",
        "write-parts-late",
        "remind-payments",
        "send-messages",
        "update-index",
        "purge-sign-ins",
        "purge-picture-drafts",
        "ask-instruments",
        "log-soaks",
        "finish-imports",
        # With a broker, backups and outlets have services of their own.
        *(() if REDIS_URL else ("nightly-backup", "keep-outlets")),
        "send-push",
        "send-webhooks",
    )
}
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA / "beat-schedule")
CELERY_TIMEZONE = TIME_ZONE

DJANGO_TABLES2_TEMPLATE = "tables/table.html"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {
        "number": {"()": "shop.lib.web.request_log.NumberRequests"},
        "keys": {"()": "shop.lib.web.request_log.HideKeys"},
    },
    "formatters": {
        "line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"},
        "json": {
            "()": "pythonjsonlogger.json.JsonFormatter",
            "format": "%(asctime)s %(levelname)s %(name)s %(request_id)s %(message)s",
            "rename_fields": {"asctime": "at", "levelname": "level", "name": "logger"},
        },
    },
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": env.choice("LOG_FORMAT", ("line", "json")),
            "filters": ["number", "keys"],
        }
    },
    "root": {"handlers": ["console"], "level": env.text("LOG_LEVEL", "WARNING")},
}
# Celery would put handlers of its own in their place.
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
METRICS_TOKEN = env.secret("METRICS_TOKEN")
