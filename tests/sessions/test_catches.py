"""Writing a fish down, truthfully, whatever the law says of it."""

import datetime as dt
from decimal import Decimal

import pytest
from django.http import Http404
from django.utils import timezone

from beats.models import AuditEntry, ConservationGrade, FisheryRule
from beats.shared.once import Once
from sessions.models import Catch
from sessions.services.catches import NotYetCaught, cautions_of, note_catch
from tests.factories import (
    NOON,
    BeatFactory,
    GuestFactory,
    PoolFactory,
    client_of,
    guest_with_account,
    keeper,
)

pytestmark = pytest.mark.django_db

SUNDAY = dt.datetime(2026, 5, 10, 11, 0, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture
def guest(beat):
    return guest_with_account(beat.fishery)


def note(beat, guest, **asked):
    facts = {"pool": None, "caught_at": NOON, "kind": "msw", "fate": "released", "by": guest.user, "now": NOON}
    return note_catch(beat, guest=guest, **(facts | asked))[0]


def test_a_fish_is_written_down_as_told(beat, guest):
    pool = PoolFactory(beat=beat)
    facts = {"kind": "sea_trout", "fate": "kept", "weight_kg": Decimal("1.25"), "length_cm": Decimal("47.5")}
    fish = note(beat, guest, pool=pool, fly="Size 12 black", **facts)
    fish.refresh_from_db()
    assert {name: getattr(fish, name) for name in facts} == facts
    assert (fish.pool, fish.guest, fish.caught_at, fish.fly) == (pool, guest, NOON, "Size 12 black")
    assert AuditEntry.objects.get().after == {
        "kind": "sea_trout", "fate": "kept", "weight_kg": "1.25", "caught_on": "2026-05-06",
    }  # fmt: skip


def test_the_day_of_a_fish_is_the_day_at_the_river(beat, guest):
    late = dt.datetime(2026, 5, 5, 23, 30, tzinfo=dt.UTC)  # half past midnight in summer time
    assert note(beat, guest, caught_at=late).caught_on == dt.date(2026, 5, 6)


def test_a_fish_of_the_future_is_refused_but_a_clock_may_run_two_minutes_fast(beat, guest):
    with pytest.raises(NotYetCaught):
        note(beat, guest, caught_at=NOON + 2 * MINUTE + dt.timedelta(seconds=1))
    assert Catch.objects.count() == 0
    assert note(beat, guest, caught_at=NOON + 2 * MINUTE).pk


def test_a_fish_on_a_sunday_is_written_and_flagged(beat, guest):
    fish = note(beat, guest, caught_at=SUNDAY, now=SUNDAY)
    assert cautions_of(fish) == [
        "Caught on a closed day. Nobody may fish for salmon on a Sunday. Written down as it was; tell the owner."
    ]


def test_a_fish_kept_in_the_release_only_time_is_written_and_flagged(beat, guest):
    """SSI 2014/327, Schedule, entry 51 (Wester Ross), column 4: catch and release 11 February to 31 March."""
    spring = dt.datetime(2026, 3, 2, 12, 0, tzinfo=dt.UTC)
    kept = note(beat, guest, caught_at=spring, fate="kept")
    released = note(beat, guest, caught_at=spring, fate="released")
    (caution,) = cautions_of(kept)
    assert caution.startswith("Kept when it had to go back. Catch and release only: Wester Ross district")
    assert cautions_of(released) == []
    assert set(Catch.objects.values_list("fate", flat=True)) == {"kept", "released"}


def test_a_poor_grade_sends_salmon_back_and_leaves_sea_trout_to_the_rest_of_the_law(beat, guest):
    ConservationGrade.objects.create(fishery=beat.fishery, from_on=dt.date(2026, 4, 1), grade="poor")
    flagged = {
        kind: bool(cautions_of(note(beat, guest, kind=kind, fate="kept"))) for kind in Catch.Kind.values
    }  # fmt: skip
    assert flagged == {
        "msw": True, "1sw": True, "sea_trout": False, "finnock": False, "farmed_msw": True, "farmed_1sw": True,
        "kelt": True, "non_native": False,
    }  # fmt: skip


def test_a_house_rule_sends_every_fish_back(beat, guest):
    FisheryRule.objects.create(
        fishery=beat.fishery, status="release_only", start="05-01", end="05-31", reason="May fish go back."
    )
    (caution,) = cautions_of(note(beat, guest, kind="sea_trout", fate="kept"))
    assert "House rule, 1 May to 31 May: May fish go back." in caution


def test_an_ordinary_kept_fish_needs_no_caution(beat, guest):
    assert cautions_of(note(beat, guest, fate="kept")) == []


def test_a_fish_noted_twice_with_one_key_is_one_fish(beat, guest):
    once = Once.of("key-of-a-phone", {})
    assert note(beat, guest, once=once) == note(beat, guest, once=once)
    assert Catch.objects.count() == 1


def test_guests_write_their_own_fish_and_keepers_anybody_s(beat, guest):
    ghillie = keeper(beat.fishery, "ghillie")
    assert note(beat, guest, by=ghillie).guest == guest
    nobody, _ = note_catch(
        beat, pool=None, guest=None, caught_at=NOON, kind="msw", fate="released", by=ghillie, now=NOON
    )
    assert nobody.guest is None
    for by, whose in ((guest.user, GuestFactory(fishery=beat.fishery)), (keeper(BeatFactory().fishery), guest)):
        with pytest.raises(Http404):
            note(beat, whose, by=by)


def test_water_and_guests_of_another_fishery_are_not_there(beat, guest):
    owner = keeper(beat.fishery)
    for asked in ({"pool": PoolFactory(beat__fishery=beat.fishery)}, {"pool": PoolFactory()}):
        with pytest.raises(Http404):
            note(beat, guest, by=owner, **asked)
    with pytest.raises(Http404):
        note(beat, GuestFactory(), by=owner)


def test_on_the_wire_weights_are_exact_text_and_cautions_come_along(beat, guest):
    yesterday = (timezone.now() - dt.timedelta(days=1)).isoformat()
    body = {"beat": beat.pk, "guest": guest.pk, "caught_at": yesterday, "kind": "1sw", "fate": "released"}
    response = client_of(guest.user).post("/api/v1/catches/", body | {"weight_kg": "2.30"}, format="json")
    assert response.status_code == 201
    assert (response.json()["weight_kg"], response.json()["length_cm"]) == ("2.30", None)
    assert isinstance(response.json()["cautions"], list)


def test_a_fish_older_than_the_law_held_here_is_written_and_says_so(beat, guest):
    """The schedule is in force from 9 January 2015; an owner may enter an older book."""
    body = {"beat": beat.pk, "guest": guest.pk, "kind": "msw", "fate": "kept"}
    body["caught_at"] = "2014-05-06T12:00:00+01:00"
    response = client_of(guest.user).post("/api/v1/catches/", body, format="json")
    assert (response.status_code, Catch.objects.count()) == (201, 1)
    (caution,) = response.json()["cautions"]
    assert "look in the older law" in caution


@pytest.mark.parametrize("weight", ["0", "-1", "60.01", "1.234", "NaN", "Infinity", "heavy", True])
def test_a_weight_no_fish_has_is_refused(beat, guest, weight):
    body = {"beat": beat.pk, "guest": guest.pk, "caught_at": NOON.isoformat(), "kind": "msw", "fate": "kept"}
    response = client_of(guest.user).post("/api/v1/catches/", body | {"weight_kg": weight}, format="json")
    assert (response.status_code, list(response.json()["errors"])) == (400, ["weight_kg"])
