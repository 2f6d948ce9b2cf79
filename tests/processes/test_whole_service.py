"""Everything at once, as docker-compose.yml starts it: what an angler and a keeper see over HTTP.

Half an hour of a fishing day pressed into seconds. Each test brings the processes it needs to life
and uses anglers of its own, so that any of them can be run alone.
"""

import datetime as dt
import os

import psycopg
import pytest

from tests.processes.overdue import GHILLIE, TOLD, alarms, all_told, deliveries, go_out, letters, overdue, swept
from tests.processes.service import OWNER, WORKERS, asked, begun, until

pytestmark = [pytest.mark.processes, pytest.mark.usefixtures("told_on_failure")]
WATCHERS = ("watch-worker", "alarm-worker")
EVERYBODY = ("web", *WORKERS, "scheduler", "watch")


@pytest.fixture(scope="module")
def database_url(tmp_path_factory):
    server = os.environ.get("TEST_DATABASE_URL")
    if not server:
        yield f"sqlite:///{tmp_path_factory.mktemp('database') / 'rodtally.sqlite3'}"
        return
    name = f"rodtally_processes_{os.getpid()}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
        yield server.rpartition("/")[0] + f"/{name}"
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="module")
def service(tmp_path_factory, database_url, broker):
    with begun(tmp_path_factory.mktemp("service"), database_url=database_url, broker_port=broker.port) as service:
        yield service


def test_worker_and_scheduler_raise_the_alarm_and_send_it(service, broker):
    broker.up()
    service.only("web", *WATCHERS, "scheduler")
    outing = go_out(service, "Morag Testwell", seconds=5)
    assert alarms(service, outing) == []
    [alarm] = all_told(service, outing)
    assert alarm["raised_at"] >= alarm["due_back_at"] == outing["due_back_at"] == outing["alarm_at"]
    assert deliveries(alarm) == TOLD
    assert letters(service, "Morag Testwell") == [GHILLIE, OWNER]


def test_a_broker_emptied_between_check_in_and_due_loses_nothing(service, broker):
    broker.up()
    service.only("web", *WATCHERS, "scheduler")
    outing = go_out(service, "Euan Testwell", seconds=4)
    broker.empty()
    assert alarms(service, outing) == []
    [alarm] = all_told(service, outing)
    assert deliveries(alarm) == TOLD


def test_without_any_broker_the_watch_alone_raises_and_sends(service, broker):
    """Worker and scheduler go on running, deaf: the next test is about their hearing again."""
    service.only("web", *WATCHERS, "scheduler", "watch")
    broker.down()
    outing = go_out(service, "Ailsa Testwell", seconds=4)
    [alarm] = all_told(service, outing)
    assert deliveries(alarm) == TOLD
    assert letters(service, "Ailsa Testwell") == [GHILLIE, OWNER]


def test_when_the_broker_is_back_worker_and_scheduler_go_on_by_themselves(service, broker):
    service.only("web", *WATCHERS, "scheduler")
    before = {name: service.running[name].pid for name in (*WATCHERS, "scheduler")}
    broker.down()
    outing = go_out(service, "Rory Testwell", seconds=2)
    until(lambda: overdue(outing), 5, "due back has passed")
    assert alarms(service, outing) == []
    broker.up()
    [alarm] = all_told(service, outing, seconds=40)
    assert deliveries(alarm) == TOLD
    assert {name: service.running[name].pid for name in before} == before
    assert [service.running[name].poll() for name in before] == [None] * 3


def test_every_deadline_has_one_alarm_however_many_watch(service, broker):
    broker.up()
    service.only(*EVERYBODY)
    outings = [go_out(service, f"Ghost {letter}", seconds=4) for letter in "ABCDEF"]
    for outing in outings:
        all_told(service, outing)
    later = (dt.datetime.now(dt.UTC) + dt.timedelta(seconds=2)).isoformat()
    status, _outing = asked(service, f"/api/v1/outings/{outings[0]['id']}/time-back/", {"due_back_at": later})
    assert status == 200
    all_told(service, outings[0], count=2)
    sweeps = swept(service)
    until(lambda: swept(service) > sweeps, 25, "the worker has swept after the watch")
    numbers = [sorted(alarm["deadline_number"] for alarm in alarms(service, outing)) for outing in outings]
    assert numbers == [[1, 2], [1], [1], [1], [1], [1]]


def test_every_health_check_of_compose_passes_while_everybody_runs(service, broker):
    broker.up()
    service.only(*EVERYBODY)
    for name in EVERYBODY:
        until(lambda name=name: service.healthy(name), 30, f"{name} is healthy")
    status, watch = asked(service, "/health/watch")
    assert (status, watch["faults"]) == (200, [])


def test_every_process_ends_cleanly_within_15_seconds_of_being_told_and_its_check_says_so(service, broker):
    broker.up()
    service.only(*EVERYBODY)
    until(lambda: service.healthy("worker"), 30, "the worker is healthy")
    assert service.stop(*EVERYBODY, seconds=15) == dict.fromkeys(EVERYBODY, 0)
    assert [service.healthy(name) for name in ("web", "worker")] == [False, False]
