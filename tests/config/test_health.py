"""What an orchestrator asks: up, ready, and is anybody watching?"""

import contextlib
import datetime as dt

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from safety.models import Delivery
from safety.services.deliver import deliver
from safety.services.sweep import sweep
from tests.factories import OutingFactory
from tests.servers import free_port


def ask(what):
    response = Client().get(f"/health/{what}")
    return response.status_code, response.json()


@contextlib.contextmanager
def no_database():
    """The same connection, sent where no database is."""
    nowhere = {"NAME": "/nowhere/at/all.sqlite3"} if connection.vendor == "sqlite" else {"PORT": str(free_port())}
    kept = {name: connection.settings_dict[name] for name in nowhere}
    connection.close()
    connection.settings_dict.update(nowhere)
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict.update(kept)


def test_live_asks_nothing_of_the_database():
    assert ask("live") == (200, {"status": "up"})


@pytest.mark.django_db
def test_ready_when_the_database_answers():
    assert ask("ready") == (200, {"status": "ready"})


@pytest.mark.django_db(transaction=True)
def test_without_a_database_nothing_is_ready_and_nobody_is_watched():
    with no_database():
        found = [ask(what) for what in ("live", "ready", "watch")]
    fault = "The database does not answer. Nobody is being watched: ring round."
    assert found == [
        (200, {"status": "up"}),
        (503, {"status": "no database"}),
        (503, {"faults": [fault], "swept_at": None, "undelivered": None}),
    ]
    assert ask("ready") == (200, {"status": "ready"})


@pytest.mark.django_db
def test_the_watch_is_well_after_a_sweep():
    assert ask("watch")[0] == 503
    now = timezone.now()
    sweep(now=now)
    status, body = ask("watch")
    assert (status, body["faults"]) == (200, [])
    assert dt.datetime.fromisoformat(body["swept_at"]) == now.replace(microsecond=now.microsecond // 1000 * 1000)


@pytest.mark.django_db
def test_a_message_that_was_never_sent_makes_the_watch_unwell():
    OutingFactory()
    past = timezone.now() - dt.timedelta(minutes=6)
    sweep(now=past)
    sweep(now=timezone.now())
    assert ask("watch")[1]["faults"] == ["1 message has not left. Tell the keepers by telephone."]
    deliver(clock=timezone.now)
    assert Delivery.objects.get().state == "sent"
    assert ask("watch")[0] == 200


@pytest.mark.django_db
def test_health_needs_no_token_and_takes_any_host_of_ours():
    assert Client().get("/health/live", headers={"Host": "localhost"}).status_code == 200
