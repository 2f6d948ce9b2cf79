"""/metrics, read back by the parsers of Prometheus's own client library: the text format
(prometheus.io/docs/instrumenting/exposition_formats) and OpenMetrics 1.0, which has gauge histograms.
"""

import datetime as dt
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone
from prometheus_client import parser
from prometheus_client.openmetrics import parser as openmetrics

from safety.services.pulse import beat_pulse
from sessions.models import Outing
from tests.config.test_health import no_database
from tests.factories import DeliveryFactory, GuestFactory, OutingFactory, RotaJobFactory

ROOT = Path(__file__).parents[2]
TOKEN = "a-token-of-this-test-and-of-nothing-else"
OPEN_METRICS = "application/openmetrics-text; version=1.0.0"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _with_a_token(settings):
    settings.METRICS_TOKEN = TOKEN


def ask(accept="text/plain", token=TOKEN):
    return Client().get("/metrics", headers={"Authorization": f"Bearer {token}", "Accept": accept})


def figures():
    """Every sample: (name, labels) to value."""
    text = ask().content.decode()
    families = parser.text_string_to_metric_families(text)
    return {
        (each.name, tuple(sorted(each.labels.items()))): each.value for one in families for each in one.samples
    }


def test_without_the_token_nothing_is_told(settings):
    assert (ask(token="wrong").status_code, ask(token="").status_code) == (401, 401)
    assert ask(token="wrong")["WWW-Authenticate"] == "Bearer"
    settings.METRICS_TOKEN = ""
    assert ask().status_code == 404


def test_the_figures_are_those_of_the_database():
    now = timezone.now()
    beat_pulse("sweep", "deliver", now=now - dt.timedelta(seconds=40))
    OutingFactory.create_batch(2)  # past their alarm, as the factory has them
    for seconds, state in ((3, "sent"), (7, "delivered"), (2000, "sent")):
        written = now - dt.timedelta(seconds=seconds + 60)
        DeliveryFactory(
            state=state, channel="email", written_at=written, sent_at=written + dt.timedelta(seconds=seconds)
        )
    DeliveryFactory(state="waiting", channel="email", written_at=now - dt.timedelta(seconds=90))
    DeliveryFactory(state="waiting", channel="push", written_at=now - dt.timedelta(seconds=900))
    RotaJobFactory(state="done", asked_at=now - dt.timedelta(seconds=24), ended_at=now - dt.timedelta(seconds=4))
    found = figures()
    bare = {name.removeprefix("rodtally_"): value for (name, labels), value in found.items() if not labels}
    assert bare["database_up"] == 1
    assert 40 <= bare["sweep_age_seconds"] < 100
    assert 90 <= bare["message_oldest_unsent_seconds"] < 150
    assert bare["messages_unsent"] == 1
    assert bare["outings_due_without_alarm"] == 2
    assert bare["outings_open"] == Outing.objects.count() == 7  # and one under each message's alarm
    assert {labels[0][1] for name, labels in found if name == "rodtally_loop_age_seconds"} == {"sweep", "deliver"}
    took = {dict(labels)["le"]: value for (name, labels), value in found.items()
            if name == "rodtally_message_sent_seconds_bucket"}  # fmt: skip
    assert took == {"1.0": 0, "5.0": 1, "10.0": 2, "30.0": 2, "60.0": 2, "300.0": 2, "900.0": 2, "+Inf": 3}
    rotas = {dict(labels)["le"]: value for (name, labels), value in found.items()
             if name == "rodtally_rota_seconds_bucket"}  # fmt: skip
    assert (rotas["10.0"], rotas["30.0"], rotas["+Inf"]) == (0, 1, 1)


def test_open_metrics_takes_it_too_and_types_the_spans():
    answered = ask(OPEN_METRICS)
    assert answered["Content-Type"].startswith("application/openmetrics-text")
    families = {
        one.name: one.type for one in openmetrics.text_string_to_metric_families(answered.content.decode())
    }
    assert families["rodtally_message_sent_seconds"] == families["rodtally_rota_seconds"] == "gaugehistogram"
    assert families["rodtally_requests"] == "counter"
    assert all(name.startswith("rodtally_") for name in families)


def test_requests_are_counted_by_route_and_status_and_strangers_paths_are_one():
    def count(route, status):
        return figures().get(("rodtally_requests_total", (("route", route), ("status", str(status)))), 0)

    before = count("outing", 401), count("unknown", 404)
    for path in ("/api/v1/outings/1/", "/api/v1/outings/2/", "/wp-login.php", "/no/such/page"):
        Client().get(path)
    assert (count("outing", 401), count("unknown", 404)) == (before[0] + 2, before[1] + 2)


def test_the_questions_are_six_however_many_rows(django_assert_num_queries):
    for rows in (1, 30):
        GuestFactory.create_batch(rows)
        OutingFactory.create_batch(rows)
        DeliveryFactory.create_batch(rows)
        with django_assert_num_queries(6):
            ask()


def test_nobody_is_named():
    outing = OutingFactory()
    DeliveryFactory(recipient="somebody@rods.example.org")
    text = ask().content.decode()
    for word in (outing.guest.name, outing.beat.name, outing.beat.fishery.slug, "somebody"):
        assert word not in text


@pytest.mark.django_db(transaction=True)
def test_without_a_database_it_says_so_and_makes_no_figure_up():
    with no_database():
        found = figures()
    assert found[("rodtally_database_up", ())] == 0
    assert ("rodtally_outings_open", ()) not in found


COUNT = """
import django
django.setup()
from django.test import Client
for _ in range(3):
    Client().get("/health/live", headers={"host": "localhost"})
print(Client().get("/metrics", headers={"host": "localhost", "authorization": "Bearer %s"}).content.decode())
"""


def test_the_processes_of_one_web_add_up_their_requests(tmp_path):
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    facts = {"DJANGO_SETTINGS_MODULE": "config.settings", "SECRET_KEY": "x" * 60, "ALLOWED_HOSTS": "localhost",
             "INSECURE_HTTP": "1", "DATABASE_URL": f"sqlite:///{tmp_path / 'none.sqlite3'}",
             "METRICS_TOKEN": TOKEN, "METRICS_DIR": str(tmp_path / "metrics")}  # fmt: skip
    for each in (1, 2):
        done = subprocess.run([sys.executable, "-c", COUNT % TOKEN], env=kept | facts, cwd=ROOT,
                              capture_output=True, text=True, timeout=120, check=False)  # fmt: skip
        assert done.returncode == 0, done.stderr
        families = list(parser.text_string_to_metric_families(done.stdout))
        [told] = [one for family in families for one in family.samples
                  if one.name == "rodtally_requests_total" and one.labels["route"] == "health-live"]  # fmt: skip
        assert told.value == 3 * each
