"""Settings, all from the environment; see docs/reference/settings.md."""

import os
from pathlib import Path

from csp.constants import NONE, SELF

from thenar.site.database import database_settings
from thenar.site.secret import secret_key

DATA_FOLDER = Path(os.environ.get("THENAR_DATA", "data")).resolve()
DEMO = os.environ.get("THENAR_DEMO") == "1"
SITE_NAME = os.environ.get("THENAR_SITE_NAME", "Saltmere" if DEMO else "")
SITE_KNOWLEDGE = Path(path) if (path := os.environ.get("THENAR_SITE_KNOWLEDGE")) else None
JURISDICTION = os.environ.get("THENAR_JURISDICTION", "GB")  # whose wet-work rule set governs
OH_SERVICE = os.environ.get("THENAR_OH_SERVICE", "Occupational health")
OH_TELEPHONE = os.environ.get("THENAR_OH_TELEPHONE", "extension 4000" if DEMO else "")
EMERGENCY_TELEPHONE = os.environ.get("THENAR_EMERGENCY_TELEPHONE", "")
OH_EMAIL = os.environ.get("THENAR_OH_EMAIL", "oh@saltmere.example" if DEMO else "")

SECRET_KEY = secret_key(DATA_FOLDER)
DEBUG = False
ALLOWED_HOSTS = os.environ.get("THENAR_HOSTS", "localhost,127.0.0.1,[::1]").split(",")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "csp",
    "thenar.records",
    "thenar.screens",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "thenar.screens.middleware.never_cached",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "thenar.screens.middleware.signed_out_when_quiet",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "thenar.screens.middleware.plain_errors",
]
ROOT_URLCONF = "thenar.site.urls"
WSGI_APPLICATION = "thenar.site.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "thenar.screens.frame.frame",
            ]
        },
    }
]

DATABASES = {"default": database_settings(os.environ.get("THENAR_DATABASE_URL", ""), DATA_FOLDER)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "records.User"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "home"

USE_TZ = True
TIME_ZONE = os.environ.get("THENAR_TIME_ZONE", "Europe/London")
LANGUAGE_CODE = "en-gb"
USE_I18N = True

STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True  # straight from the package: nothing to gather first
WHITENOISE_MAX_AGE = 3600

# A shared clinic computer: fifteen quiet minutes, eight hours at most (thenar.screens.middleware holds both),
# nothing kept when the browser closes.
SESSION_COOKIE_AGE = 8 * 60 * 60
SESSION_EXPIRE_AT_BROWSER_CLOSE = True
SESSION_COOKIE_SAMESITE = "Lax"
# The demo is served without TLS on this machine only; everywhere else cookies demand it.
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = not DEMO
SESSION_COOKIE_NAME = "thenar-session" if DEMO else "__Host-thenar-session"
CSRF_COOKIE_NAME = "thenar-form" if DEMO else "__Host-thenar-form"
CSRF_FAILURE_VIEW = "thenar.screens.keeping.form_refused"
SECURE_HSTS_SECONDS = 0 if DEMO else 31_536_000
SECURE_HSTS_INCLUDE_SUBDOMAINS = not DEMO
SECURE_SSL_REDIRECT = os.environ.get("THENAR_TLS_REDIRECT") == "1"
# Other sites are told nothing. With "no-referrer", browsers send forms with a null origin, which is refused.
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "style-src": [SELF],
        "script-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
    }
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_621_440
FILE_UPLOAD_MAX_MEMORY_SIZE = 20 * 1024 * 1024

# Logs carry no personal data: no address, no form content, no error message (thenar.screens.log_lines).
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "thenar.screens.log_lines.PlainLines",
            "format": "{asctime} {levelname} {name} {message}",
            "style": "{",
        }
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": os.environ.get("THENAR_LOG_LEVEL", "WARNING")},
}
