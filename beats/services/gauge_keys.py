"""Keys of loggers: the owner gives one out for one gauge, and takes it back."""

import datetime as dt

from django.db import transaction

from beats.audit import record
from beats.authentication import digest_of, new_key
from beats.models import Gauge, GaugeKey, User
from beats.queries import Role, require_role
from beats.shared.once import Once, make_once
from beats.shares import refuse_when_full


def issue_key(
    gauge: Gauge, *, label: str, days: int, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[GaugeKey, str | None, bool]:
    """A new key for a logger at this gauge. Returns (key, secret, new?).

    The secret is given this once and only its hash is kept: the same request again is answered
    with the same key and no secret. Raises NotYours, KeyReused.
    """
    require_role(by, gauge.fishery, Role.OWNER)
    secret = new_key()

    def make(columns: dict) -> GaugeKey:
        refuse_when_full("keys", GaugeKey.objects.filter(gauge__fishery=gauge.fishery, revoked_at=None))
        expires_at = now + dt.timedelta(days=days)
        key = GaugeKey.objects.create(
            gauge=gauge, label=label, digest=digest_of(secret), created_at=now, expires_at=expires_at, **columns
        )
        facts = {"gauge": gauge.slug, "label": label, "expires_at": expires_at}
        record("issue gauge key", key, by=by, now=now, fishery=gauge.fishery, after=facts)
        return key

    key, made = make_once(GaugeKey, by=by, once=once, make=make)
    return key, secret if made else None, made


@transaction.atomic
def revoke_key(key: GaugeKey, *, by: User, now: dt.datetime) -> None:
    """The key opens nothing from now on. Once more changes nothing."""
    fishery = key.gauge.fishery
    require_role(by, fishery, Role.OWNER)
    if GaugeKey.objects.filter(pk=key.pk, revoked_at__isnull=True).update(revoked_at=now):
        record("revoke gauge key", key, by=by, now=now, fishery=fishery, before={"label": key.label})
