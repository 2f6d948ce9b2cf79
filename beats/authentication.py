"""Tokens of people and keys of loggers: made once, shown once, kept only as a hash."""

import datetime as dt
import hashlib
import secrets
from dataclasses import dataclass

from django.db import connection
from django.utils import timezone
from rest_framework import exceptions
from rest_framework.authentication import BaseAuthentication, get_authorization_header

from beats.models import AccessToken, GaugeKey, User
from beats.shared import wall
from beats.shared.refusals import NotYours

DEFAULT_LIFE = dt.timedelta(days=365)
BEARER = """SELECT person.* FROM beats_user person JOIN beats_accesstoken token ON token.user_id = person.id
WHERE token.digest = %s AND token.expires_at > %s AND person.is_active"""
"""By hand: every request asks this first, and to write it costs more than to answer it. One person or none."""
KEY_MARK = "gauge-"
"""A gauge's key begins with it, so that a person's token is never looked for among keys."""


def issue_token(user: User, *, label: str, now: dt.datetime, life: dt.timedelta = DEFAULT_LIFE) -> str:
    """A new secret of 256 random bits for `user`; this is the only time it can be read."""
    secret = secrets.token_urlsafe(32)
    AccessToken.objects.create(
        user=user, label=label, digest=digest_of(secret), created_at=now, expires_at=now + life
    )
    return secret


def new_key() -> str:
    """A new secret for a logger, of 256 random bits."""
    return KEY_MARK + secrets.token_urlsafe(32)


def digest_of(secret: str) -> str:
    return _digest_bytes(secret.encode())


class TokenAuthentication(BaseAuthentication):
    """`Authorization: Bearer SECRET`."""

    def authenticate(self, request):
        words = get_authorization_header(request).split()
        if not words or words[0].lower() != b"bearer":
            return None
        if len(words) != 2:
            raise exceptions.AuthenticationFailed("Send one token: Authorization: Bearer YOUR-TOKEN")
        now = connection.ops.adapt_datetimefield_value(timezone.now())
        found = next(iter(User.objects.raw(BEARER, [_digest_bytes(words[1]), now])), None)
        if found is None:
            raise exceptions.AuthenticationFailed("This token is unknown or has expired. Ask for a new one.")
        wall.raise_for(found.pk)
        return found, None

    def authenticate_header(self, request) -> str:  # noqa: ARG002 - DRF's signature
        return "Bearer"


@dataclass(frozen=True)
class Logger:
    """A machine at a gauge, where a view asks who is calling."""

    key: GaugeKey
    is_authenticated = True


class LoggerAuthentication(TokenAuthentication):
    """As for people; and `Authorization: Bearer gauge-...`, the key of a logger, which only posts readings."""

    def authenticate(self, request):
        words = get_authorization_header(request).split()
        if len(words) != 2 or not words[1].startswith(KEY_MARK.encode()):
            return super().authenticate(request)
        found = (
            GaugeKey.objects.select_related("gauge__fishery")
            .filter(digest=_digest_bytes(words[1]), expires_at__gt=timezone.now(), revoked_at__isnull=True)
            .first()
        )
        if found is None:
            raise exceptions.AuthenticationFailed(
                "This key is unknown, revoked or expired. Ask the owner for a new one."
            )
        if request.method != "POST":
            raise NotYours("A gauge's key posts readings and reads nothing. Sign in with a token of your own.")
        wall.raise_around(found.gauge.fishery_id)
        return Logger(found), found


def _digest_bytes(secret: bytes) -> str:
    return hashlib.sha256(secret).hexdigest()
