"""Django's settings, made in code: one process serves one book."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from lemel.errors import Broken

__all__ = ["LOOPBACK", "configure", "point_at"]

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
#: The most that one request may bring, in bytes: a handful of photographs.
UPLOAD_MOST_BYTES = 16 * 1024 * 1024
#: Days until a login is asked for again.
LOGIN_DAYS = 14


def configure(hosts: Iterable[str] = ()) -> None:
    """Django set up for pages, once; `hosts` are names beside this machine's own loopback."""
    import django
    from django.conf import settings

    if not settings.configured:
        settings.configure(**_settings(tuple(hosts)))
        django.setup()
    elif not hasattr(settings, "LEMEL_BOOK"):
        raise Broken("the book configured Django first: call lemel.serve.configure before it")
    else:
        settings.ALLOWED_HOSTS = [*dict.fromkeys((*settings.ALLOWED_HOSTS, *hosts))]


def point_at(folder: Path | str) -> None:
    """Serve the book in this folder, which must be there; cookies are signed with its secret."""
    from django.conf import settings

    place = Path(folder).expanduser().resolve()
    secret = (place / "secret").read_text("utf-8")
    settings.LEMEL_BOOK = place
    settings.SECRET_KEY = hashlib.sha256(f"pages {secret}".encode()).hexdigest()


def _settings(hosts: tuple[str, ...]) -> dict[str, Any]:
    return {
        "DEBUG": False,
        "SECRET_KEY": "no book is open",
        "LEMEL_BOOK": None,
        "ALLOWED_HOSTS": [*LOOPBACK, *hosts],
        "INSTALLED_APPS": [
            "django.contrib.staticfiles",
            "django_htmx",
            "ninja",
            "lemel.book",
            "lemel.web",
        ],
        "MIDDLEWARE": _MIDDLEWARE,
        "ROOT_URLCONF": "lemel.serve.urls",
        "DATABASES": {"default": _NO_BOOK},
        "DEFAULT_AUTO_FIELD": "django.db.models.BigAutoField",
        "TEMPLATES": [
            {
                "BACKEND": "django.template.backends.django.DjangoTemplates",
                "APP_DIRS": True,
                "OPTIONS": {
                    "builtins": ["lemel.web.templatetags.bench"],
                    "context_processors": [
                        "django.template.context_processors.request",
                        "django.template.context_processors.csrf",
                    ],
                },
            }
        ],
        "USE_TZ": True,
        "USE_I18N": False,
        "STATIC_URL": "/static/",
        "WHITENOISE_USE_FINDERS": True,
        "WHITENOISE_MAX_AGE": 600,
        "LOGGING": _LOGGING,
        **_GUARDS,
    }  # fmt: skip


#: What a book that is opened later takes over: its connection stays with its thread.
_NO_BOOK = {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:", "CONN_MAX_AGE": None}
#: From the outermost to the innermost.
_MIDDLEWARE = [
    "lemel.web.guard.headers",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "lemel.api.guard.in_problems",
    "lemel.web.guard.host_and_size",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "lemel.web.reader.Reader",
    "lemel.web.door.Door",
    "lemel.api.guard.entrance",
    "lemel.web.shell.Faults",
]
_GUARDS: dict[str, Any] = {
    "SESSION_ENGINE": "django.contrib.sessions.backends.signed_cookies",
    "SESSION_COOKIE_NAME": "lemel",
    "SESSION_COOKIE_HTTPONLY": True,
    "SESSION_COOKIE_SAMESITE": "Strict",
    "SESSION_COOKIE_AGE": LOGIN_DAYS * 24 * 3600,
    "CSRF_COOKIE_NAME": "lemel-form",
    "CSRF_COOKIE_HTTPONLY": True,
    "CSRF_COOKIE_SAMESITE": "Strict",
    "CSRF_FAILURE_VIEW": "lemel.web.guard.stale_form",
    "X_FRAME_OPTIONS": "DENY",
    "SECURE_CONTENT_TYPE_NOSNIFF": True,
    "SECURE_REFERRER_POLICY": "same-origin",
    "SECURE_CROSS_ORIGIN_OPENER_POLICY": "same-origin",
    "DATA_UPLOAD_MAX_MEMORY_SIZE": 2 * 1024 * 1024,
    "DATA_UPLOAD_MAX_NUMBER_FIELDS": 2000,
    "DATA_UPLOAD_MAX_NUMBER_FILES": 20,
    # Nothing that is sent in is laid down outside the book.
    "FILE_UPLOAD_MAX_MEMORY_SIZE": UPLOAD_MOST_BYTES,
    "LEMEL_UPLOAD_MOST_BYTES": UPLOAD_MOST_BYTES,
}
_LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"stderr": {"class": "logging.StreamHandler"}},
    "loggers": {
        "django": {"handlers": ["stderr"], "level": "ERROR", "propagate": False},
        # A queue of a few requests is no news on one machine.
        "waitress.queue": {"level": "ERROR"},
    },
}
