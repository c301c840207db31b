"""All settings. Every value that differs between machines comes from the environment (see README, “Settings”)."""

from pathlib import Path
from urllib.parse import urlsplit

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured
from django.utils.translation import gettext_lazy as _

from coachdesk import environment

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = environment.folder("COACHDESK_DATA", BASE_DIR / "data")
BUILD_DIR = BASE_DIR / "build"

DEBUG = environment.flag("COACHDESK_DEBUG")
# Hosted: reached through a TLS proxy under COACHDESK_URL; otherwise this machine alone, over plain http.
HOSTED = environment.flag("COACHDESK_HOSTED")
SECRET_KEY = environment.secret_key(DATA_DIR / "secret-key")

PUBLIC_URL = environment.text("COACHDESK_URL").rstrip("/")
if PUBLIC_URL and urlsplit(PUBLIC_URL).scheme not in {"http", "https"}:
    raise ImproperlyConfigured("COACHDESK_URL must start with http:// or https://.")
if HOSTED and not PUBLIC_URL.startswith("https://"):
    raise ImproperlyConfigured("COACHDESK_HOSTED needs COACHDESK_URL with https://.")

ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]", *environment.listing("COACHDESK_HOSTS")]
if PUBLIC_URL:
    ALLOWED_HOSTS.append(str(urlsplit(PUBLIC_URL).hostname))
    CSRF_TRUSTED_ORIGINS = [PUBLIC_URL] if urlsplit(PUBLIC_URL).path == "" else []

INSTALLED_APPS = [
    "coachdesk",
    "coachdesk.practice",
    "programs",
    "clients",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "coachdesk.middleware.PersonMiddleware",
]

ROOT_URLCONF = "coachdesk.urls"
WSGI_APPLICATION = "coachdesk.wsgi.application"

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
                "coachdesk.practice.context.page",
            ],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# Default SQLite settings lose writes to "database is locked" when two people save at once; immediate
# transactions over a write-ahead log don't.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    # Longer than the longest single act, loading the demo: who comes meanwhile waits instead of failing.
    "timeout": 30,
    "init_command": (
        "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL;PRAGMA cache_size=-65536;PRAGMA mmap_size=268435456;"
        "PRAGMA temp_store=MEMORY;PRAGMA journal_size_limit=67108864;"
    ),
}
if environment.text("DATABASE_URL"):
    DATABASES = {"default": dj_database_url.parse(environment.text("DATABASE_URL"), conn_max_age=60)}
    if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
        DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
else:
    DATABASES = {
        "default": {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": str(DATA_DIR / "coachdesk.sqlite3"),
            "OPTIONS": SQLITE_OPTIONS,
        }
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "practice.Coach"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "desk"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en"
LANGUAGES = [("en", _("English")), ("de", _("German numbers and dates, English words"))]
LOCALE_PATHS = [BASE_DIR / "locale"]
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True

STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static", ("fonts", BUILD_DIR / "static" / "fonts")]
STATIC_ROOT = None  # WhiteNoise serves what the finders find; nothing is collected
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG
MEDIA_ROOT = DATA_DIR / "uploads"
PDF_DIR = DATA_DIR / "pdf"

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "ENQUEUE_ON_COMMIT": True}}

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 14
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "coachdesk.views.csrf_failure"
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HOSTED
if HOSTED:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"masked": {"()": "coachdesk.middleware.MaskTokens"}},
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(message)s"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "formatter": "plain", "filters": ["masked"]},
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {"django.request": {"level": "ERROR"}, "django.security": {"level": "WARNING"}},
}
