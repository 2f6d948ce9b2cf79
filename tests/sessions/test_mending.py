"""Changing a rota that stands: fewest turns, what is fished stays, and the reason is told."""

import datetime as dt

import pytest
from django.http import Http404

from beats.models import PoolClosure, TideWater
from beats.shared.once import Once
from beats.shared.refusals import KeyReused, NotYours
from bookings.models import Let
from sessions.models import Rota
from sessions.services.mending import NotThere, Since, replan, swap, why
from sessions.services.rotas import publish_rota
from sessions.services.week import BadWeek
from tests.factories import NOON, FisheryFactory, keeper
from tests.sessions.riverside import DAYS, MONDAY, Riverside, lines

pytestmark = pytest.mark.django_db
EARLY = NOON - dt.timedelta(days=4)
"""Before the week begins; NOON is on its Wednesday, with the morning under way."""


@pytest.fixture
def river():
    return Riverside()


def mended(rota, river, **asked):
    return replan(rota, **({"by": river.ghillie, "now": NOON, "since": Since(MONDAY)} | asked))[0]


def test_nothing_changed_means_no_turn_changes(river):
    rota = river.plan()
    draft = mended(rota, river)
    assert lines(draft) == lines(rota)
    assert draft.certificate["moves"] == []
    assert (draft.status, draft.replaces, draft.version) == ("draft", rota, rota.version + 1)


def test_a_pool_that_closes_moves_only_those_who_must_move_and_says_why(river):
    rota = river.plan()
    closed = river.pools["head"]
    PoolClosure.objects.create(pool=closed, from_on=DAYS[2], to_on=DAYS[3], reason="tree down")
    draft = mended(rota, river, since=Since(DAYS[2]))
    lost = {line for line in lines(rota) if line[3] == "head" and line[0] >= DAYS[2]}
    assert lost <= lines(rota) - lines(draft)
    assert not any(line[3] == "head" and line[0] >= DAYS[2] for line in lines(draft))
    fewest = next(goal for goal in draft.certificate["goals"] if goal["name"] == "turns changed")
    assert fewest["proven"]
    assert fewest["value"] == len(lines(rota) - lines(draft)) == len(draft.certificate["moves"])
    assert {line["goal"]: line["verdict"] for line in draft.certificate["effect"]}["second visits to a pool"] in {
        "worse", "as before",
    }  # fmt: skip
    reasons = [move["why"] for move in draft.certificate["moves"] if move["from_pool"] == "Head"]
    assert reasons == ["Head is closed: tree down"] * len(lost)


def test_what_is_fished_stays_even_where_the_pool_has_closed_since(river):
    rota = river.plan()
    river.pools["head"].closures.create(from_on=DAYS[0], to_on=DAYS[3], reason="flood")
    draft = mended(rota, river, since=Since(DAYS[1], "afternoon"))
    fished = {line for line in lines(rota) if (line[0], line[1] == "afternoon") < (DAYS[1], True)}
    assert fished <= lines(draft)
    assert all(line[3] != "head" for line in lines(draft) - fished)


def test_a_rising_river_takes_the_pools_out_that_no_longer_fish(river):
    rota = river.plan()
    draft = mended(rota, river, level_m=1.4)
    assert all(line[3] != "tail" for line in lines(draft))
    assert draft.certificate["closed_pools"] == {"Tail": ["too high"]}


def test_a_rod_can_be_sent_to_a_pool_and_kept_off_one(river):
    rota = river.plan()
    turn = rota.turns.exclude(pool=river.pools["croy"]).order_by("day", "rod").first()
    draft = mended(rota, river, pins=[(turn, river.pools["croy"])])
    assert (turn.day, turn.part.slug, turn.rod, "croy") in lines(draft)
    again = mended(rota, river, bars=[turn])
    assert (turn.day, turn.part.slug, turn.rod, turn.pool.slug) not in lines(again)
    assert draft.wishes["pinned"][0][1:2] == [turn.part.slug]


