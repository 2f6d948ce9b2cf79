"""The one way to write an audit row."""

import datetime as dt
from typing import Any

from django.db import models, transaction

from beats.models import AuditEntry, Fishery, User


def record(
    verb: str,
    subject: models.Model,
    *,
    by: User | None,
    now: dt.datetime,
    fishery: Fishery,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> None:
    """Note a deed inside the transaction that does it; refuses to run outside one."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("an audit row belongs in the transaction of its deed")
    AuditEntry.objects.create(
        fishery=fishery,
        by=by,
        at=now,
        verb=verb,
        subject=f"{subject._meta.label_lower}:{subject.pk}",
        before=_plain(before),
        after=_plain(after),
    )


def _plain(facts: dict[str, Any] | None) -> dict[str, Any] | None:
    if facts is None:
        return None
    return {
        name: value if isinstance(value, int | float | bool | None) else str(value)
        for name, value in facts.items()
    }
