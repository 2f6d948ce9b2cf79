"""A week's rota from the book, and publishing it."""

import datetime as dt

import pytest

from beats.models import AuditEntry
from beats.shared.once import Once
from beats.shared.refusals import NotYours
from sessions.models import Rota
from sessions.rotation import NoRota
from sessions.services.rotas import NotDraft, Overtaken, plan_rota, publish_rota
from sessions.services.week import BadWeek
from tests.factories import (
    NOON,
    BeatFactory,
    DayPartFactory,
    GaugeFactory,
    GuestFactory,
    LetFactory,
    PoolClosureFactory,
    PoolFactory,
    ReadingFactory,
    RodDayFactory,
    RotaFactory,
    keeper,
)

pytestmark = pytest.mark.django_db

MONDAY, TUESDAY = dt.date(2026, 5, 4), dt.date(2026, 5, 5)
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def beat():
    """Four pools from the bank, two of them hard to wade, and two parts of the day."""
    beat = BeatFactory(rods=4, name="Upper", gauge=GaugeFactory(name="Bridge", stale_after_minutes=60))
    for slug, wading in (("head", 0), ("neck", 0), ("tail", 3), ("cradle", 3)):
        PoolFactory(beat=beat, slug=slug, name=slug.title(), wading_grade=wading)
    DayPartFactory(fishery=beat.fishery, slug="morning", starts=dt.time(9), ends=dt.time(13))
    DayPartFactory(fishery=beat.fishery, slug="afternoon", starts=dt.time(14), ends=dt.time(18))
    return beat


@pytest.fixture
def ghillie(beat):
    return keeper(beat.fishery, "ghillie")


def book(beat, *, wading=None, days=(MONDAY, TUESDAY), rod=1):
    """Let a rod for some days, to a guest of a wading grade or to nobody by name."""
    guest = None if wading is None else GuestFactory(fishery=beat.fishery, wading_grade=wading)
    let = LetFactory(beat=beat)
    for day in days:
        RodDayFactory(let=let, day=day, rod=rod, guest=guest)
    return guest


def plan(beat, by, **asked):
    return plan_rota(beat, **({"first_on": MONDAY, "by": by, "now": NOON, "effort": 0.3, "tries": 3000} | asked))[
        0
    ]


def pools(rota, **who):
    return set(rota.turns.filter(**who).values_list("pool__slug", flat=True))


def closed(rota):
    return rota.certificate["closed_pools"]


def test_every_rod_let_has_one_pool_in_each_part_of_its_days(beat, ghillie):
    guest = book(beat, wading=3)
    book(beat, wading=3, days=(TUESDAY,), rod=2)
    rota = plan(beat, ghillie)
    turns = rota.turns.order_by("day", "-part__slug", "rod").values_list("day", "part__slug", "rod")
    assert list(turns) == [
        (MONDAY, "morning", 1), (MONDAY, "afternoon", 1),
        (TUESDAY, "morning", 1), (TUESDAY, "morning", 2), (TUESDAY, "afternoon", 1), (TUESDAY, "afternoon", 2),
    ]  # fmt: skip
    assert set(rota.turns.filter(rod=1).values_list("guest", flat=True)) == {guest.pk}


def test_four_turns_over_four_pools_visit_each_once_and_that_is_proven(beat, ghillie):
    guest = book(beat, wading=3)
    rota = plan(beat, ghillie)
    assert pools(rota, guest=guest) == {"head", "neck", "tail", "cradle"}
    assert (rota.certificate["status"], rota.certificate["second_visits"]) == ("proven best", 0)
    assert rota.certificate["worth_by_rod"] == [{"rod": guest.name, "worth_per_turn": 10.0}]


