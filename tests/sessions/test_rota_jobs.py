"""A rota worked out in the background: taken once, watched, called off, never lost."""

import datetime as dt

import pytest

from beats.shared.refusals import NotYours
from beats.shares import FullShare
from sessions.models import Rota, RotaJob
from sessions.services.jobs import GAVE_UP, MOST_TRIES, ask_for_rota, call_off, take, to_do, work_one
from tests.factories import NOON, client_of, keeper
from tests.sessions.riverside import MONDAY, QUICK, Riverside

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _soon(monkeypatch):
    monkeypatch.setattr("sessions.services.jobs.THOROUGH", QUICK)


@pytest.fixture
def river():
    return Riverside(rods=2)


def ask(river, **asked):
    return ask_for_rota(river.beat, **({"first_on": MONDAY, "by": river.ghillie, "now": NOON} | asked))[0]


def test_a_job_becomes_a_draft(river):
    job = ask(river)
    done = work_one(clock=lambda: NOON)
    assert (done.pk, done.state, done.progress, done.ended_at) == (job.pk, "done", "done", NOON)
    assert done.rota == Rota.objects.get()
    assert work_one(clock=lambda: NOON) is None


def test_a_job_that_cannot_be_done_says_why(river):
    ask(river, first_on=MONDAY + dt.timedelta(days=28))
    job = work_one(clock=lambda: NOON)
    assert job.state == "refused"
    assert "Nothing is let on Upper in the week of 1 June 2026" in job.refusal


def test_a_waiting_job_is_called_off_at_once(river):
    job = call_off(ask(river), by=river.ghillie, now=NOON)
    assert job.state == "called_off"
    assert work_one(clock=lambda: NOON) is None
    assert not Rota.objects.exists()


def test_a_job_at_work_ends_at_its_next_breath(river):
    """The first word of progress finds that it was called off."""
    job = ask(river)
    RotaJob.objects.filter(pk=job.pk).update(calling_off=True)
    assert work_one(clock=lambda: NOON).state == "called_off"
    assert not Rota.objects.exists()


def test_a_silent_worker_loses_the_job_and_its_rota_is_made_once(river):
    job = ask(river)
    assert take(job.pk, now=NOON) is not None
    assert take(job.pk, now=NOON) is None  # another worker has it
    assert list(to_do(NOON + MINUTE)) == []
    later = NOON + 2 * MINUTE
    assert list(to_do(later)) == [job]
    assert work_one(clock=lambda: later).state == "done"
    # The first worker comes back to life and saves too: the job's key makes it the same rota.
    RotaJob.objects.filter(pk=job.pk).update(state="working", lease_until=later, rota=None)
    assert work_one(clock=lambda: later + MINUTE).rota == Rota.objects.get()


def test_only_keepers_ask_and_call_off(river):
    guest = keeper(river.beat.fishery, "guest")
    with pytest.raises(NotYours):
        ask(river, by=guest)
    with pytest.raises(NotYours):
        call_off(ask(river), by=guest, now=NOON)


def test_the_api_answers_202_and_can_be_asked_after(river):
    client = client_of(river.ghillie)
    asked = client.post(
        "/api/v1/rotas/", {"beat": river.beat.pk, "first_on": "2026-05-04", "later": True}, format="json"
    )
    assert (asked.status_code, asked.json()["state"]) == (202, "waiting")
    work_one(clock=lambda: NOON)
    job = client.get(f"/api/v1/rota-jobs/{asked.json()['id']}/").json()
    assert (job["state"], job["rota"]) == ("done", Rota.objects.get().pk)


def test_a_request_made_twice_is_one_job(river):
    client = client_of(river.ghillie)
    asked = {"beat": river.beat.pk, "first_on": "2026-05-04", "later": True}
    answers = [
        client.post("/api/v1/rotas/", asked, format="json", headers={"Idempotency-Key": "week-of-4-may"})
        for _ in range(2)
    ]
    assert [answer.status_code for answer in answers] == [202, 202]
    assert answers[0].json() == answers[1].json()
    assert RotaJob.objects.count() == 1


def test_a_fault_in_the_program_ends_the_job_in_words_and_is_logged(river, monkeypatch, caplog):
    job = ask(river)
    monkeypatch.setattr("sessions.services.jobs.plan_rota", lambda *_, **__: 1 / 0)
    done = work_one(clock=lambda: NOON)
    assert (done.state, done.refusal) == ("refused", GAVE_UP)
    assert "ZeroDivisionError" in caplog.text
    assert list(to_do(NOON + 60 * MINUTE)) == []
    assert job.pk == done.pk


def test_a_job_that_kills_its_worker_again_and_again_is_given_up(river):
    job = ask(river)
    for number in range(MOST_TRIES):
        assert take(job.pk, now=NOON + 2 * number * MINUTE) is not None  # and the worker is gone
    done = work_one(clock=lambda: NOON + 2 * MOST_TRIES * MINUTE)
    assert (done.state, done.refusal, done.tries) == ("refused", GAVE_UP, MOST_TRIES + 1)
    assert not Rota.objects.exists()


def test_one_job_of_each_fishery_in_turn(river):
    """A hundred beats asked for at once hold up nobody's one: told by hand for three and one."""
    first = [ask(river, first_on=MONDAY + dt.timedelta(days=7 * week)) for week in range(3)]
    other = ask(Riverside(rods=2))
    assert [job.pk for job in to_do(NOON)] == [first[0].pk, other.pk, first[1].pk, first[2].pk]
    take(first[0].pk, now=NOON)
    assert [job.pk for job in to_do(NOON)] == [other.pk, first[1].pk, first[2].pk]


def test_more_jobs_than_a_fisherys_share_are_not_kept_waiting(river, settings):
    settings.FISHERY_SHARES = {"rotas waiting": 1}
    ask(river)
    with pytest.raises(FullShare, match="is 1 rotas waiting, and it is taken"):
        ask(river, first_on=MONDAY + dt.timedelta(days=7))
    call_off(RotaJob.objects.get(), by=river.ghillie, now=NOON)
    ask(river, first_on=MONDAY + dt.timedelta(days=7))
