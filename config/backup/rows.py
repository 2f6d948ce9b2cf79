"""Tables to lines and back, through Django's own words for each value, so that both databases read them alike."""

import datetime as dt
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from typing import Any

from django.apps.registry import Apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from config.backup.file import FORMAT, NotABackup

AT_A_TIME = 500
MADE_BY_MIGRATING = {"contenttypes.contenttype", "auth.permission"}
"""An empty database has these rows; they give way to the backup's, whose keys other rows name."""


class NotEmpty(Exception):
    """A backup goes into a database with nothing in it."""


# --- Out ---


def lines_of_everything(*, now: dt.datetime) -> Iterator[Any]:
    """A head, then tables and rows as they stand at one instant; writers go on meanwhile."""
    with _one_snapshot():
        done = sorted(MigrationRecorder(connection).applied_migrations())
        apps = _apps_at(done)
        yield {"rodtally": "backup", "format": FORMAT, "made_at": now.isoformat(), "migrations": done}
        for model in _models(apps):
            fields = model._meta.concrete_fields
            yield {"table": model._meta.label_lower, "columns": [field.attname for field in fields]}
            for row in model._base_manager.order_by("pk").iterator(2000):
                yield [_told(field, row) for field in fields]


def _told(field: models.Field, row: models.Model) -> Any:
    return None if getattr(row, field.attname) is None else field.value_to_string(row)


@contextmanager
def _one_snapshot() -> Iterator[None]:
    """On SQLite a deferred transaction, since Django's own would hold the one write lock all the while."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")


# --- In ---


def fill_from(lines: Iterable[Any]) -> dict[str, int]:
    """Put everything into an empty database, or nothing. Returns rows by table. Raises NotABackup, NotEmpty.

    The schema is brought to what it was when the backup was made, filled, and brought to the newest after that.
    """
    lines = iter(lines)
    apps = _ready_for(next(lines, None))
    with transaction.atomic():
        counts = _pour_in(lines, apps)
        _count_on(apps)
    call_command("migrate", verbosity=0)
    return counts


def _ready_for(head: Any) -> Apps:
    if not isinstance(head, dict) or head.get("rodtally") != "backup":
        raise NotABackup("This is not a backup of this service.")
    if head["format"] != FORMAT:
        raise NotABackup(f"This is a backup of format {head['format']}, and this release reads {FORMAT}.")
    wanted = {(app, name) for app, name in head["migrations"]}
    executor = MigrationExecutor(connection)
    if unknown := sorted(wanted - set(executor.loader.graph.nodes)):
        raise NotABackup(
            f"A newer release made this backup ({'.'.join(unknown[0])}). Restore it with that release."
        )
    if set(executor.loader.applied_migrations) - wanted:
        _refuse_unless_empty(_models(_apps_at(executor.loader.applied_migrations)))
        raise NotEmpty("The database's tables are newer than the backup. Begin with a database without tables.")
    executor.migrate(_leaves(executor, wanted))
    apps = _apps_at(wanted)
    _refuse_unless_empty(_models(apps))
    return apps


def _refuse_unless_empty(tables: list[type[models.Model]]) -> None:
    for model in tables:
        if model._meta.label_lower not in MADE_BY_MIGRATING and model._base_manager.exists():
            raise NotEmpty(f"There are rows in {model._meta.db_table}. A backup goes into an empty database.")


def _pour_in(lines: Iterator[Any], apps: Apps) -> dict[str, int]:
    for label in sorted(MADE_BY_MIGRATING, reverse=True):  # content types first would take the permissions along
        apps.get_model(label)._base_manager.all().delete()
    counts: dict[str, int] = {}
    line = next(lines, None)
    while line is not None:
        model, fields = _table(line, apps)
        counts[line["table"]], line = _fill_table(model, fields, lines)
    return counts


def _table(line: Any, apps: Apps) -> tuple[type[models.Model], list[models.Field]]:
    model = apps.get_model(line["table"])
    by_name = {field.attname: field for field in model._meta.concrete_fields}
    if set(by_name) != set(line["columns"]):
        raise NotABackup(f"The columns of {line['table']} are not those of its migration.")
    return model, [by_name[name] for name in line["columns"]]


def _fill_table(model, fields, lines: Iterator[Any]) -> tuple[int, Any]:
    """Rows until the next table's line, which is handed back."""
    after: list[Any] = []

    def rows() -> Iterator[models.Model]:
        for line in lines:
            if isinstance(line, dict):
                after.append(line)
                return
            yield model(**{f.attname: f.to_python(value) for f, value in zip(fields, line, strict=True)})

    coming, count = rows(), 0
    while batch := list(islice(coming, AT_A_TIME)):
        model._base_manager.bulk_create(batch)
        count += len(batch)
    return count, after[0] if after else None


def _count_on(apps: Apps) -> None:
    """New rows get keys after the greatest of those put in."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), _models(apps)):
            cursor.execute(statement)


def _apps_at(done: Iterable[tuple[str, str]]) -> Apps:
    executor = MigrationExecutor(connection)
    return executor.loader.project_state(_leaves(executor, set(done)), at_end=True).apps


def _leaves(executor: MigrationExecutor, done: set[tuple[str, str]]) -> list[tuple[str, str]]:
    """The newest of each app among the migrations done."""
    graph = executor.loader.graph
    known = done & set(graph.nodes)
    return sorted(
        key for key in known
        if not any(child.key in known and child.key[0] == key[0] for child in graph.node_map[key].children)
    )  # fmt: skip


def _models(apps: Apps) -> list[type[models.Model]]:
    found = apps.get_models(include_auto_created=True)
    return [model for model in found if model._meta.managed and not model._meta.proxy]
