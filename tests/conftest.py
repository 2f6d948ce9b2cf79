"""The suite runs on both databases: `uv run pytest` once on SQLite and once on PostgreSQL.

    uv run pytest                      both, one after the other
    uv run pytest --on sqlite -k let   one of them, with any other options

Servers come from wheels; TEST_DATABASE_URL and TEST_REDIS_URL name your own instead.
"""

import os
import subprocess
import sys
from contextlib import ExitStack

import pytest

from tests import servers
from tests.factories import BeatFactory, keeper

CHILD = "RODTALLY_TESTS_ON"


def pytest_addoption(parser):
    parser.addoption("--on", choices=["sqlite", "postgres", "both"], default="both", help="which database to use")


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config):
    """Start the servers, then run pytest itself once for each database."""
    if os.environ.get(CHILD) or config.option.help or config.option.collectonly:
        return None
    wanted = config.option.on
    with ExitStack() as stack:
        redis_url = os.environ.get("TEST_REDIS_URL") or stack.enter_context(servers.valkey())
        postgres_url = None
        if wanted != "sqlite":
            postgres_url = os.environ.get("TEST_DATABASE_URL") or stack.enter_context(servers.postgres())
        worst = 0
        for database in ("sqlite", "postgres"):
            if wanted in (database, "both"):
                url = postgres_url if database == "postgres" else None
                worst = _run(config, database, database_url=url, redis_url=redis_url) or worst
    return worst


def _run(config, database, *, database_url, redis_url):
    environment = os.environ | {CHILD: database, "TEST_REDIS_URL": redis_url}
    environment.pop("TEST_DATABASE_URL", None)
    if database_url:
        environment["TEST_DATABASE_URL"] = database_url
    print(f"\n=== on {database} ===", flush=True)  # noqa: T201
    command = [sys.executable, "-m", "pytest", *config.invocation_params.args]
    return subprocess.run(command, env=environment, cwd=config.rootpath, check=False).returncode


def pytest_collection_modifyitems(config, items):
    """What needs no database runs once, on SQLite's turn; the processes run once, on PostgreSQL's.

    With one database asked for, all runs on it but the processes, unless `-m processes` asks for them.
    """
    apart = []
    if "crash" not in config.option.markexpr:
        apart = [item for item in items if item.get_closest_marker("crash")]
        config.hook.pytest_deselected(items=apart)
        items[:] = [item for item in items if item not in set(apart)]
        apart = []
    if os.environ.get(CHILD) == "sqlite" and "processes" not in config.option.markexpr:
        apart = [item for item in items if item.get_closest_marker("processes")]
    elif os.environ.get(CHILD) == "postgres" and config.option.on == "both":
        apart = [item for item in items if not _needs_a_database(item)]
    if apart:
        config.hook.pytest_deselected(items=apart)
        items[:] = [item for item in items if item not in set(apart)]


def _needs_a_database(item):
    """By its marks, or by fixtures that bring one."""
    marked = any(item.get_closest_marker(name) for name in ("django_db", "processes", "races", "crash"))
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
