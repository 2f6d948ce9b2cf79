"""Keys of district boards: the owner gives one out for a fishery's signed returns, and takes it back."""

import datetime as dt
import secrets

from django.db import transaction

from beats.audit import record
from beats.authentication import digest_of
from beats.models import Fishery, User
from beats.queries import Role, require_role
from beats.shared.once import Once, make_once
from beats.shares import refuse_when_full
from sessions.authentication import KEY_MARK
from sessions.models import BoardKey


def issue_board_key(
    fishery: Fishery, *, label: str, days: int, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[BoardKey, str | None, bool]:
    """A new key for a district board. Returns (key, secret, new?).

    The secret is given this once and only its hash is kept. Raises NotYours, KeyReused.
    """
    require_role(by, fishery, Role.OWNER)
    secret = KEY_MARK + secrets.token_urlsafe(32)

    def make(columns: dict) -> BoardKey:
        refuse_when_full("keys", BoardKey.objects.filter(fishery=fishery, revoked_at=None))
        expires_at = now + dt.timedelta(days=days)
        key = BoardKey.objects.create(
            fishery=fishery,
            label=label,
            digest=digest_of(secret),
            created_at=now,
            expires_at=expires_at,
            **columns,
        )
        facts = {"label": label, "expires_at": expires_at}
        record("issue board key", key, by=by, now=now, fishery=fishery, after=facts)
        return key

    key, made = make_once(BoardKey, by=by, once=once, make=make)
    return key, secret if made else None, made


@transaction.atomic
def revoke_board_key(key: BoardKey, *, by: User, now: dt.datetime) -> None:
    """The key opens nothing from now on. Once more changes nothing."""
    require_role(by, key.fishery, Role.OWNER)
    if BoardKey.objects.filter(pk=key.pk, revoked_at__isnull=True).update(revoked_at=now):
        record("revoke board key", key, by=by, now=now, fishery=key.fishery, before={"label": key.label})