def test_the_certificate_says_how_good_it_is(beat, ghillie):
    """Each goal with the bound that no rota passes, and what moving one pool down would have come to."""
    guests = [book(beat, wading=3, rod=rod) for rod in (1, 2)]
    told = plan(beat, ghillie).certificate
    better = {True: 1, False: -1}
    for goal in told["goals"]:
        sign = better["more is better" in goal["unit"]]
        assert sign * goal["value"] <= sign * goal["bound"], goal
        assert goal["proven"] == (goal["gap"] == 0) == (goal["value"] == goal["bound"]), goal
    first = told["goals"][0]
    assert first["custom"] is not None
    assert better["more is better" in first["unit"]] * (first["value"] - first["custom"]) >= 0
    assert [line["rod"] for line in told["worth_by_rod"]] == [guest.name for guest in guests]


def test_a_guest_is_never_sent_where_they_may_not_wade(beat, ghillie):
    easy, hard = book(beat, wading=0), book(beat, wading=3, rod=2)
    rota = plan(beat, ghillie)
    assert pools(rota, guest=easy) == {"head", "neck"}
    assert pools(rota, guest=hard) == {"head", "neck", "tail", "cradle"}


def test_a_rod_without_a_name_is_kept_to_the_bank(beat, ghillie):
    book(beat)
    assert pools(plan(beat, ghillie)) == {"head", "neck"}


def test_a_pool_closed_by_hand_is_left_out_on_its_days_alone(beat, ghillie):
    book(beat)
    PoolFactory(beat=beat, slug="bothy", name="Bothy", wading_grade=0, worth=1)
    PoolClosureFactory(pool=beat.pools.get(slug="head"), from_on=MONDAY, to_on=MONDAY, reason="tree down")
    rota = plan(beat, ghillie)
    assert pools(rota, day=MONDAY) == {"neck", "bothy"}
    assert pools(rota, day=TUESDAY) == {"head", "neck"}
    assert closed(rota) == {"Head": ["tree down"]}


def test_a_retired_pool_is_never_fished(beat, ghillie):
    book(beat, wading=3)
    beat.pools.filter(slug="tail").update(retired=True)
    assert pools(plan(beat, ghillie)) == {"head", "neck", "cradle"}


def test_a_level_given_closes_the_pools_it_does_not_suit(beat, ghillie):
    guest = book(beat, wading=3)
    beat.pools.filter(slug="tail").update(level_max_m=0.9)
    beat.pools.filter(slug="cradle").update(level_min_m=0.3)
    assert pools(plan(beat, ghillie, level_m=0.9), guest=guest) == {"head", "neck", "tail", "cradle"}
    high, low = plan(beat, ghillie, level_m=0.91), plan(beat, ghillie, level_m=0.29)
    assert (closed(high), closed(low)) == ({"Tail": ["too high"]}, {"Cradle": ["too low"]})
    assert high.certificate["notes"] == ["Worked out for 0.91 m on the gauge, as given."]


def test_a_pool_too_high_stays_out_when_the_gauge_falls_silent(beat, ghillie):
    book(beat, wading=3)
    beat.pools.filter(slug="tail").update(level_max_m=0.9)
    ReadingFactory(gauge=beat.gauge, at=NOON, level_m=1.2)
    fresh, stale = plan(beat, ghillie, now=NOON + HOUR), plan(beat, ghillie, now=NOON + 2 * HOUR)
    assert closed(fresh) == {"Tail": ["too high"]}
    assert fresh.certificate["notes"] == ["Worked out for Bridge: 1.20 m, read 60 min ago."]
    assert closed(stale) == {"Tail": ["too high"]}
    (note,) = stale.certificate["notes"]
    assert note.startswith("No confirmed level is known. Worked out for 1.20 m")
    later = plan(beat, ghillie, now=NOON + 73 * HOUR)
    assert closed(later) == {}
    assert later.certificate["notes"] == [
        "No fresh level is known, so no pool was left out for its height. Look at the river."
    ]


def test_today_s_reading_says_nothing_of_another_week(beat, ghillie):
    book(beat, wading=3, days=[dt.date(2026, 5, 11)])
    beat.pools.filter(slug="tail").update(level_max_m=0.9)
    ReadingFactory(gauge=beat.gauge, at=NOON, level_m=1.2)
    rota = plan(beat, ghillie, first_on=dt.date(2026, 5, 11))
    assert closed(rota) == {}
    assert rota.certificate["notes"] == [
        "The level of another week is not known, so no pool was left out for its height."
    ]