def test_nobody_is_sent_where_a_rule_does_not_let_them_be(river):
    rota = river.plan()
    turn = rota.turns.filter(guest=river.guests[0]).order_by("day").first()
    river.guests[0].wading_grade = 1
    river.guests[0].save()
    with pytest.raises(NotThere, match="Cradle needs wading grade 3; Guest A may wade up to 1"):
        mended(rota, river, pins=[(turn, river.pools["cradle"])])
    river.pools["body"].closures.create(from_on=DAYS[0], to_on=DAYS[3], reason="resting")
    with pytest.raises(NotThere, match="Body is closed then: resting"):
        mended(rota, river, pins=[(turn, river.pools["body"])])
    with pytest.raises(NotThere, match="no part of the day called dusk"):
        mended(rota, river, since=Since(DAYS[0], "dusk"))
    assert Rota.objects.count() == 1


def pair(rota, *, same_slot=True):
    """Two turns side by side whose change breaks no rule, or two of different parts."""
    first = rota.turns.order_by("day", "-part__slug", "rod").first()
    others = rota.turns.exclude(rod=first.rod)
    found = others.filter(day=first.day, part=first.part) if same_slot else others.exclude(day=first.day)
    return first, found.order_by("day", "rod").first()


def test_two_rods_change_places_and_the_effect_is_shown(river):
    rota = river.plan()
    for first in rota.turns.order_by("day", "rod"):
        other = rota.turns.filter(day=first.day, part=first.part).exclude(rod=first.rod).order_by("rod").first()
        try:
            draft, _ = swap(rota, turn=first, other=other, by=river.ghillie, now=EARLY)
        except NotThere:
            continue
        break
    changed = lines(draft) - lines(rota)
    assert changed == {
        (first.day, first.part.slug, first.rod, other.pool.slug),
        (other.day, other.part.slug, other.rod, first.pool.slug),
    }
    assert draft.certificate["status"] == "changed by hand"
    assert {move["why"] for move in draft.certificate["moves"]} == {"changed over by hand"}
    assert {line["verdict"] for line in draft.certificate["effect"]} <= {"better", "worse", "as before"}
    assert lines(Rota.objects.get(pk=rota.pk)) != lines(draft)


def test_a_swap_across_parts_is_refused(river):
    rota = river.plan()
    first, other = pair(rota, same_slot=False)
    with pytest.raises(NotThere, match="same part of the same day"):
        swap(rota, turn=first, other=other, by=river.ghillie, now=EARLY)


def test_a_swap_that_breaks_a_rule_is_refused_naming_it(river):
    rota = river.plan()
    first, other = pair(rota)
    river.guests[first.rod - 1].wading_grade = 0
    river.guests[first.rod - 1].save()
    other.pool.wading_grade = 3
    other.pool.save()
    with pytest.raises(NotThere, match=r"That cannot be: Guest . may not fish"):
        swap(rota, turn=first, other=other, by=river.ghillie, now=EARLY)


def test_why_gives_facts_and_the_price_of_another_choice(river):
    rota = river.plan()
    turn = rota.turns.order_by("day", "rod").first()
    told = why(turn, now=EARLY)
    assert (
        told["facts"][0]
        == f"{turn.pool.name} needs wading grade {turn.pool.wading_grade}; Guest A may wade up to 3."
    )
    first = next(move for move in told["without_it"]["changes"] if move["rod"] == "Guest A")
    assert (first["from_pool"], first["why"]) == (turn.pool.name, "kept off it by hand")
    assert told["without_it"]["proven_fewest_changes"]
    assert Rota.objects.count() == 1  # asking changes nothing


def test_a_published_rota_is_never_edited_only_superseded(river):
    rota = publish_rota(river.plan(), by=river.ghillie, now=NOON)
    before = lines(rota)
    draft = mended(rota, river, level_m=1.4)
    publish_rota(draft, by=river.ghillie, now=NOON)
    rota.refresh_from_db()
    assert (rota.status, lines(rota)) == ("superseded", before)


