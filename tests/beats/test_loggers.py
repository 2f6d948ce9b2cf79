"""Loggers: the owner gives a key for one gauge, it posts readings there, and nothing else."""

import datetime as dt

import pytest
from django.http import Http404
from django.utils import timezone
from rest_framework.test import APIClient

from beats.models import AuditEntry, GaugeKey, Reading
from beats.services.gauge_keys import issue_key, revoke_key
from beats.services.levels import KeyGone, note_by_logger
from beats.services.river import NotYetRead
from beats.shared.once import Once
from beats.shared.refusals import KeyReused, NotYours
from tests.beats.test_levels import QUARTER, kept, levels
from tests.factories import NOON, GaugeFactory, GaugeKeyFactory, client_of, keeper

pytestmark = pytest.mark.django_db
NOW = timezone.now().replace(microsecond=0)


@pytest.fixture
def gauge():
    return GaugeFactory(name="Bridge")


@pytest.fixture
def owner(gauge):
    return keeper(gauge.fishery)


class TestKeys:
    def issued(self, gauge, owner, **asked):
        return issue_key(gauge, **{"label": "logger", "days": 30, "by": owner, "now": NOON} | asked)

    def test_only_the_owner_gives_out_and_takes_back_a_key(self, gauge):
        for role in ("ghillie", "guest"):
            with pytest.raises(NotYours):
                self.issued(gauge, keeper(gauge.fishery, role))
            with pytest.raises(NotYours):
                revoke_key(GaugeKeyFactory(gauge=gauge), by=keeper(gauge.fishery, role), now=NOON)
        assert (AuditEntry.objects.count(), GaugeKey.objects.filter(revoked_at__isnull=False).count()) == (0, 0)

    def test_the_secret_is_kept_nowhere(self, gauge, owner):
        key, secret, made = self.issued(gauge, owner)
        assert made
        stored = [*GaugeKey.objects.values(), *AuditEntry.objects.values()]
        assert secret not in str(stored)
        assert secret.removeprefix("gauge-") not in str(stored)
        assert (len(secret), key.expires_at) == (49, NOON + dt.timedelta(days=30))

    def test_the_same_request_again_is_the_same_key_and_shows_no_secret(self, gauge, owner):
        once = Once.of("a-key-of-the-caller", {"label": "logger"})
        first, _, _ = self.issued(gauge, owner, once=once)
        assert self.issued(gauge, owner, once=once) == (first, None, False)
        with pytest.raises(KeyReused):
            self.issued(gauge, owner, once=Once.of("a-key-of-the-caller", {"label": "other"}))
        assert GaugeKey.objects.count() == 1

    def test_a_key_taken_back_twice_is_noted_once(self, gauge, owner):
        key, _, _ = self.issued(gauge, owner)
        for hour in (1, 2):
            revoke_key(key, by=owner, now=NOON + dt.timedelta(hours=hour))
        assert GaugeKey.objects.get().revoked_at == NOON + dt.timedelta(hours=1)
        verbs = list(AuditEntry.objects.order_by("id").values_list("verb", flat=True))
        assert verbs == ["issue gauge key", "revoke gauge key"]

    def test_a_key_taken_back_between_the_door_and_the_book_writes_nothing(self, gauge, owner):
        key, _, _ = self.issued(gauge, owner)
        revoke_key(key, by=owner, now=NOON)
        with pytest.raises(KeyGone):
            note_by_logger(key, levels(0.6), gauge_id=gauge.pk, now=NOON)
        assert Reading.objects.count() == 0

    def test_over_the_wire_the_secret_comes_once_and_the_list_shows_none(self, gauge, owner):
        client, path = client_of(owner), f"/api/v1/gauges/{gauge.pk}/keys/"
        once = {"Idempotency-Key": "0001-of-this-test"}
        sent = [client.post(path, {"label": "logger"}, format="json", headers=once) for _ in range(2)]
        assert [response.status_code for response in sent] == [201, 200]
        assert sent[1].json() == sent[0].json() | {"secret": None}
        (row,) = client.get(path).json()["results"]
        assert row == {name: value for name, value in sent[0].json().items() if name != "secret"}

    @pytest.mark.parametrize("body", [{}, {"label": ""}, {"label": "x", "days": 0}, {"label": "x", "days": 3651}])
    def test_a_key_needs_a_name_and_an_end(self, gauge, owner, body):
        response = client_of(owner).post(f"/api/v1/gauges/{gauge.pk}/keys/", body, format="json")
        assert response.status_code == 400


