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


def locked_in_order(queryset: models.QuerySet) -> list[models.Model]:
    """The rows, held until the transaction ends, taken by primary key so that two callers cannot cross."""
    _inside_transaction()
    if connection.vendor == "postgresql":
        queryset = queryset.select_for_update(of=("self",), no_key=True)
    return list(queryset.order_by("pk"))


def quiet(model: type[models.Model]) -> None:
    """Nobody else writes rows of this table until the transaction ends: for seldom acts that judge many rows.

    Waits for writers under way, so that what is read next is all there is. Take it before anything else.
    """
    _inside_transaction()
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {connection.ops.quote_name(model._meta.db_table)} IN SHARE MODE")


def several_unless_busy(queryset: models.QuerySet, **lookup) -> list[models.Model]:
    """As `locked_unless_busy`, for many rows: those that nobody else holds and that still match."""
    _inside_transaction()
    if connection.vendor == "postgresql":
        queryset = queryset.select_for_update(of=("self",), no_key=True, skip_locked=True)
    return list(queryset.filter(**lookup))


def _inside_transaction() -> None:
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("a row can only be held inside a transaction")