def test_only_keepers_mend_and_strangers_see_nothing(river):
    rota = river.plan()
    with pytest.raises(NotYours):
        replan(rota, by=keeper(river.beat.fishery, "guest"), now=NOON)
    with pytest.raises(Http404):
        replan(rota, by=keeper(FisheryFactory()), now=NOON)


def test_a_repeated_request_mends_once(river):
    rota = river.plan()
    once = Once.of("mend-12345", "asked")
    assert mended(rota, river, once=once) == mended(rota, river, once=once)
    with pytest.raises(KeyReused):
        mended(rota, river, once=Once.of("mend-12345", "something else"))
    assert Rota.objects.count() == 2


def test_a_turn_whose_rod_is_no_longer_let_is_refused_in_words(river):
    rota = river.plan()
    turn = rota.turns.filter(rod=1).order_by("day").first()
    Let.objects.get().rod_days.filter(rod=1).delete()
    with pytest.raises(BadWeek, match="Rod 1 is no longer let"):
        why(turn, now=EARLY)


def test_a_party_that_wants_to_be_together_is_and_one_that_wants_to_be_apart_is_not():
    together = Riverside(rods=2, company=Let.Company.TOGETHER, rods_at_once=2)
    spots = [line[3] for line in sorted(lines(together.plan()), key=lambda line: (line[0], line[1], line[2]))]
    assert spots[::2] == spots[1::2]
    apart = Riverside(rods=2, company=Let.Company.APART, rods_at_once=2)
    spots = [line[3] for line in sorted(lines(apart.plan()), key=lambda line: (line[0], line[1], line[2]))]
    assert all(a != b for a, b in zip(spots[::2], spots[1::2], strict=True))


def test_a_guest_who_needs_a_ghillie_is_refused_when_none_is_free():
    river = Riverside(rods=1)
    river.guests[0].needs_ghillie = True
    river.guests[0].save()
    with pytest.raises(Exception, match="0 ghillies"):
        river.plan()
    river.beat.ghillies = 1
    river.beat.save()
    assert len(lines(river.plan())) == 8


def test_two_guests_who_share_a_rod_go_where_both_may_wade():
    river = Riverside(rods=1)
    weak = river.guests[0].__class__.objects.create(fishery=river.beat.fishery, name="Weak Wader", wading_grade=0)
    Let.objects.get().rod_days.update(sharer=weak)
    rota = river.plan()
    assert {line[3] for line in lines(rota)} == {"head", "neck"}
    assert set(rota.turns.values_list("sharer", flat=True)) == {weak.pk}
    assert rota.certificate["worth_by_rod"][0]["rod"] == "Guest A and Weak Wader"


def test_best_water_and_all_the_water_differ_as_they_say():
    river = Riverside(rods=1)
    every = {line[3] for line in lines(river.plan())}
    assert every == set(river.pools)
    river.beat.fishery.rota_policy = "best-water"
    river.beat.fishery.save()
    best = river.plan()
    assert best.certificate["policy"] == "best-water"
    assert (
        best.certificate["worth_by_rod"][0]["worth_per_turn"]
        >= river.plan().certificate["worth_by_rod"][0]["worth_per_turn"]
    )


def test_without_being_told_what_has_been_fished_by_now_stays(river):
    rota = river.plan()
    river.pools["head"].closures.create(from_on=DAYS[0], to_on=DAYS[3], reason="flood")
    draft = mended(rota, river, since=None)
    earlier = {line for line in lines(rota) if line[0] < DAYS[2]}
    assert earlier <= lines(draft)
    assert any(line[3] == "head" for line in earlier)
    assert all(line[3] != "head" for line in lines(draft) - earlier)
    assert draft.wishes["since"] == ["2026-05-06", "morning"]


def test_once_a_part_has_ended_its_turns_are_fished(river):
    rota = river.plan()
    river.pools["head"].closures.create(from_on=DAYS[0], to_on=DAYS[3], reason="flood")
    draft = mended(rota, river, since=None, now=NOON + dt.timedelta(hours=1, minutes=1))
    assert draft.wishes["since"] == ["2026-05-06", "afternoon"]
    this_morning = {line for line in lines(rota) if line[:2] == (DAYS[2], "morning")}
    assert this_morning <= lines(draft)


