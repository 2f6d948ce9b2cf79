"""Everything at once, as docker-compose.yml starts it: what an angler and a keeper see over HTTP.

Half an hour of a fishing day pressed into seconds. Each test brings the processes it needs to life
and uses anglers of its own, so that any of them can be run alone.
"""

import datetime as dt
import email
import email.policy
import os
import sys
from contextlib import ExitStack

import psycopg
import pytest
import redis

from tests import servers
from tests.processes.service import Service, asked, kill, until

pytestmark = pytest.mark.processes
OWNER, GHILLIE = "isla.renwick@durrisk.example", "callum.baird@durrisk.example"
TOLD = [("email", GHILLIE, "sent"), ("email", OWNER, "sent"), ("log", "durrisk-water", "sent")]
EVERYBODY = ("web", "worker", "scheduler", "watch")


class Broker:
    """A Valkey that can be emptied, stopped, and started again at the same address."""

    def __init__(self) -> None:
        self.port, self.stack, self.is_up = servers.free_port(), ExitStack(), False

    def up(self) -> None:
        if not self.is_up:
            self.stack.enter_context(servers.valkey(self.port))
        self.is_up = True

    def down(self) -> None:
        self.stack.close()
        self.is_up = False

    def empty(self) -> None:
        with redis.Redis(port=self.port) as client:
            client.flushall()


@pytest.fixture(scope="module")
def broker():
    broker = Broker()
    broker.up()
    yield broker
    broker.down()


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
    """Migrated, loaded and answering, with a keeper's token in hand."""
    service = Service(tmp_path_factory.mktemp("service"), database_url=database_url, broker_port=broker.port)
    service.once("python", "manage.py", "migrate", "--noinput")
    try:
        service.start("web", "worker", "scheduler")
        service.once("python", "manage.py", "load_fishery", "beats/data/durrisk.toml")
        service.token = service.once("python", "manage.py", "issue_token", OWNER)
        yield service
    finally:
        for process in service.running.values():
            kill(process)


@pytest.fixture(autouse=True)
def _told_on_failure(service):
    """pytest shows what a test's teardown prints only when the test failed."""
    yield
    sys.stdout.write(service.said())


def go_out(service, name, *, seconds):
    """Once somebody watches, a new guest goes out alone, due back in `seconds`; the outing as it is answered."""
    until(lambda: asked(service, "/health/watch")[0] == 200, 40, "somebody watches")
    status, guest = asked(service, "/api/v1/guests/", {"fishery": "durrisk-water", "name": name})
    assert status == 201, guest
    due = dt.datetime.now(dt.UTC) + dt.timedelta(seconds=seconds)
    facts = {"guest": guest["id"], "beat": a_beat(service), "alone": True, "due_back_at": due.isoformat()}
    status, outing = asked(service, "/api/v1/outings/", facts)
    assert status == 201, outing
    return outing


def a_beat(service):
    return min(beat["id"] for beat in asked(service, "/api/v1/beats/")[1]["results"])


def alarms(service, outing):
    return asked(service, f"/api/v1/alarms/?outing={outing['id']}")[1]["results"]


def deliveries(alarm):
    return sorted((each["channel"], each["recipient"], each["state"]) for each in alarm["deliveries"])


def all_told(service, outing, *, count=1, seconds=25):
    """Wait until `count` alarms of this outing have been raised and every message about them has left."""

    def gone():
        found = alarms(service, outing)
        sent = all(state == "sent" for alarm in found for *_who, state in deliveries(alarm))
        return found if len(found) == count and sent else None

    return until(gone, seconds, f"the alarm for {outing['guest_name']}")


def letters(service, name):
    """Who was written to about this guest, as the mail server got it."""
    texts = [text for path in service.mail.glob("*") for text in path.read_text().split("-" * 79 + "\n")]
    messages = [email.message_from_string(text, policy=email.policy.default) for text in texts if text.strip()]
    return sorted(message["To"] for message in messages if name in message["Subject"])


def swept(service):
    """How many sweeps the worker has finished."""
    return service.log("worker").read_text().count("Task safety.sweep[") // 2  # received, succeeded


def test_worker_and_scheduler_raise_the_alarm_and_send_it(service, broker):
    broker.up()
    service.only("web", "worker", "scheduler")
    outing = go_out(service, "Morag Testwell", seconds=5)
    assert alarms(service, outing) == []
    [alarm] = all_told(service, outing)
    assert alarm["raised_at"] >= alarm["due_back_at"] == outing["due_back_at"] == outing["alarm_at"]
    assert deliveries(alarm) == TOLD
    assert letters(service, "Morag Testwell") == [GHILLIE, OWNER]


def test_a_broker_emptied_between_check_in_and_due_loses_nothing(service, broker):
    broker.up()
    service.only("web", "worker", "scheduler")
    outing = go_out(service, "Euan Testwell", seconds=4)
    broker.empty()
    assert alarms(service, outing) == []
    [alarm] = all_told(service, outing)
    assert deliveries(alarm) == TOLD


def test_without_any_broker_the_watch_alone_raises_and_sends(service, broker):
    """Worker and scheduler go on running, deaf: the next test is about their hearing again."""
    service.only("web", "worker", "scheduler", "watch")
    broker.down()
    outing = go_out(service, "Ailsa Testwell", seconds=4)
    [alarm] = all_told(service, outing)
    assert deliveries(alarm) == TOLD
    assert letters(service, "Ailsa Testwell") == [GHILLIE, OWNER]


def test_when_the_broker_is_back_worker_and_scheduler_go_on_by_themselves(service, broker):
    service.only("web", "worker", "scheduler")
    before = {name: service.running[name].pid for name in ("worker", "scheduler")}
    broker.down()
    outing = go_out(service, "Rory Testwell", seconds=2)
    until(lambda: overdue(outing), 5, "due back has passed")
    assert alarms(service, outing) == []
    broker.up()
    [alarm] = all_told(service, outing, seconds=40)
    assert deliveries(alarm) == TOLD
    assert {name: service.running[name].pid for name in before} == before
    assert [service.running[name].poll() for name in before] == [None, None]


def overdue(outing):
    return dt.datetime.now(dt.UTC) > dt.datetime.fromisoformat(outing["due_back_at"])


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
