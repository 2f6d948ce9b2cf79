"""Whose request it is, by this installation's settings."""

from django.conf import settings
from django.http import HttpRequest

from beats.shared.client_address import client_address


def client_of(request: HttpRequest) -> str:
    """The client's network address; "" where it is not known: behind a proxy that is not named in the settings."""
    if settings.BEHIND_TLS_PROXY and not settings.TRUSTED_PROXIES:
        return ""
    forwarded = request.headers.get("X-Forwarded-For", "")
    return client_address(request.META.get("REMOTE_ADDR", ""), forwarded, settings.TRUSTED_PROXIES)
