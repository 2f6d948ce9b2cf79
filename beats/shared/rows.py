"""Locking one row, on both databases, with the same meaning."""

from django.db import connection, models, transaction


def locked(queryset: models.QuerySet, **lookup) -> models.Model:
    """The one row, held until the transaction ends.

    PostgreSQL: a row lock. SQLite: nothing more is needed, since every transaction here begins
    IMMEDIATE and so already holds the only write lock. Refuses to run outside a transaction, where
    neither would hold. Raises DoesNotExist.
    """
    _inside_transaction()
    if connection.vendor == "postgresql":
        queryset = queryset.select_for_update(of=("self",), no_key=True)
    return queryset.get(**lookup)


def locked_unless_busy(queryset: models.QuerySet, **lookup) -> models.Model | None:
    """As `locked`, but None when another process holds the row or it no longer matches."""
    _inside_transaction()
    if connection.vendor == "postgresql":
        queryset = queryset.select_for_update(of=("self",), no_key=True, skip_locked=True)
    return queryset.filter(**lookup).first()


def several_unless_busy(queryset: models.QuerySet, **lookup) -> list[models.Model]:
    """As `locked_unless_busy`, for many rows: those that nobody else holds and that still match."""
    _inside_transaction()
    if connection.vendor == "postgresql":
        queryset = queryset.select_for_update(of=("self",), no_key=True, skip_locked=True)
    return list(queryset.filter(**lookup))


def _inside_transaction() -> None:
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("a row can only be held inside a transaction")
