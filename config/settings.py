"""Every setting, read from the environment once.

Secure by default: no DEBUG, no secret of its own, no host allowed until named. The demo
(`RODTALLY_DEMO=1`, set by `manage.py demo` alone) keeps its own database and secret in `.demo/`.
"""

import os
import secrets
from pathlib import Path

import dj_email_url
from django.core.exceptions import ImproperlyConfigured
from environs import Env, EnvError
from kombu import Queue

from beats.outbound import NotFetched, check_address
from beats.shared.client_address import networks
from config.logs.lines import SHAPES
from safety.push import private_key
from safety.signing import checked

BASE_DIR = Path(__file__).resolve().parent.parent
env = Env()
DEMO: bool = env.bool("RODTALLY_DEMO", False)
DEMO_DIR = Path(env.str("RODTALLY_DEMO_DIR", str(BASE_DIR / ".demo")))


def _demo_secret() -> str:
    """The demo's secret: made once, kept in its folder, readable by its owner only."""
    DEMO_DIR.mkdir(parents=True, exist_ok=True)
    path = DEMO_DIR / "secret"
    if not path.exists():
        fresh = path.with_suffix(".new")
        fresh.touch(mode=0o600)
        fresh.write_text(secrets.token_urlsafe(48))
        fresh.replace(path)  # never seen half written
    return path.read_text()


def _required(name: str, teach: str) -> str:
    value = env.str(name, "")
    if not value:
        message = f"{name} is not set. {teach} See .env.example."
        raise ImproperlyConfigured(message)
    return value


def _several(name: str) -> list[str]:
    """What stands between the commas. A stray comma may not make an empty key or an empty host."""
    return [text.strip() for text in env.list(name, []) if text.strip()]


SECRET_KEY = (
    _demo_secret()
    if DEMO
    else _required("SECRET_KEY", "Set it to at least 50 random characters, the same on every process.")
)
SECRET_KEY_FALLBACKS = _several("SECRET_KEY_FALLBACKS")
DEBUG: bool = env.bool("DEBUG", False)
ALLOWED_HOSTS: list[str] = ["localhost", "127.0.0.1", "[::1]"] if DEMO else _several("ALLOWED_HOSTS")
CSRF_TRUSTED_ORIGINS: list[str] = _several("CSRF_TRUSTED_ORIGINS")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "beats",
    "bookings",
    "sessions",
    "safety",
    "config",  # for its one command, demo
]
MIDDLEWARE = [
    "config.logs.about.RequestId",  # the outermost, so that every line of a request knows its id
    "config.metrics.requests.Counted",
    "config.caching.NoStore",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "config.query_parameters.OnlyDeclared",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["beats.templatetags.said"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    }
]

# --- Where the facts live -------------------------------------------------------------------
_DEMO_DATABASE = f"sqlite:///{DEMO_DIR / 'rodtally.sqlite3'}"
DATABASES = {
    "default": env.dj_db_url(
        "DATABASE_URL", _DEMO_DATABASE if DEMO else f"sqlite:///{BASE_DIR / 'rodtally.sqlite3'}"
    )
}
if DEMO:
    DATABASES = {"default": Env().dj_db_url("RODTALLY_DEMO_DATABASE_URL", _DEMO_DATABASE)}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # IMMEDIATE: a check followed by a write waits its turn instead of failing "locked" at once.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
