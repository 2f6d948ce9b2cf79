"""The one way to write an audit row."""

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import models, transaction

from beats.models import AuditEntry, Fishery, User
from beats.shared.pour import pour


def record(
    verb: str,
    subject: models.Model,
    *,
    by: User | None,
    now: dt.datetime,
    fishery: Fishery | None,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> None:
    """Note a deed inside the transaction that does it; refuses to run outside one."""
    _inside_transaction()
    entry(verb, subject, by=by, now=now, fishery=fishery, before=before, after=after).save()


def entry(
    verb: str,
    subject: models.Model,
    *,
    by: User | None,
    now: dt.datetime,
    fishery: Fishery | None,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> AuditEntry:
    """A row not yet written, for `record_all`."""
    return AuditEntry(
        fishery=fishery,
        by=by,
        at=now,
        verb=verb,
        subject=subject_of(subject),
        before=_plain(before),
        after=_plain(after),
    )


def record_all(entries: list[AuditEntry]) -> None:
    """Note many deeds at once, inside the transaction that does them."""
    _inside_transaction()
    pour(entries)


@contextmanager
def forgetting() -> Iterator[None]:
    """In here alone, and inside a transaction, what was said of somebody forgotten may go from the trail."""
    _inside_transaction()
    connection = transaction.get_connection()
    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL rodtally.forgetting = 'on'")
        yield
        cursor.execute("SET LOCAL rodtally.forgetting = 'off'")


def subject_of(row: models.Model) -> str:
    """table:id"""
    return f"{row._meta.label_lower}:{row.pk}"


def _inside_transaction() -> None:
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("an audit row belongs in the transaction of its deed")


def _plain(facts: dict[str, Any] | None) -> dict[str, Any] | None:
    if facts is None:
        return None
    return {
        name: value if isinstance(value, int | float | bool | None) else str(value)
        for name, value in facts.items()
    }
