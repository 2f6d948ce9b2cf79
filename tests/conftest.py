"""The suite runs on both databases: `uv run pytest` once on SQLite and once on PostgreSQL, side by side.

    uv run pytest                      both
    uv run pytest --on sqlite -k let   one of them, with any other options

Servers come from wheels; TEST_DATABASE_URL and TEST_REDIS_URL name your own instead.
"""

import os
import subprocess
import sys
import tempfile
from contextlib import ExitStack

import pytest
from django.db import connection
from hypothesis import HealthCheck, settings

from tests import servers
from tests.factories import BeatFactory, keeper

CHILD = "RODTALLY_TESTS_ON"
ASKED_FOR = ("crash", "browser", "fuzz", "slow", "long", "processes")
"""Markers whose tests take minutes: each has a step of its own in `.ci/run`."""

# How long an example takes says more about what else the machine does than about the code.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


def pytest_addoption(parser):
    parser.addoption("--on", choices=["sqlite", "postgres", "both"], default="both", help="which database to use")


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config):
    """Start the servers, then run pytest itself once for each database, both at once."""
    if os.environ.get(CHILD) or config.option.help or config.option.collectonly:
        return None
    wanted = [name for name in ("sqlite", "postgres") if config.option.on in (name, "both")]
    with ExitStack() as stack:
        redis_url = os.environ.get("TEST_REDIS_URL")
        postgres_url = None
        if "postgres" in wanted:
            postgres_url = os.environ.get("TEST_DATABASE_URL") or stack.enter_context(servers.postgres()).url
        runs = []
        for database in wanted:
            runs.append(
                _Run(
                    config, database,
                    database_url=postgres_url if database == "postgres" else None,
                    redis_url=redis_url or stack.enter_context(servers.valkey()),
                    quiet=bool(runs) and not redis_url,
                )
            )  # fmt: skip
            if redis_url:
                runs[-1].told()  # one Redis serves one run at a time
        codes = [run.told() for run in runs]
        # What needs no database leaves nothing for PostgreSQL's turn: that is no fault, if the other ran.
        return max([code for code in codes if code != pytest.ExitCode.NO_TESTS_COLLECTED] or codes)


class _Run:
    """pytest on one database. Both at once, on the two cores; what the second says waits for the first to end."""

    def __init__(self, config, database, *, database_url, redis_url, quiet):
        self.database = database
        self.output = tempfile.TemporaryFile() if quiet else None  # noqa: SIM115 - closed when it is told
        environment = os.environ | {CHILD: database, "TEST_REDIS_URL": redis_url}
        environment.pop("TEST_DATABASE_URL", None)
        if database_url:
            environment["TEST_DATABASE_URL"] = database_url
        command = [sys.executable, "-m", "pytest", *config.invocation_params.args]
        if not quiet:
            print(f"\n=== on {database} ===", flush=True)  # noqa: T201
        self.process = subprocess.Popen(
            command,
            env=environment,
            cwd=config.rootpath,
            stdout=self.output,
            stderr=self.output and subprocess.STDOUT,
        )

    def told(self):
        """Wait for it, show what was kept back, and give its exit code."""
        code = self.process.wait()
        if self.output:
            print(f"\n=== on {self.database} ===", flush=True)  # noqa: T201
            self.output.seek(0)
            sys.stdout.write(self.output.read().decode(errors="replace"))
            sys.stdout.flush()
            self.output.close()
            self.output = None
        return code


def pytest_collection_modifyitems(config, items):
    """What takes long runs only when it is asked for; what needs no database runs once, on SQLite's turn."""
    unasked = {name for name in ASKED_FOR if name not in config.option.markexpr}
    apart = [item for item in items if unasked & {mark.name for mark in item.iter_markers()}]
    if os.environ.get(CHILD) == "postgres" and config.option.on == "both":
        apart += [item for item in items if not _needs_a_database(item)]
    if apart:
        config.hook.pytest_deselected(items=apart)
        items[:] = [item for item in items if item not in set(apart)]


def _needs_a_database(item):
    """By its marks, or by fixtures that bring one."""
    marked = any(
        item.get_closest_marker(name) for name in ("django_db", "races", "processes", "crash", "browser", "slow")
    )
    return marked or bool({"db", "transactional_db"} & set(getattr(item, "fixturenames", ())))


def pytest_report_header():
    return f"rodtally: on {os.environ.get(CHILD, 'nothing yet')}"


@pytest.fixture
def beat():
    """A beat of a water of its own; a module that wants more of it has its own fixture of this name."""
    return BeatFactory()


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


@pytest.fixture
def house(client, owner):
    """A browser in which the owner of the beat's water is signed in."""
    client.force_login(owner)
    return client


@pytest.fixture
def emptied_ledger(transactional_db):
    """On SQLite a test's rows are deleted one by one, which the ledger's trigger would refuse."""
    yield
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            (kept,) = cursor.execute("SELECT sql FROM sqlite_master WHERE name = 'ledger_kept'").fetchone()
            cursor.execute("DROP TRIGGER ledger_kept")
            cursor.execute("DELETE FROM bookings_ledgerentry")
            cursor.execute(kept)
