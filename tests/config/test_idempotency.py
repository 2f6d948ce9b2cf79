"""Every POST of the API acts once for an Idempotency-Key (draft-ietf-httpapi-idempotency-key-header)."""

import datetime as dt
import json
from uuid import UUID

import pytest
from django.apps import apps
from django.core import serializers
from django.db import DatabaseError
from django.urls import resolve
from django.utils import timezone

from beats.authentication import digest_of
from beats.models import IdempotencyRecord, Spent
from beats.services.idempotency import purge_idempotency_records
from beats.shared import idempotent_views
from config.idempotency import EXEMPT
from config.schema import Document
from sessions.models import Outing
from tests.config.test_roles import PUSH_KEY, TABLE, filled
from tests.config.world import build, move_rod_days_to_an_open_day
from tests.factories import AlarmFactory, CatchFactory, GaugeKeyFactory, GuestFactory, client_of
from tests.sessions.season_records import SIGNER, stated

pytestmark = pytest.mark.django_db
KEY = "9d3b6c1e-2f57-4c7e-8a53-0b1f6f1d2a10"
OURS = ("beats", "bookings", "fishing_sessions", "safety")
POSTS = [row for row in TABLE if row[1] == "POST" and row[0] not in EXEMPT]


@pytest.fixture(autouse=True)
def _pushing(settings):
    settings.WEB_PUSH_KEY = PUSH_KEY


def everything() -> str:
    """Every row of every table of the service, as text; the counters of tries and the keys themselves apart."""
    models = [model for label in OURS for model in apps.get_app_config(label).get_models()]
    models = [model for model in models if model not in (IdempotencyRecord, Spent)]
    rows = [row for model in models for row in model._base_manager.order_by("pk")]
    return serializers.serialize("json", rows)


def asked(row, world):
    """Address and body with which the operation succeeds for the owner."""
    name, _, path, body, *_ = row
    ids = world.ids()
    if name == "outings":
        Outing.objects.update(checked_out_at=timezone.now())
    if name == "guest-erase":
        ids["guest"] = GuestFactory(fishery=world.rows["fishery"]).pk
    if name.startswith("invitation-"):
        email = world.people["owner"].email
        ids["guest"] = GuestFactory(fishery=world.rows["fishery"], email=email).pk
    if name == "let-split":
        ids["hold"] = _let_of_two(world).pk
    if name == "alarm-close":
        ids["alarm"] = AlarmFactory(outing=world.rows["outing"], kind="help", stage=1).pk
    if name in {"returns-signed", "review-answers"}:
        stated(world.rows["beat"], 2025, range(2, 11), "none_caught")
        CatchFactory(beat=world.rows["beat"], caught_at=dt.datetime(2025, 5, 7, tzinfo=dt.UTC), flag="A Sunday.")
    if name == "returns-signed":
        read = client_of(world.people["owner"]).get(f"/api/v1/{path.format(**ids).removesuffix('signed/')}").json()
        body = {"content_hash": read["content_hash"], "reason": "a fish was added", **SIGNER}
    return f"/api/v1/{path.format(**ids)}", filled(body, ids)


def _let_of_two(world):
    from bookings.services.lets import let_rods  # noqa: PLC0415

    beat = world.rows["quiet_beat"]
    day = dt.date(2099, 5, 20)
    beat.rods = 4
    beat.save()
    return let_rods(
        beat, booker=world.rows["guest"], first_on=day, last_on=day, rods=2, by=world.people["owner"],
        now=timezone.now(),
    )[0]  # fmt: skip


def post(client, url, body, key=KEY):
    return client.generic("POST", url, **body, headers={"Idempotency-Key": key, "If-Match": '"1"'})


@pytest.mark.parametrize("row", POSTS, ids=lambda row: row[2])
def test_the_same_key_twice_acts_once(row):
    world = build()
    url, body = asked(row, world)
    client = client_of(world.people["owner"])
    if row[0] == "let-share":
        move_rod_days_to_an_open_day()
    first = post(client, url, body)
    assert first.status_code < 300, first.content
    done = everything()
    for _ in range(2):
        again = post(client, url, body)
        assert again.status_code in {first.status_code, 200}, again.content
        assert everything() == done
    if first.status_code != 201 and first.content:
        assert again.content == first.content
    if isinstance(row[3], dict):
        other = json.loads(body["data"]) | {"note": "x"}
        answer = post(client, url, {"data": json.dumps(other), "content_type": "application/json"})
        assert answer.status_code in {400, 422}, answer.content
        assert everything() == done


