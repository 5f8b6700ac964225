"""One settings file; what differs from place to place comes from the environment.

SECRET_KEY, DEBUG (0 or 1), ALLOWED_HOSTS (comma separated) and DATABASE_URL; a clone runs without any.
"""

import os
from pathlib import Path
from urllib.parse import parse_qsl, unquote, urlsplit

from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = BASE_DIR / ".data"  # made files only: SQLite, pictures, demo sign-ins
DEVELOPMENT_KEY = "development-only: refused when DEBUG is 0"


def env_bool(name, default):
    """Read 1 or 0 from the environment; anything else is refused by name."""
    value = os.environ.get(name, default)
    if value not in ("0", "1"):
        raise ImproperlyConfigured(f"{name}={value!r}: write 1 or 0")
    return value == "1"


def database_from(url):
    """Django's database entry for a DATABASE_URL; SQLite in `.data/` when there is none."""
    if not url:
        DATA_DIR.mkdir(exist_ok=True)
        return sqlite_at(DATA_DIR / "lines-ashore.sqlite3")
    parts = urlsplit(url)
    if parts.scheme == "sqlite":
        return sqlite_at(unquote(parts.path))
    if parts.scheme not in ("postgres", "postgresql"):
        raise ImproperlyConfigured(
            f"DATABASE_URL={url.split('@')[-1]!r}: write sqlite:///PATH or postgresql://..."
        )
    query = dict(parse_qsl(parts.query))
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.lstrip("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": query.pop("host", parts.hostname or ""),
        "PORT": parts.port or "",
        "OPTIONS": query,
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
    }


def sqlite_at(path):
    """SQLite for many readers and one writer at a time.

    IMMEDIATE: a transaction that means to write says so first and waits for its turn; the default lets two
    writers start and then fails one with 'database is locked'. FULL: a committed stay survives a power cut.
    """
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": path,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;",
        },
        "TEST": {"NAME": str(DATA_DIR / f"test-{os.getpid()}.sqlite3")},  # a file: memory has no WAL to test
    }


DEBUG = env_bool("DEBUG", "1")
SECRET_KEY = os.environ.get("SECRET_KEY", DEVELOPMENT_KEY)
if not DEBUG and SECRET_KEY == DEVELOPMENT_KEY:
    raise ImproperlyConfigured(
        "SECRET_KEY: set a long random one; DEBUG=0 does not run on the development key"
    )
ALLOWED_HOSTS = [h for h in os.environ.get("ALLOWED_HOSTS", "").split(",") if h]
DATABASES = {"default": database_from(os.environ.get("DATABASE_URL", ""))}

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "axes",
    "import_export",
    "marina.base",
    "vessels",
    "berths",
    "marina.desk",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "marina.desk.middleware.PartManners",
    "marina.desk.middleware.ContentSecurity",
    "marina.desk.middleware.ReadsIn",
    "marina.desk.middleware.HarbourTime",
    "marina.desk.door.Door",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "marina.urls"
WSGI_APPLICATION = "marina.wsgi.application"
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
                "marina.desk.middleware.page_context",
            ]
        },
    }
]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "base.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 1  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]  # one wet phone does not lock out the office
AXES_LOCKOUT_TEMPLATE = "desk/locked_out.html"
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"  # stored and worked in UTC; pages show the harbour's zone, a house rule

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
if not DEBUG:
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
SESSION_COOKIE_AGE = 14 * 24 * 3600
IMPORT_EXPORT_ESCAPE_FORMULAE_ON_EXPORT = True  # a name that starts with = stays text in the sheet
