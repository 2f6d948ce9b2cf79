"""What breaks in the night, in the real processes: the database, a worker's child, and a scheduler too many."""

import contextlib
import os
import signal

import psycopg
import pytest

from tests.crash.auditor import QUESTIONS
from tests.processes.overdue import GHILLIE, TOLD, all_told, deliveries, go_out, letters, swept
from tests.processes.service import COMPOSE, OWNER, asked, begun, second, until

WATCHERS = ("watch-worker", "alarm-worker")
pytestmark = [pytest.mark.processes, pytest.mark.usefixtures("told_on_failure")]


@pytest.fixture(scope="module")
def service(tmp_path_factory, database, broker):
    folder = tmp_path_factory.mktemp("restarts")
    with begun(folder, database_url=database.url, broker_port=broker.port) as service:
        yield service


def test_a_database_restarted_between_check_in_and_due_is_found_again_by_everybody(service, database):
    service.only("web", *WATCHERS, "scheduler", "watch")
    outing = go_out(service, "Morven Testwell", seconds=6)
    database.down(signal.SIGINT)
    assert asked(service, "/health/watch")[0] == 503
    before = {name: process.pid for name, process in service.running.items()}
    database.up()
    [alarm] = all_told(service, outing, seconds=60)
    assert deliveries(alarm) == TOLD
    assert {name: process.pid for name, process in service.running.items()} == before
    assert [process.poll() for process in service.running.values()] == [None] * 5


def test_a_worker_s_child_killed_alone_again_and_again_loses_nothing(service):
    service.only("web", *WATCHERS, "scheduler")
    outing = go_out(service, "Iona Testwell", seconds=3)
    killed = 0
    for _ in range(3):
        for child in until(lambda: children(service.running["watch-worker"].pid), 20, "the worker has children"):
            with contextlib.suppress(ProcessLookupError):
                os.kill(child, signal.SIGKILL)
                killed += 1
    assert killed >= 3
    [alarm] = all_told(service, outing, seconds=60)
    assert deliveries(alarm) == TOLD


def children(pid):
    """The processes a process has started, by the kernel's own list."""
    with open(f"/proc/{pid}/task/{pid}/children", encoding="ascii") as listed:  # noqa: PTH123 - not a real file
        return [int(child) for child in listed.read().split()]


def test_with_two_schedulers_and_two_workers_each_keeper_has_one_letter(service, monkeypatch):
    for name in (*WATCHERS, "scheduler"):
        monkeypatch.setitem(COMPOSE, f"{name}-2", {"command": second(COMPOSE[name]["command"], service.folder)})
    service.only("web", *WATCHERS, "scheduler", *(f"{name}-2" for name in (*WATCHERS, "scheduler")))
    outing = go_out(service, "Shona Testwell", seconds=3)
    [alarm] = all_told(service, outing, seconds=60)
    sweeps = swept(service)
    until(lambda: swept(service) > sweeps, 40, "one more sweep")
    assert deliveries(alarm) == TOLD
    assert letters(service, "Shona Testwell") == [GHILLIE, OWNER]


def test_after_all_this_nothing_is_lost_and_no_record_doubled(service, database):
    asked_about = (
        "open and overdue, without an alarm for its deadline", "the same stage twice",
        "a stage without the one below it", "an alarm before its time",
    )  # fmt: skip
    with psycopg.connect(database.url) as connection:
        a_minute_ago = connection.execute("SELECT now() - interval '1 minute'").fetchone()[0]
        found = {
            what: connection.execute(QUESTIONS[what], {"now": a_minute_ago} if "now" in QUESTIONS[what] else None)
            for what in asked_about
        }
        assert {what: rows.fetchall() for what, rows in found.items()} == {what: [] for what in asked_about}
        assert connection.execute("SELECT COUNT(*) FROM safety_alarm WHERE stage = 1").fetchone()[0] == 3
