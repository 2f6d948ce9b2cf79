"""The wall between fisheries: PostgreSQL itself shows a person no row of a fishery where they have no part.

It is a second wall. `queries.py` decides who sees what; should a question there ever forget to ask, the database
answers with nothing. While a person's request is answered, the connection plays `ROLE`, for which the policies of
`stones.py` hold; the sweep, the tasks and the commands work for all fisheries and play no role. SQLite has no
such thing, and a PostgreSQL whose user may not make roles has none either: `manage.py check --database default`
says so.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.core.signals import request_finished, request_started
from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.signals import connection_created

ROLE = "rodtally_behind_wall"
INERROR = 3
"""libpq's PQTRANS_INERROR."""
MAY_PLAY = "SELECT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = %s AND pg_has_role(current_user, oid, 'SET'))"
IS_LAID = "SELECT EXISTS (SELECT 1 FROM pg_policies WHERE tablename = 'beats_fishery' AND %s = ANY (roles))"
"""A role made after the migrations, or for another database of the server, was given nothing here: playing it
would shut everybody out."""
RAISE = "SELECT set_config('rodtally.fisheries', %s::text, false), set_config('role', 'ROLE', false)".replace(
    "ROLE", ROLE
)
RAISE_FOR_PERSON = RAISE.replace("%s", "ARRAY(SELECT fishery_id FROM beats_membership WHERE user_id = %s)")
LOWER = "SELECT set_config('role', 'none', false), set_config('rodtally.fisheries', '', false)"


def raise_for(user_id: int) -> None:
    """From here to the end of the request, only what is of the fisheries where this person has a part."""
    _raise(RAISE_FOR_PERSON, user_id)


def raise_around(fishery_id: int) -> None:
    """As `raise_for`, for a machine whose key is of one fishery."""
    _raise(RAISE, f"{{{fishery_id}}}")


def lower() -> None:
    connection = connections[DEFAULT_DB_ALIAS]
    if _of(connection) is None:
        return
    connection.behind_wall = None
    if connection.connection is not None:
        _ask(connection, LOWER)


@contextmanager
def lowered() -> Iterator[None]:
    """In here the work is for all fisheries: say at each call why it must be."""
    before = _of(connections[DEFAULT_DB_ALIAS])
    lower()
    try:
        yield
    finally:
        if before is not None:
            _raise(RAISE, before)


def is_up() -> bool:
    return _of(transaction.get_connection()) is not None


def stands(connection: BaseDatabaseWrapper) -> bool:
    """Whether this database has a wall, and lets the service stand behind it."""
    if connection.vendor != "postgresql":
        return False
    if not hasattr(connection, "has_wall"):
        connection.has_wall = all(_ask(connection, asked, ROLE)[0] for asked in (MAY_PLAY, IS_LAID))
    return connection.has_wall


def _raise(question: str, value: int | str) -> None:
    """What is kept is the list itself: a deed that ends the person's own part is still finished behind it."""
    connection = connections[DEFAULT_DB_ALIAS]
    if not stands(connection):
        return
    if _of(connection) is not None:
        lower()
    told = _ask(connection, question, value)
    connection.behind_wall = told[0] if told else "{}"


def _of(connection: BaseDatabaseWrapper) -> str | None:
    """The fisheries this side of the wall, as PostgreSQL writes a list; noted on Django's wrapper, which outlives
    a lost connection. None: the wall is down."""
    return getattr(connection, "behind_wall", None)


def _ask(connection: BaseDatabaseWrapper, question: str, *values: int | str) -> tuple:
    """On the driver's own cursor: it is no question of the service's, and none that a test should count.

    A transaction that has failed takes no more questions, and is rolled back to what was before it.
    """
    connection.ensure_connection()
    if connection.connection.info.transaction_status == INERROR:
        return ()
    with connection.connection.cursor() as cursor:
        return cursor.execute(question, values or None).fetchone()


def _again(connection: BaseDatabaseWrapper, **_) -> None:
    """A connection made anew in the middle of a request knows of no wall."""
    if _of(connection) is not None:
        _ask(connection, RAISE, _of(connection))


def _forget(**_) -> None:
    lower()


connection_created.connect(_again, dispatch_uid="rodtally wall")
request_started.connect(_forget, dispatch_uid="rodtally wall, before")
request_finished.connect(_forget, dispatch_uid="rodtally wall, after")
