"""Settings of the Django project: safe as shipped, everything that differs between machines comes from the environment.

BLOCKYARD_MODE      demo (default: this machine only, http) or production (https, secrets from the environment)
DJANGO_SECRET_KEY   required in production; a demo keeps a generated one in var/
DJANGO_ALLOWED_HOSTS  host names, comma separated; required in production
DATABASE_URL        postgres://… ; without it SQLite in var/
BLOCKYARD_TIME_ZONE   the shop's time zone: a foam day ends at its midnight
"""

import os
from pathlib import Path

import dj_database_url
from django.core.exceptions import ImproperlyConfigured
from django.core.management.utils import get_random_secret_key
from django.utils.csp import CSP

BASE_DIR = Path(__file__).resolve().parent.parent
VAR = BASE_DIR / "var"
VAR.mkdir(exist_ok=True)

PRODUCTION = os.environ.get("BLOCKYARD_MODE", "demo") == "production"
DEBUG = False


def _from_environment(name: str) -> str:
    if not os.environ.get(name):
        raise ImproperlyConfigured(f"Set {name} in the environment: production mode does not guess it.")
    return os.environ[name]


def _demo_secret_key() -> str:
    file = VAR / "secret-key"
    if not file.exists():
        file.write_text(get_random_secret_key(), encoding="utf-8")
        file.chmod(0o600)
    return file.read_text(encoding="utf-8")


if PRODUCTION:
    SECRET_KEY = _from_environment("DJANGO_SECRET_KEY")
    ALLOWED_HOSTS = _from_environment("DJANGO_ALLOWED_HOSTS").split(",")
else:
    SECRET_KEY = os.environ.get("DJANGO_SECRET_KEY") or _demo_secret_key()
    ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]", "testserver"]

INSTALLED_APPS = [
    "shop.apps.ShopConfig",
    "orders.apps.OrdersConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "django_tasks_db",
    "axes",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.csp.ContentSecurityPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "shop.views.who.AtDevice",
    "shop.views.people.SignInFirst",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
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
                "django.template.context_processors.csp",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

# Measured with 16 writers: only WAL with immediate transactions loses and refuses nothing. Immediate transactions make
# every atomic() a writer, so there are no ATOMIC_REQUESTS.
SQLITE_OPTIONS = {
    "timeout": 20,
    "transaction_mode": "IMMEDIATE",
    # FULL: what was acknowledged outlives a power cut of the server. A demo may lose its last moment.
    "init_command": f"PRAGMA journal_mode=WAL; PRAGMA synchronous={'FULL' if PRODUCTION else 'NORMAL'}; "
    "PRAGMA foreign_keys=ON;",
}
DATABASES = {
    "default": dj_database_url.config(
        default=f"sqlite:///{VAR / 'blockyard.sqlite3'}", conn_max_age=60, conn_health_checks=True
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
    # A file, since browser tests read and write from several threads.
    DATABASES["default"]["TEST"] = {"NAME": VAR / "test.sqlite3"}
# Long work (planning) waits in a table of the same database for a worker process: no broker. Several workers, on
# several machines too, where the database is PostgreSQL.
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default"]}}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "shop.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

# A name is locked at one address after five wrong passwords, so that a slip of one person does not lock the station.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address", "pin", "new_pin", "code", "raw"]  # never kept with a wrong try
AXES_LOCKOUT_TEMPLATE = "locked.html"

LANGUAGE_CODE = "en"
USE_I18N = False
USE_TZ = True
TIME_ZONE = os.environ.get("BLOCKYARD_TIME_ZONE", "America/New_York")

STATIC_URL = "static/"
STATIC_ROOT = VAR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
# A demo serves straight from static/, production from what collectstatic gathered and hashed.
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = not PRODUCTION
if PRODUCTION:
    STORAGES = {
        "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
        "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
    }

SECURE_CSP = {
    "default-src": [CSP.SELF],
    "script-src": [CSP.SELF],
    "worker-src": [CSP.SELF],
    "style-src": [CSP.SELF],
    "img-src": [CSP.SELF, "data:"],
    "object-src": [CSP.NONE],
    "base-uri": [CSP.SELF],
    "form-action": [CSP.SELF],
    "frame-ancestors": [CSP.NONE],
}
# Station pages read barcodes with a camera: the decoder is WebAssembly, of this server too.
STATION_CSP = SECURE_CSP | {"script-src": [CSP.SELF, CSP.WASM_UNSAFE_EVAL]}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 12 * 3600  # a shift
DATA_UPLOAD_MAX_MEMORY_SIZE = 4 * 1024 * 1024
if PRODUCTION:
    SECURE_SSL_REDIRECT = True
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SECURE_HSTS_SECONDS = 365 * 24 * 3600
    SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