def test_a_week_that_is_over_is_not_mended_nor_changed_over(river):
    rota, later = river.plan(), NOON + dt.timedelta(days=7)
    with pytest.raises(NotThere, match="Every turn of this rota has been fished"):
        mended(rota, river, since=None, now=later)
    first, other = pair(rota)
    with pytest.raises(NotThere, match="has been fished already"):
        swap(rota, turn=first, other=other, by=river.ghillie, now=later)


def test_a_week_planned_anew_keeps_what_its_published_rota_says_was_fished(river):
    rota = publish_rota(river.plan(), by=river.ghillie, now=EARLY)
    river.pools["head"].closures.create(from_on=DAYS[0], to_on=DAYS[3], reason="flood")
    anew = river.plan()
    earlier = {line for line in lines(rota) if line[0] < DAYS[2]}
    assert earlier <= lines(anew)
    assert all(line[3] != "head" for line in lines(anew) - earlier)


def test_what_was_pinned_and_barred_stays_when_the_rota_is_mended_again(river):
    rota = river.plan(now=EARLY)
    turn, other = rota.turns.exclude(pool=river.pools["croy"]).order_by("day", "-part__slug", "rod")[:2]
    first = mended(rota, river, pins=[(turn, river.pools["croy"])], bars=[other])
    river.pools["head"].closures.create(from_on=DAYS[0], to_on=DAYS[3], reason="flood")
    again = mended(first, river)
    assert (turn.day, turn.part.slug, turn.rod, "croy") in lines(again)
    assert (other.day, other.part.slug, other.rod, other.pool.slug) not in lines(again)
    assert again.wishes["pinned"] == first.wishes["pinned"]
    river.pools["croy"].closures.create(from_on=DAYS[0], to_on=DAYS[3], reason="flood")
    last = mended(again, river)
    assert last.wishes["pinned"] == []  # the river has the last word
    assert last.wishes["barred"] == first.wishes["barred"]


def test_a_pool_holds_no_more_rods_than_get_down_it_in_a_part():
    """400 m in steps of 2 m at 75 s a cast is over four hours: one rod's water, whatever is allowed."""
    river = Riverside(rods=2, rods_at_once=2, length_m=400)
    rota = river.plan()
    spots = [(line[0], line[1], line[3]) for line in lines(rota)]
    assert len(spots) == len(set(spots))
    assert (
        "Head holds 1 and not 2 in the morning: more would not get down it in time, at an even pace."
        in rota.certificate["notes"]
    )


def tides(beat):
    """High water of 4.4 m at 13:00 on the Monday, and a table for the day on either side."""
    noon = dt.datetime(2026, 5, 3, 11, 30, tzinfo=dt.UTC)
    for number in range(12):
        height, kind = ((4.4, "high"), (0.8, "low"))[number % 2]
        at = noon + number * dt.timedelta(hours=6, minutes=15)
        TideWater.objects.create(beat=beat, at=at, height_m=height, kind=kind)


def test_nobody_is_sent_where_the_tide_will_cut_them_off(river):
    river.beat.tidal = True
    river.beat.save()
    river.pools["croy"].cut_off_above_m = 3.5
    river.pools["croy"].save()
    tides(river.beat)
    rota = river.plan()
    assert not any(line[3] == "croy" for line in lines(rota) if line[0] == DAYS[0])
    (reasons,) = rota.certificate["closed_pools"].values()
    assert [reason[:24] for reason in reasons] == ["cut off by the tide from"] * len(reasons)
    assert "The tide of Thursday 7 is not known: look up high water." in rota.certificate["notes"]


def test_without_a_tide_table_the_ghillie_is_told_to_look_high_water_up(river):
    river.beat.tidal = True
    river.beat.save()
    river.pools["croy"].cut_off_above_m = 3.5
    river.pools["croy"].save()
    told = "No tide table covers this week: look up high water before anybody goes to Croy."
    assert told in river.plan().certificate["notes"]