def test_every_post_of_the_document_takes_a_key_or_says_why_not():
    named = {}
    for path, methods in Document().get_schema()["paths"].items():
        if operation := methods.get("post"):
            pk = str(UUID(int=1)) if "/undelivered/" in path else "1"
            name = resolve(path.replace("{id}", pk).replace("{season}", "2026").replace("{slug}", "x")).url_name
            takes = any(each["name"] == "Idempotency-Key" for each in operation.get("parameters", ()))
            named[name] = takes
            assert takes != (name in EXEMPT), path
            assert takes or EXEMPT[name] in operation["description"]
    assert set(EXEMPT) <= set(named)
    assert set(named) == {row[0] for row in TABLE if row[1] == "POST"}


@pytest.fixture
def world():
    return build()


@pytest.fixture
def owner(world):
    return client_of(world.people["owner"])


def more_time(world, client, *, key=KEY, minutes=30):
    url = f"/api/v1/outings/{world.rows['outing'].pk}/more-time/"
    return post(client, url, {"data": json.dumps({"minutes": minutes}), "content_type": "application/json"}, key)


def test_more_time_sent_three_times_moves_the_alarm_once(world, owner):
    before = world.rows["outing"].alarm_at
    answers = [more_time(world, owner) for _ in range(3)]
    assert len({answer.content for answer in answers}) == 1
    outing = Outing.objects.get(pk=world.rows["outing"].pk)
    assert outing.alarm_at - before == dt.timedelta(minutes=30)
    assert more_time(world, owner, key=KEY.replace("9", "8")).status_code == 200
    outing.refresh_from_db()
    assert outing.alarm_at - before == dt.timedelta(minutes=60)


def test_another_body_under_the_key_is_refused_by_name(world, owner):
    more_time(world, owner)
    answer = more_time(world, owner, minutes=60)
    assert (answer.status_code, answer.json()["type"]) == (422, "/api/v1/problems/key-reused")


def test_a_key_is_one_callers_own(world, owner):
    before = world.rows["outing"].alarm_at
    more_time(world, owner)
    more_time(world, client_of(world.people["ghillie"]))
    assert Outing.objects.get(pk=world.rows["outing"].pk).alarm_at - before == dt.timedelta(minutes=60)


def test_a_gauges_key_is_a_caller_too(world):
    GaugeKeyFactory(gauge=world.rows["gauge"], digest=digest_of("gauge-own"),
                    expires_at=timezone.now() + dt.timedelta(days=1))  # fmt: skip
    from rest_framework.test import APIClient  # noqa: PLC0415

    url = f"/api/v1/gauges/{world.rows['gauge'].pk}/readings/"
    headers = {"Authorization": "Bearer gauge-own", "Idempotency-Key": KEY}
    for _ in range(2):
        answer = APIClient().post(url, {"level_m": 0.55}, format="json", headers=headers)
        assert answer.status_code == 201
    assert world.rows["gauge"].readings.filter(level_m=0.55).count() == 1


def test_a_refused_call_leaves_its_key_unused(world, owner):
    Outing.objects.update(checked_out_at=timezone.now())
    assert more_time(world, owner).status_code == 409
    assert not IdempotencyRecord.objects.exists()
    Outing.objects.update(checked_out_at=None)
    assert more_time(world, owner).status_code == 200


def test_what_breaks_after_the_effect_takes_both_back(world, owner, monkeypatch):
    before = everything()

    def breaks(_response):
        raise DatabaseError("the disk is full")

    with monkeypatch.context() as broken:
        broken.setattr(idempotent_views, "_written", breaks)
        with pytest.raises(DatabaseError):
            more_time(world, owner)
    assert (everything(), IdempotencyRecord.objects.count()) == (before, 0)
    assert more_time(world, owner).status_code == 200


def test_an_answer_is_not_kept_in_clear(world, owner):
    answer = more_time(world, owner)
    kept = IdempotencyRecord.objects.get().answer.encode()
    assert answer.json()["guest_name"].encode() not in kept
    assert KEY not in serializers.serialize("json", IdempotencyRecord.objects.all())


def test_with_another_secret_key_it_is_still_not_done_twice(world, owner, settings):
    more_time(world, owner)
    settings.SECRET_KEY = "another secret key of at least fifty characters, made for this test"
    before = everything()
    answer = more_time(world, owner)
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/already-done")
    assert everything() == before


def test_keys_are_kept_for_two_days_and_then_purged(world, owner):
    more_time(world, owner)
    now = timezone.now()
    assert purge_idempotency_records(now=now + dt.timedelta(hours=47)) == 0
    assert purge_idempotency_records(now=now + dt.timedelta(hours=48)) == 1


def test_a_key_past_its_time_is_free_though_nothing_was_purged(world, owner):
    more_time(world, owner)
    IdempotencyRecord.objects.update(created_at=timezone.now() - dt.timedelta(hours=49))
    before = Outing.objects.get(pk=world.rows["outing"].pk).alarm_at
    assert more_time(world, owner, minutes=10).status_code == 200
    assert Outing.objects.get(pk=world.rows["outing"].pk).alarm_at > before