def test_a_week_begins_on_a_monday_and_needs_a_let(beat, ghillie):
    book(beat)
    with pytest.raises(BadWeek, match="starts on a Monday") as caught:
        plan(beat, ghillie, first_on=TUESDAY)
    assert list(caught.value.errors) == ["first_on"]
    with pytest.raises(BadWeek, match="Nothing is let on Upper in the week of 11 May 2026"):
        plan(beat, ghillie, first_on=dt.date(2026, 5, 11))
    assert Rota.objects.count() == 0


def test_where_no_open_pool_can_be_waded_the_guest_is_named(beat, ghillie):
    guest = book(beat, wading=0)
    for pool in beat.pools.filter(wading_grade=0):
        PoolClosureFactory(pool=pool, from_on=MONDAY, to_on=TUESDAY)
    with pytest.raises(
        NoRota, match=f"On Monday 4 May, morning, there is no open pool that {guest.name} may wade"
    ):
        plan(beat, ghillie)


def test_a_guest_may_not_plan(beat):
    with pytest.raises(NotYours):
        plan(beat, keeper(beat.fishery, "guest"))


def test_each_planning_is_the_next_version_and_a_key_repeated_is_not(beat, ghillie):
    book(beat)
    once = Once.of("key-of-a-phone", {})
    made = [plan(beat, ghillie, once=asked) for asked in (None, once, once, None)]
    assert [rota.version for rota in made] == [1, 2, 2, 3]
    assert AuditEntry.objects.filter(verb="plan rota").count() == 3


def test_the_same_book_gives_the_same_rota(beat, ghillie):
    for rod in (1, 2, 3):
        book(beat, wading=3, rod=rod)
    first, second = (
        list(plan(beat, ghillie).turns.order_by("day", "part", "rod").values_list("pool", flat=True))
        for _ in range(2)
    )
    assert first == second


def test_publishing_supersedes_the_rota_before(beat, ghillie):
    book(beat)
    first, second, draft = (plan(beat, ghillie) for _ in range(3))
    publish_rota(first, by=ghillie, now=NOON)
    publish_rota(second, by=ghillie, now=NOON + HOUR)
    assert list(Rota.objects.order_by("version").values_list("status", "published_at")) == [
        ("superseded", NOON), ("published", NOON + HOUR), ("draft", None),
    ]  # fmt: skip
    assert draft.status == "draft"


def test_a_published_rota_published_again_stays_and_a_superseded_one_is_refused(beat, ghillie):
    book(beat)
    first, second = plan(beat, ghillie), plan(beat, ghillie)
    publish_rota(first, by=ghillie, now=NOON)
    assert publish_rota(first, by=ghillie, now=NOON + HOUR).published_at == NOON
    publish_rota(second, by=ghillie, now=NOON)
    with pytest.raises(NotDraft):
        publish_rota(first, by=ghillie, now=NOON)


def test_publishing_one_week_leaves_the_others_alone(beat, ghillie):
    next_monday = dt.date(2026, 5, 11)
    book(beat, days=[MONDAY, next_monday])
    for monday in (MONDAY, next_monday):
        publish_rota(plan(beat, ghillie, first_on=monday), by=ghillie, now=NOON)
    assert list(Rota.objects.values_list("status", flat=True)) == ["published", "published"]


def test_a_draft_that_was_overtaken_is_not_published(beat, ghillie):
    """Two drafts of one week: once the later is published, the earlier may not replace it unseen."""
    earlier, later = (RotaFactory(beat=beat, version=n) for n in (1, 2))
    by = ghillie
    publish_rota(later, by=by, now=NOON)
    with pytest.raises(Overtaken):
        publish_rota(earlier, by=by, now=NOON)
    assert Rota.objects.get(status="published") == later
