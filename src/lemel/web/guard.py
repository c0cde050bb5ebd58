"""What stands before every page: the headers, the host, the size of what is sent in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse

__all__ = ["POLICY", "headers", "host_and_size", "stale_form"]

View = Callable[[HttpRequest], HttpResponse]
#: Everything comes from here, nothing is written into a page that a browser would run.
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "manifest-src 'self'",
    )
)
#: Of the device a page may ask for nothing but its camera, for photographs of marks.
_DEVICE = "camera=(self), microphone=(), geolocation=(), payment=(), usb=()"


def headers(get_response: View) -> View:
    """Lay the headers on every answer; a page with metal on it is kept by nobody."""

    def with_headers(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.setdefault("Content-Security-Policy", POLICY)
        response.setdefault("Permissions-Policy", _DEVICE)
        response.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        if not request.path.startswith(settings.STATIC_URL):
            response["Cache-Control"] = "no-store"
        return response

    return with_headers


def host_and_size(get_response: View) -> View:
    """Refuse what asks for another host, and what is larger than a page may send."""

    def guarded(request: HttpRequest) -> HttpResponse:
        from lemel.web import shell

        try:
            request.get_host()
        except DisallowedHost:
            return HttpResponse("This name is not served here.", "text/plain", status=400)
        try:
            length = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            length = 0
        if length > settings.LEMEL_UPLOAD_MOST_BYTES:
            most = settings.LEMEL_UPLOAD_MOST_BYTES // (1024 * 1024)
            return shell.sorry(
                request, 413, f"That is more than {most} MB at once. Send it in parts."
            )
        return get_response(request)

    return guarded


def stale_form(request: HttpRequest, reason: str = "") -> Any:  # noqa: ARG001
    """What a form gets that does not come from a page of ours."""
    from lemel.web import shell

    return shell.sorry(
        request, 403, "This page had gone stale. Open it again and send it once more."
    )