class TestLogger:
    @pytest.fixture
    def secret(self, gauge, owner):
        return issue_key(gauge, label="logger", days=30, by=owner, now=NOW)[1]

    @pytest.fixture
    def logger(self, secret):
        client = APIClient()
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
        return client

    def post(self, logger, gauge, body, path=""):
        return logger.post(f"/api/v1/gauges/{gauge.pk}/readings/{path}", body, format="json")

    def test_one_reading_is_new_then_known_then_at_odds(self, logger, gauge):
        at = NOW.isoformat()
        sent = [
            self.post(logger, gauge, {"level_m": level, "at": at, "water_c": 9.5}) for level in (0.6, 0.6, 0.7)
        ]
        assert [response.status_code for response in sent] == [201, 200, 409]
        assert kept(gauge) == [(NOW, 0.6, "logger")]
        assert GaugeKey.objects.get().last_used_at >= NOW

    def test_many_readings_after_a_gap_are_taken_in_any_order(self, logger, gauge):
        rows = [
            {"level_m": level.level_m, "at": level.at.isoformat()} for level in levels(0.6, 0.7, 0.8, until=NOW)
        ]
        response = self.post(logger, gauge, {"readings": rows[::-1]}, "many/")
        assert (response.status_code, response.json()) == (200, {"added": 3, "known": 0, "read_otherwise": 0})
        assert self.post(logger, gauge, {"readings": rows}, "many/").json()["known"] == 3

    def test_one_reading_of_the_future_refuses_all_and_says_which(self, logger, gauge):
        late = NOW + dt.timedelta(hours=1)
        rows = [{"level_m": 0.6, "at": NOW.isoformat()}, {"level_m": 0.6, "at": late.isoformat()}]
        body = self.post(logger, gauge, {"readings": rows}, "many/").json()
        assert (body["type"], list(body["errors"])) == (
            "/api/v1/problems/reading-in-the-future",
            ["readings.1.at"],
        )
        assert (Reading.objects.count(), GaugeKey.objects.get().last_used_at) == (0, None)

    @pytest.mark.parametrize(
        "rows",
        [
            [], [{"level_m": 0.6}], [{"level_m": "0.6", "at": NOW.isoformat()}],
            [{"level_m": 0.6, "at": "2026-05-04 09:00"}], [{"level_ft": 2, "at": NOW.isoformat()}], "x", None,
            [{"level_m": 0.6, "at": NOW.isoformat()}] * 1001,
        ],
    )  # fmt: skip
    def test_readings_with_a_fault_are_refused_whole(self, logger, gauge, rows):
        response = self.post(logger, gauge, {"readings": rows}, "many/")
        assert (response.status_code, Reading.objects.count()) == (400, 0)

    def test_a_key_opens_its_own_gauge_and_no_other(self, logger, gauge):
        other = GaugeFactory(fishery=gauge.fishery)
        assert self.post(logger, other, {"level_m": 0.6}).status_code == 404
        rows = {"readings": [{"level_m": 0.6, "at": NOW.isoformat()}]}
        assert self.post(logger, other, rows, "many/").status_code == 404
        assert Reading.objects.count() == 0

    @pytest.mark.parametrize("path", ["me/", "gauges/", "gauges/{pk}/keys/", "beats/", "outings/"])
    def test_a_key_reads_nothing(self, logger, gauge, path):
        assert logger.get(f"/api/v1/{path.format(pk=gauge.pk)}").status_code == 401

    def test_a_key_does_not_even_read_its_own_readings_nor_import_nor_make_keys(self, logger, gauge):
        body = logger.get(f"/api/v1/gauges/{gauge.pk}/readings/").json()
        assert (body["status"], body["type"]) == (403, "/api/v1/problems/not-your-part")
        others = (("readings/import/", "at,level_m", "text/csv"), ("keys/", "{}", "application/json"))
        answers = [
            logger.post(f"/api/v1/gauges/{gauge.pk}/{path}", body, content_type=kind)
            for path, body, kind in others
        ]
        assert [answer.status_code for answer in answers] == [401, 401]

    def test_a_key_that_was_revoked_or_ran_out_opens_nothing(self, logger, gauge):
        GaugeKey.objects.update(expires_at=NOW - QUARTER)
        assert self.post(logger, gauge, {"level_m": 0.6}).status_code == 401
        GaugeKey.objects.update(expires_at=NOW + QUARTER, revoked_at=NOW)
        assert (
            self.post(logger, gauge, {"level_m": 0.6}).json()["type"] == "/api/v1/problems/authentication-failed"
        )

    @pytest.mark.parametrize("secret", ["gauge-", "gauge-wrong", "gauge-\u00e9"])
    def test_a_key_nobody_gave_out_opens_nothing(self, logger, gauge):
        assert self.post(logger, gauge, {"level_m": 0.6}).status_code == 401


def test_a_stranger_finds_no_key_to_revoke(gauge):
    with pytest.raises(Http404):
        revoke_key(GaugeKeyFactory(gauge=gauge), by=keeper(GaugeFactory().fishery), now=NOON)


def test_a_hand_reading_of_the_future_is_refused_for_loggers_too(gauge):
    key = GaugeKeyFactory(gauge=gauge)
    with pytest.raises(NotYetRead):
        note_by_logger(key, levels(0.6, until=NOON + QUARTER), gauge_id=gauge.pk, now=NOON)