else:
    DATABASES["default"] |= {"CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True}
    # What is asked often is planned once a connection: behind the wall planning costs more than answering. So a
    # pooler must keep a connection to one client (the wall's role hangs on it, too).
    DATABASES["default"]["OPTIONS"] = {"connect_timeout": 5, "server_side_binding": True, "prepare_threshold": 5}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "beats.User"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.ScryptPasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

# --- Time and words -------------------------------------------------------------------------
LANGUAGE_CODE = "en-gb"
TIME_ZONE = "Europe/London"  # for display; the database keeps UTC
LANGUAGES = [("en-gb", "English"), ("de", "Deutsch")]
LOCALE_PATHS = [BASE_DIR / "config" / "locale"]
USE_TZ = True
USE_I18N = True

# --- The web --------------------------------------------------------------------------------
STATIC_URL = "static/"
STATIC_ROOT = None if DEMO else BASE_DIR / "static"
WHITENOISE_USE_FINDERS = DEMO
DATA_UPLOAD_MAX_MEMORY_SIZE = 256 * 1024
APPEND_SLASH = False
INSECURE_HTTP: bool = DEMO or env.bool("INSECURE_HTTP", False)  # a laptop or a test, never the open net
SECURE_SSL_REDIRECT = not INSECURE_HTTP
SECURE_REDIRECT_EXEMPT = [r"^health/", r"^metrics$"]  # the orchestrator asks from inside
SECURE_HSTS_SECONDS = 0 if INSECURE_HTTP else 31_536_000
SECURE_HSTS_INCLUDE_SUBDOMAINS = not INSECURE_HTTP
SECURE_HSTS_PRELOAD = not INSECURE_HTTP
SESSION_COOKIE_SECURE = not INSECURE_HTTP
LANGUAGE_COOKIE_SECURE, LANGUAGE_COOKIE_HTTPONLY, LANGUAGE_COOKIE_SAMESITE = not INSECURE_HTTP, True, "Lax"
LANGUAGE_COOKIE_AGE = 365 * 86400
CSRF_COOKIE_SECURE = not INSECURE_HTTP
SESSION_COOKIE_AGE = 60 * 24 * 3600  # a guest may not be asked for a code in the rain
LOGIN_URL = "sign-in"
CSRF_FAILURE_VIEW = "config.problems.csrf_failed"
X_FRAME_OPTIONS = "DENY"
BEHIND_TLS_PROXY: bool = env.bool("BEHIND_TLS_PROXY", False)
if BEHIND_TLS_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
# Networks whose X-Forwarded-For is believed. None named: no limits by client behind a proxy, as all clients would
# share its address.
TRUSTED_PROXIES = networks(env.list("TRUSTED_PROXIES", default=[]))

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["beats.authentication.TokenAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["beats.shared.rest.BoundedJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_FILTER_BACKENDS": ["beats.shared.rest.StrictFilterBackend"],
    "DEFAULT_PAGINATION_CLASS": "config.pagination.ByNewest",
    "DEFAULT_SCHEMA_CLASS": "config.schema.RodtallySchema",
    "EXCEPTION_HANDLER": "config.problems.handle",
    "COERCE_DECIMAL_TO_STRING": True,  # weights and levels stay exact on the wire
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Rodtally",
    "DESCRIPTION": (
        "Runs a salmon beat: rods, rota, outings, overdue alarms, catch returns. "
        "Not an emergency service: if someone may be in danger, ring 999 or 112."
    ),
    "VERSION": "1",
    "OAS_VERSION": "3.1.1",
    "POSTPROCESSING_HOOKS": ["drf_spectacular.hooks.postprocess_schema_enums", "config.schema.local_times"],
    "SERVE_INCLUDE_SCHEMA": False,
    "DEFAULT_GENERATOR_CLASS": "config.schema.Document",
    "GET_LIB_DOC_EXCLUDES": "config.schema.bases_that_describe_nothing",
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "SERVE_AUTHENTICATION": [],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    "SCHEMA_PATH_PREFIX": r"/api/v1",
    "SORT_OPERATION_PARAMETERS": True,
    "ENUM_NAME_OVERRIDES": {
        "LedgerKind": "bookings.models.LedgerEntry.Kind",
        "CatchKind": "sessions.models.Catch.Kind",
        "OutgoingState": "beats.shared.outbox.Outgoing.State",
        "LetStatus": "bookings.models.Let.Status",
        "LetKind": "bookings.models.Let.Kind",
        "ReturnState": "sessions.models.Return.State",
        "StatedRecord": "sessions.models.MonthStatement.Record",
        "MonthRecord": "sessions.serializers.returns.RECORDS",
        "RotaStatus": "sessions.models.Rota.Status",
        "DeliveryState": "safety.models.Delivery.State",
        "AlarmKind": "safety.models.Alarm.Kind",
        "IncidentKind": "safety.models.Incident.Kind",
        "RecallCause": "safety.models.Recall.Cause",
        "WarningKind": "safety.models.AreaWarning.Kind",
        "WarningLevel": "safety.models.AreaWarning.Level",
        "RulingStatus": "beats.serializers.STATUSES",
        "Side": "beats.models.Pool.Bank",
        "TideKind": "beats.serializers.day.TIDES",
        "HazardGrade": "beats.serializers.day.GRADES",
    },
}

# --- E-mail ---------------------------------------------------------------------------------
_mail = dj_email_url.parse(env.str("EMAIL_URL", "") or "console:")
EMAIL_BACKEND = _mail["EMAIL_BACKEND"]
EMAIL_HOST = _mail["EMAIL_HOST"]
EMAIL_PORT = _mail["EMAIL_PORT"]
EMAIL_HOST_USER = _mail["EMAIL_HOST_USER"]
EMAIL_HOST_PASSWORD = _mail["EMAIL_HOST_PASSWORD"]
EMAIL_USE_TLS = _mail.get("EMAIL_USE_TLS", False)
EMAIL_USE_SSL = _mail.get("EMAIL_USE_SSL", False)
EMAIL_FILE_PATH = _mail.get("EMAIL_FILE_PATH") or None
# For each answer of the mail server. A shorter one would send a letter twice that was only slow to be taken (RFC
# 5321, 4.5.3.2.6); a slow server fills the threads of its own channel and no others.
EMAIL_TIMEOUT = 30
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL", "watch@rodtally.invalid")
if DEMO:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = str(DEMO_DIR / "mail")

# Where guests reach the service, for addresses in letters and codes.
PUBLIC_URL: str = env.str("PUBLIC_URL", "").rstrip("/") or (
    "http://127.0.0.1:8000" if DEMO or not ALLOWED_HOSTS else f"https://{ALLOWED_HOSTS[0]}"
)
# --- The watch's ways out ---------------------------------------------------------------------
GATEWAY_URL: str = "" if DEMO else env.str("GATEWAY_URL", "")
_DRAMA_NUMBER = "+447700900164"  # of those Ofcom keeps for drama, 07700 900000 to 900999: it reaches nobody
TEXT_NUMBER: str = _DRAMA_NUMBER if DEMO else env.str("TEXT_NUMBER", "")  # where guests send "OFF 4821"
GATEWAY_SECRETS: list[str] = [] if DEMO else _several("GATEWAY_SECRETS")
WATCH_PING_URL: str = "" if DEMO else env.str("WATCH_PING_URL", "")
WEB_PUSH_KEY: str = "" if DEMO else env.str("WEB_PUSH_KEY", "")
WEB_PUSH_OPENS = "/"  # the page that a push opens
if GATEWAY_URL and not GATEWAY_SECRETS:
    raise ImproperlyConfigured("GATEWAY_URL is set without GATEWAY_SECRETS. Texts are signed. See .env.example.")
try:
    for _url in filter(None, (GATEWAY_URL, WATCH_PING_URL)):
        check_address(_url)
    for _secret in GATEWAY_SECRETS:
        checked(_secret)
except (NotFetched, ValueError) as _fault:
    raise ImproperlyConfigured(f"GATEWAY_URL, GATEWAY_SECRETS or WATCH_PING_URL: {_fault}") from None
try:
    if WEB_PUSH_KEY:
        private_key(WEB_PUSH_KEY)
except ValueError as _fault:
    raise ImproperlyConfigured(f"WEB_PUSH_KEY: {_fault} See .env.example.") from None

# --- The broker: only ever a messenger. It may be emptied at any time. -----------------------
CELERY_BROKER_URL = "memory://" if DEMO else env.str("REDIS_URL", "") or "memory://"
CELERY_TIMEZONE = "UTC"
# Queues by consequence, each with workers of its own in docker-compose.yml: nothing that can be slow shares a
# worker, or a connection to the broker, with the watch. A worker without -Q takes from all of them.
CELERY_TASK_QUEUES = [Queue(name) for name in ("watch", "alarms", "default", "bulk")]
CELERY_TASK_DEFAULT_QUEUE = "default"
CELERY_TASK_ROUTES = {
    "safety.sweep": {"queue": "watch"},
    "safety.look_at_water": {"queue": "watch"},
    "safety.ping": {"queue": "watch"},
    "safety.deliver": {"queue": "alarms"},
    "safety.weekly_drills": {"queue": "bulk"},
    "safety.expire_undelivered": {"queue": "bulk"},
    "bookings.send_papers": {"queue": "bulk"},
    "bookings.send_notices": {"queue": "bulk"},
    "bookings.send_messages": {"queue": "bulk"},
    "bookings.forget": {"queue": "bulk"},
    "sessions.work_rota_jobs": {"queue": "bulk"},
    "sessions.remind_of_returns": {"queue": "bulk"},
    "beats.forget_codes": {"queue": "bulk"},
    "beats.purge_idempotency_records": {"queue": "bulk"},
}
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_TIME_LIMIT = 120
CELERY_TASK_SOFT_TIME_LIMIT = 90
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_CANCEL_LONG_RUNNING_TASKS_ON_CONNECTION_LOSS = True
CELERY_WORKER_SEND_TASK_EVENTS = False
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None  # never give up on the broker
CELERY_BROKER_TRANSPORT_OPTIONS = (
    {"polling_interval": 0.2}
    if CELERY_BROKER_URL.startswith("memory")
    else {
        "visibility_timeout": 900,
        "unacked_restore_interval": 1,
        "unacked_restore_throttle": 1,
        "socket_timeout": 10,
        "socket_connect_timeout": 5,
        "socket_keepalive": True,
        "retry_on_timeout": True,
        "health_check_interval": 10,
    }
)
CELERY_BEAT_SCHEDULE = {
    # Plain intervals in UTC; each message expires before the next is due, so none pile up.
    "raise-overdue-alarms": {"task": "safety.sweep", "schedule": 3.0, "options": {"expires": 2.5}},
    "work-out-rotas": {"task": "sessions.work_rota_jobs", "schedule": 5.0, "options": {"expires": 4}},
    "sweep-the-book": {"task": "bookings.sweep", "schedule": 15.0, "options": {"expires": 14}},
    "remind-of-returns": {"task": "sessions.remind_of_returns", "schedule": 3600.0, "options": {"expires": 3000}},
    "send-codes": {"task": "beats.send_codes", "schedule": 3.0, "options": {"expires": 2}},
    "forget-codes": {"task": "beats.forget_codes", "schedule": 3600.0, "options": {"expires": 3500}},
    "purge-idempotency-records": {
        "task": "beats.purge_idempotency_records",
        "schedule": 3600.0,
        "options": {"expires": 3500},
    },
    "fetch-gauges": {"task": "beats.poll_gauges", "schedule": 60.0, "options": {"expires": 50}},
    "send-permits": {"task": "bookings.send_papers", "schedule": 20.0, "options": {"expires": 18}},
    "send-tenancy-notices": {"task": "bookings.send_notices", "schedule": 60.0, "options": {"expires": 55}},
    "tell-hooks": {"task": "bookings.send_messages", "schedule": 10.0, "options": {"expires": 9}},
    "forget-guests": {"task": "bookings.forget", "schedule": 3600.0, "options": {"expires": 3500}},
    "send-deliveries": {"task": "safety.deliver", "schedule": 5.0, "options": {"expires": 4}},
    "expire-undelivered": {"task": "safety.expire_undelivered", "schedule": 3600.0, "options": {"expires": 3000}},
    "look-at-the-water": {"task": "safety.look_at_water", "schedule": 60.0, "options": {"expires": 50}},
    "say-that-the-watch-is-well": {"task": "safety.ping", "schedule": 60.0, "options": {"expires": 50}},
    "drill-once-a-week": {"task": "safety.weekly_drills", "schedule": 3600.0, "options": {"expires": 3000}},
}
if DEMO:
    # One process and one worker of one thread: what must not wait is done by the watch's own threads.
    CELERY_BEAT_SCHEDULE = {
        name: entry
        for name, entry in CELERY_BEAT_SCHEDULE.items()
        if CELERY_TASK_ROUTES.get(entry["task"], {}).get("queue") not in ("watch", "alarms")
    }

# --- What one fishery may take of the service; `beats/shares.py` has the kinds -------------------
try:
    FISHERY_SHARES: dict[str, int] = env.dict("FISHERY_SHARES", {}, subcast_values=int)
except EnvError:
    message = "FISHERY_SHARES is not like rotas=600,guests=40000. See .env.example."
    raise ImproperlyConfigured(message) from None

# --- Figures for Prometheus ---------------------------------------------------------------------
METRICS_TOKEN: str = env.str("METRICS_TOKEN", "")
if METRICS_TOKEN and len(METRICS_TOKEN) < 32:
    raise ImproperlyConfigured("METRICS_TOKEN is shorter than 32 characters. See .env.example.")
if METRICS_DIR := env.str("METRICS_DIR", ""):
    # Where the processes of one web keep their counts; the library looks for it by this name as it is loaded.
    Path(METRICS_DIR).mkdir(parents=True, exist_ok=True)
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = METRICS_DIR

# --- Logs -----------------------------------------------------------------------------------
LOG_FORMAT: str = env.str("LOG_FORMAT", "text" if DEMO else "json")
if LOG_FORMAT not in SHAPES:
    raise ImproperlyConfigured(f"LOG_FORMAT is {LOG_FORMAT!r}. Set it to json or text. See .env.example.")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"()": SHAPES[LOG_FORMAT]}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": env.str("LOG_LEVEL", "WARNING" if DEMO else "INFO")},
    "loggers": {
        # Django would lay handlers of its own upon ours: a line twice, and its letters to admins.
        "django": {"handlers": [], "level": "NOTSET"},
        "django.server": {"handlers": [], "propagate": True},
        "rodtally.alarm": {"level": "INFO"},
        "fontTools": {"level": "WARNING"},  # else forty lines for every sheet printed
    },
}
