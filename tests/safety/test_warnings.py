"""A public body's warnings, entered by a keeper: they call rods in from the level the beat's policy names."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.http import Http404

from beats.shared.refusals import NotYours
from safety import levels, policy
from safety.ladder import BadLadder
from safety.models import AreaWarning, Recall
from safety.queries import board_of
from safety.services.conditions import look_at_water
from safety.services.warnings import BadWarning, end_warning, enter_warning
from sessions.guards import told_by_all
from tests.factories import (
    NOON,
    AreaWarningFactory,
    BeatFactory,
    FisheryFactory,
    OutingFactory,
    client_of,
    guest_with_account,
    keeper,
)

HOUR = dt.timedelta(hours=1)
LATE = NOON + 9 * HOUR
db = pytest.mark.django_db
FLOOD = {"kind": "flood", "level": "warning", "text": "The river leaves its banks"}


def out(beat):
    return OutingFactory(beat=beat, guest__email="una@example.org", due_back_at=LATE, alarm_at=LATE)


def entered(beat, by, **change):
    facts = FLOOD | {"from_at": NOON, "until_at": NOON + 6 * HOUR, "by": by, "now": NOON} | change
    return enter_warning(beat.fishery, **facts)[0]


@db
def test_a_flood_warning_calls_every_rod_at_once_and_its_end_lets_them_out_again(beat, owner):
    called = out(beat)
    warning = entered(beat, owner)
    recall = Recall.objects.get()
    assert (recall.cause, recall.reason, recall.calls.get().outing) == (
        "warning", "A flood warning is in force (act now): The river leaves its banks.", called,
    )  # fmt: skip
    end_warning(warning, by=owner, now=NOON + HOUR)
    assert Recall.objects.get().ended_at == NOON + HOUR


@db
def test_it_calls_from_its_hour_until_its_hour_and_no_other_water(beat, owner):
    out(beat)
    out(BeatFactory())
    entered(beat, owner, from_at=NOON + HOUR, until_at=NOON + 2 * HOUR)
    assert [look_at_water(now=NOON + n * HOUR) for n in (0, 0.99, 1, 1.5, 2, 3)] == [0, 0, 1, 0, 1, 0]
    assert Recall.objects.get().beat == beat


@db
@pytest.mark.parametrize(
    ("kind", "level", "rules", "calls"),
    [
        ("flood", "alert", {}, False),
        ("flood", "severe", {}, True),
        ("flood", "severe", {"recall_flood": "never"}, False),
        ("flood", "alert", {"recall_flood": "alert"}, True),
        ("weather", "yellow", {}, False),
        ("weather", "amber", {}, True),
        ("weather", "amber", {"recall_weather": "red"}, False),
        ("weather", "red", {"recall_flood": "never", "recall_weather": "red"}, True),
    ],
)
def test_the_policy_of_the_beat_says_from_which_level_it_calls(kind, level, rules, calls):
    beat = BeatFactory(watch_policy=rules)
    out(beat)
    AreaWarningFactory(fishery=beat.fishery, kind=kind, level=level)
    assert look_at_water(now=NOON) == int(calls)


@db
def test_the_board_and_whoever_checks_in_are_told_and_a_warning_elsewhere_is_not(beat, owner):
    AreaWarningFactory()
    AreaWarningFactory(fishery=beat.fishery, kind="weather", level="yellow", text="Thunder.")
    AreaWarningFactory(fishery=beat.fishery, ended_at=NOON)
    told = ["A yellow weather warning is in force (be aware): Thunder."]
    assert board_of(beat.fishery, now=NOON).warnings == told
    assert [text for text in told_by_all(out(beat), NOON) if "in force" in text] == told


@db
@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"level": "amber"}, "level of its kind"),
        ({"kind": "weather", "level": "severe"}, "level of its kind"),
        ({"until_at": NOON}, "ends after it begins"),
        ({"until_at": NOON + 8 * 24 * HOUR}, "within 7 days"),
        ({"from_at": NOON - 3 * HOUR, "until_at": NOON - HOUR}, "is over"),
    ],
)
def test_a_warning_no_public_body_gives_is_refused(beat, owner, change, says):
    with pytest.raises(BadWarning, match=says):
        entered(beat, owner, **change)
    assert not AreaWarning.objects.exists()


@db
def test_the_database_too_refuses_a_level_of_the_other_kind():
    with pytest.raises(IntegrityError), transaction.atomic():
        AreaWarningFactory(kind="weather", level="severe")


@db
def test_only_keepers_enter_and_end_one(beat, owner):
    guest, stranger = guest_with_account(beat.fishery).user, keeper(FisheryFactory())
    warning = entered(beat, keeper(beat.fishery, "ghillie"))
    for nobody, told in ((guest, NotYours), (stranger, Http404)):
        with pytest.raises(told):
            entered(beat, nobody)
        with pytest.raises(told):
            end_warning(warning, by=nobody, now=NOON)


@db
def test_over_the_wire_it_is_entered_once_seen_by_its_own_guests_and_ended(beat, owner):
    facts = FLOOD | {"fishery": beat.fishery.slug, "from_at": "2090-05-06T11:00Z", "until_at": "2090-05-06T19:00Z"}
    client, key = client_of(owner), {"HTTP_IDEMPOTENCY_KEY": "a-flood-warning"}
    answers = [client.post("/api/v1/warnings/", facts, format="json", **key) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 200]
    guest, stranger = guest_with_account(beat.fishery).user, guest_with_account(FisheryFactory()).user
    seen = [client_of(who).get("/api/v1/warnings/").json()["results"] for who in (guest, stranger)]
    assert [[row["level"] for row in rows] for rows in seen] == [["warning"], []]
    path = f"/api/v1/warnings/{answers[0].json()['id']}/end/"
    assert [client_of(who).post(path).status_code for who in (stranger, guest, owner)] == [404, 403, 200]


def test_the_words_of_the_public_bodies_in_their_order():
    """Met Office, weather warnings guide; Environment Agency and SEPA, flood codes (their public pages)."""
    assert levels.BY_KIND == {
        "weather": {"yellow": "be aware", "amber": "be prepared", "red": "take action"},
        "flood": {"alert": "be prepared", "warning": "act now", "severe": "danger to life"},
    }
    said = [levels.sentence(kind, level, "Rain").split(" is ")[0] for kind in levels.BY_KIND
            for level in levels.BY_KIND[kind]]  # fmt: skip
    assert said == [
        "A yellow weather warning", "An amber weather warning", "A red weather warning", "A flood alert",
        "A flood warning", "A severe flood warning",
    ]  # fmt: skip


@pytest.mark.parametrize("rules", [{"recall_flood": "amber"}, {"recall_weather": None}, {"recall_weather": 3}])
def test_a_policy_with_another_body_s_word_is_refused(rules):
    with pytest.raises(BadLadder, match="is one of"):
        policy.read(rules)
