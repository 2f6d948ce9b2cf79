"""Tokens: made once, shown once, kept only as a hash."""

import datetime as dt
import hashlib
import secrets

from django.utils import timezone
from rest_framework import exceptions
from rest_framework.authentication import BaseAuthentication, get_authorization_header

from beats.models import AccessToken, User

DEFAULT_LIFE = dt.timedelta(days=365)


def issue_token(user: User, *, label: str, now: dt.datetime, life: dt.timedelta = DEFAULT_LIFE) -> str:
    """A new secret of 256 random bits for `user`; this is the only time it can be read."""
    secret = secrets.token_urlsafe(32)
    AccessToken.objects.create(
        user=user, label=label, digest=_digest(secret), created_at=now, expires_at=now + life
    )
    return secret


class TokenAuthentication(BaseAuthentication):
    """`Authorization: Bearer SECRET`."""

    def authenticate(self, request):
        words = get_authorization_header(request).split()
        if not words or words[0].lower() != b"bearer":
            return None
        if len(words) != 2:
            raise exceptions.AuthenticationFailed("Send one token: Authorization: Bearer YOUR-TOKEN")
        found = (
            AccessToken.objects.select_related("user")
            .filter(digest=_digest_bytes(words[1]), expires_at__gt=timezone.now(), user__is_active=True)
            .first()
        )
        if found is None:
            raise exceptions.AuthenticationFailed("This token is unknown or has expired. Ask for a new one.")
        return found.user, found

    def authenticate_header(self, request) -> str:  # noqa: ARG002 - DRF's signature
        return "Bearer"


def _digest(secret: str) -> str:
    return _digest_bytes(secret.encode())


def _digest_bytes(secret: bytes) -> str:
    return hashlib.sha256(secret).hexdigest()
