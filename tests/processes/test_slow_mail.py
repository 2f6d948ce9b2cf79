"""The real watch with a mail server that takes 12 s a letter, refuses an address, or loses its client."""

import os
import signal
import time

import psycopg
import pytest

from safety.benches.stubs import mail_server
from tests.processes.overdue import GHILLIE, a_beat, alarms, deliveries, go_out
from tests.processes.service import OWNER, asked, begun, until

pytestmark = [pytest.mark.processes, pytest.mark.usefixtures("told_on_failure")]
LETTER_S = 12.0


@pytest.fixture(scope="module")
def mail():
    with mail_server(letter_s=LETTER_S) as server:
        yield server


@pytest.fixture(scope="module")
def service(tmp_path_factory, database, broker, mail):
    where = {"database_url": database.url, "broker_port": broker.port}
    with begun(tmp_path_factory.mktemp("slow"), **where, EMAIL_URL=f"smtp://127.0.0.1:{mail.port}") as service:
        yield service


def state_of(alarm, recipient):
    return next(state for _channel, to, state in deliveries(alarm) if to == recipient)


def sweep_age_s(database):
    with psycopg.connect(database.url) as connection:
        ask = "SELECT EXTRACT(epoch FROM now() - beaten_at) FROM safety_pulse WHERE name = 'sweep'"
        return float(connection.execute(ask).fetchone()[0])


def waiting(database):
    with psycopg.connect(database.url) as connection:
        ask = "SELECT COUNT(*) FROM safety_delivery WHERE state IN ('waiting', 'sending')"
        return connection.execute(ask).fetchone()[0]


@pytest.fixture
def drained(service, mail, database):
    """A watch with nothing left to send: letters of an earlier test would be refused or killed as well."""
    mail.letter_s, mail.refused = 0.0, set()
    service.only("web", "watch")
    until(lambda: not waiting(database), 100, "what earlier tests left has been sent")
    yield
    mail.letter_s, mail.refused = 0.0, set()


def drill(service, times):
    for _ in range(times):
        assert asked(service, "/api/v1/drills/", {"fishery": "durrisk-water"})[0] == 201


@pytest.mark.parametrize("watchers", [("watch",), ("watch-worker", "alarm-worker", "scheduler")])
def test_a_new_alarm_is_raised_and_leaves_at_once_while_mail_is_slow(service, mail, database, watchers):
    mail.letter_s = LETTER_S
    service.only("web", *watchers)
    until(lambda: asked(service, "/health/watch")[0] == 200, 40, "somebody watches")
    drill(service, 20)
    began = mail.began
    until(lambda: mail.began > began, 40, "a drill's letter is being sent")
    outing = go_out(service, f"Slow {watchers[0]}", seconds=3)
    raised = until(lambda: alarms(service, outing), 12, "the alarm")[0]
    until(lambda: state_of(alarms(service, outing)[0], "durrisk-water") == "sent", 8, "the fastest channel")
    ages = []
    for _ in range(10):
        ages.append(sweep_age_s(database))
        time.sleep(1)
    assert max(ages) < 10, "the sweep waits for no letter"
    assert asked(service, "/health/watch")[0] == 200
    until(lambda: {OWNER, GHILLIE} <= told_of(mail, raised), 40, "the letters, before the rest of the drills")
    status, _ = asked(service, "/api/v1/guests/", {"fishery": "durrisk-water", "name": "Next"})
    assert status == 201
    assert go_out(service, f"Alone {watchers[0]}", seconds=3600)["alone"], "a lone check-in is not refused"
    service.stop(*watchers, seconds=40)


def told_of(mail, alarm):
    return {each.recipient for each in mail.taken if alarm["guest_name"] in each.subject}


@pytest.mark.usefixtures("drained")
def test_an_address_that_is_refused_is_a_task_and_no_fault_of_the_watch(service, mail):
    mail.refused = {GHILLIE}
    outing = go_out(service, "Bad Address", seconds=2)
    until(lambda: alarms(service, outing), 15, "the alarm")
    until(lambda: state_of(alarms(service, outing)[0], GHILLIE) == "given_up", 60, "three tries")
    status, health = asked(service, "/health/watch")
    assert (status, health["faults"]) == (200, [])
    assert health["undelivered"] >= 1
    rows = asked(service, "/api/v1/undelivered/")[1]["results"]
    task = next(row for row in rows if row["recipient"] == GHILLIE)
    assert asked(service, f"/api/v1/undelivered/{task['id']}/acknowledge/", {})[0] == 200
    assert asked(service, "/health/watch")[1]["undelivered"] == 0


@pytest.mark.usefixtures("drained")
def test_a_watch_killed_while_it_sends_is_followed_by_another_and_nothing_is_lost(service, mail, database):
    mail.letter_s = LETTER_S
    outing = go_out(service, "Killed Testwell", seconds=2)
    began = mail.began
    until(lambda: mail.began >= began + 2, 30, "both letters are under way")
    process = service.running.pop("watch")
    os.killpg(process.pid, signal.SIGKILL)
    process.wait(10)
    mail.letter_s = 0.0
    service.start("watch")
    raised = alarms(service, outing)[0]
    until(
        lambda: {OWNER, GHILLIE} <= told_of(mail, raised), 100, "the letters, after the lease of those that died"
    )
    sent = [each for each in mail.taken if raised["guest_name"] in each.subject]
    assert len({each.message_id for each in sent}) == 2
    assert len(sent) <= 4, "each may lie there twice, in the one window"
    assert a_beat(service)
    with psycopg.connect(database.url) as connection:
        ask = "SELECT COUNT(*) FROM safety_alarm WHERE outing_id = %s AND stage = 1"
        assert connection.execute(ask, [outing["id"]]).fetchone()[0] == 1
