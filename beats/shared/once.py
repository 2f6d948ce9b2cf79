"""A request made twice acts once: the key lives on the row it made, in the same transaction.

Phones by a river retry. The row a request makes stores the caller's key and a fingerprint of what
was asked; the pair (who, key) is unique, so a crash can neither lose the key nor keep it locked.
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db import IntegrityError, models, transaction

from beats.shared.refusals import KeyReused, Refusal


@dataclass(frozen=True)
class Once:
    """What identifies a request: the caller's own key and what was asked."""

    key: str
    fingerprint: str

    @classmethod
    def of(cls, key: str, asked: Any) -> "Once":
        canonical = json.dumps(asked, sort_keys=True, default=str, separators=(",", ":"))
        return cls(key=key, fingerprint=hashlib.sha256(canonical.encode()).hexdigest())


class MadeOnce(models.Model):
    """Columns of a row that a repeated request must not make twice."""

    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+", db_index=False
    )
    request_key = models.CharField(max_length=80, null=True, editable=False)
    request_fingerprint = models.CharField(max_length=64, blank=True, editable=False)

    class Meta:
        abstract = True
        constraints = [
            models.UniqueConstraint(fields=["made_by", "request_key"], name="%(app_label)s_%(class)s_made_once")
        ]


def make_once(model, *, by, once: Once | None, make: Callable[[dict], Any]) -> tuple[Any, bool]:
    """Run `make(columns)` in one transaction, or return the row an earlier same request made.

    `make` gets the three columns to store and returns the new row. Returns (row, made now?).
    Raises KeyReused when the key came with another request; whatever `make` raises passes through,
    unless this very request turns out to have won meanwhile on another connection.
    """
    columns = {"made_by": by, "request_key": None, "request_fingerprint": ""}
    if once is not None:
        columns |= {"request_key": once.key, "request_fingerprint": once.fingerprint}
        if earlier := made_earlier(model, by=by, once=once):
            return earlier, False
    try:
        with transaction.atomic():
            return make(columns), True
    except (IntegrityError, Refusal):
        if earlier := made_earlier(model, by=by, once=once):
            return earlier, False
        raise


def made_earlier(model, *, by, once: Once | None):
    """The row that the same request made before, or None; raises KeyReused for another request's key."""
    if once is None:
        return None
    row = model.objects.filter(made_by=by, request_key=once.key).first()
    if row is not None and row.request_fingerprint != once.fingerprint:
        raise KeyReused(
            "This Idempotency-Key was already used for a different request. "
            "Use a new key for a new request; nothing was changed."
        )
    return row
