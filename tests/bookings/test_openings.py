"""What can be had: one query's answer beside a plain walk through the days, on a book filled at random."""

import datetime as dt
import random

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from beats.models import FisheryRule
from bookings.availability import Standing, days_between
from bookings.models import RodDay
from bookings.openings import Opening, openings, spans
from bookings.services.holds import release_lapsed
from tests.bookings.book import MONDAY, SATURDAY, let
from tests.factories import NOON, BeatClosureFactory, BeatFactory, FisheryFactory, LetFactory, client_of, keeper

pytestmark = pytest.mark.django_db

APRIL = {"first_on": dt.date(2026, 4, 1), "last_on": dt.date(2026, 4, 30)}


@pytest.fixture
def fishery():
    return FisheryFactory()


def filled(fishery, seed):
    """Three beats with rods taken here and there, a closure and a house rule; what is taken is returned."""
    chance = random.Random(seed)
    beats = [BeatFactory(fishery=fishery, rods=rods) for rods in (3, 5, 8)]
    days = days_between(dt.date(2026, 3, 28), dt.date(2026, 5, 3))
    rows = []
    for beat in beats:
        made = LetFactory(beat=beat)
        rows += [
            RodDay(beat=beat, day=day, rod=rod, let=made)
            for day in days
            for rod in range(1, beat.rods + 1)
            if chance.random() < 0.3
        ]
    RodDay.objects.bulk_create(rows)
    BeatClosureFactory(beat=beats[1], from_on=dt.date(2026, 4, 14), to_on=dt.date(2026, 4, 15))
    FisheryRule.objects.create(fishery=fishery, status="closed", start="04-21", end="04-21", reason="Day of rest.")
    return beats


def walked(beats, rods, together):
    """The runs a person would find with a finger on the calendar."""
    found = []
    for beat in beats:
        run = []
        for day in [*days_between(APRIL["first_on"], APRIL["last_on"]), None]:
            left = beat.rods - RodDay.objects.filter(beat=beat, day=day).count() if day else -1
            shut = day is None or day.weekday() == 6 or day == dt.date(2026, 4, 21)
            shut = shut or beat.closures.filter(from_on__lte=day, to_on__gte=day).exists()
            if not shut and left >= rods:
                run.append((day, left))
                continue
            if len(run) >= together:
                found.append(Opening(beat.pk, run[0][0], run[-1][0], len(run), min(left for _, left in run)))
            run = []
    order = {beat.pk: beat.order for beat in beats}
    return sorted(found, key=lambda opening: (opening.first_on, order[opening.beat_id]))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("rods", "together"), [(3, 4), (1, 1), (2, 3), (8, 1)])
def test_the_query_finds_what_a_finger_on_the_calendar_finds(fishery, seed, rods, together):
    beats = filled(fishery, seed)
    LetFactory()  # another water
    expected = walked(beats, rods, together)
    found = openings(fishery, **APRIL, rods=rods, days=together, now=NOON, limit=200)
    assert found == expected
    assert openings(fishery, **APRIL, rods=rods, days=together, now=NOON) == expected[:5]
    alone = [opening for opening in expected if opening.beat_id == beats[2].pk]
    assert openings(fishery, **APRIL, rods=rods, days=together, now=NOON, beat=beats[2], limit=200) == alone


def test_the_first_openings_are_one_query_beside_the_law(fishery):
    filled(fishery, 1)
    with CaptureQueriesContext(connection) as asked:
        openings(fishery, **APRIL, rods=3, days=4, now=NOON)
    tables = ["bookings_rodday" in query["sql"] for query in asked.captured_queries]
    assert (len(tables), sum(tables)) == (3, 1)


def test_sundays_part_one_week_from_the_next(fishery):
    beat = BeatFactory(fishery=fishery, rods=3)
    found = openings(fishery, **APRIL, rods=3, days=4, now=NOON)
    assert [(each.beat_id, each.first_on.day, each.last_on.day) for each in found] == [
        (beat.pk, 1, 4), (beat.pk, 6, 11), (beat.pk, 13, 18), (beat.pk, 20, 25), (beat.pk, 27, 30),
    ]  # fmt: skip


def test_a_hold_that_ran_out_is_free_before_and_after_the_sweep(fishery):
    beat = BeatFactory(fishery=fishery, rods=3)
    let(beat, hold=True)
    span = {"first_on": MONDAY, "last_on": SATURDAY}
    late = NOON + dt.timedelta(days=2)
    counts = [[day.free for day in spans(fishery, **span, now=at)[0].days] for at in (NOON, late)]
    assert counts == [[1] * 6, [3] * 6]
    assert len(openings(fishery, **span, rods=3, days=6, now=late)) == 1
    release_lapsed(late)
    assert [day.free for day in spans(fishery, **span, now=NOON)[0].days] == [3] * 6


def test_each_day_says_in_words_how_it_stands(fishery):
    beat = BeatFactory(fishery=fishery, rods=3, name="Upper")
    let(beat, first_on=MONDAY, last_on=MONDAY, rods=3)
    let(beat, first_on=dt.date(2026, 5, 12), last_on=dt.date(2026, 5, 12), rods=2)
    thursday = dt.date(2026, 5, 14)
    BeatClosureFactory(beat=beat, from_on=thursday, to_on=thursday, reason="the bridge is out")
    (span,) = spans(fishery, first_on=dt.date(2026, 5, 10), last_on=dt.date(2026, 5, 14), now=NOON, wanted=2)
    assert [(each.standing, each.words, each.reason) for each in span.days] == [
        (Standing.CLOSED, "closed", "Nobody may fish for salmon on a Sunday."),
        (Standing.FULL, "full", ""),
        (Standing.SHORT, "1 free", ""),
        (Standing.FREE, "3 free", ""),
        (Standing.CLOSED, "closed", "the bridge is out"),
    ]


@pytest.fixture
def asking(fishery):
    client = client_of(keeper(fishery, "guest"))
    return lambda path: client.get(f"/api/v1/fisheries/{fishery.slug}/{path}")


def test_three_rods_for_four_days_in_april_over_the_wire(fishery, asking):
    beat = BeatFactory(fishery=fishery, rods=3)
    told = asking("openings/?first_on=2026-04-01&last_on=2026-04-30&rods=3&days=4").json()
    assert (len(told), told[0]) == (
        5, {"beat": beat.pk, "first_on": "2026-04-01", "last_on": "2026-04-04", "days": 4, "rods_free": 3},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("openings/?first_on=2026-04-01&last_on=2026-04-30&rods=-3", "rods"),
        ("openings/?first_on=2026-02-29&last_on=2026-04-30", "first_on"),
        ("openings/?first_on=2026-04-30&last_on=2026-04-01", "last_on"),
        ("openings/?first_on=2026-04-01&last_on=2027-04-30", "last_on"),
        ("openings/?first_on=2026-04-01&last_on=2026-04-30&days=0", "days"),
        ("availability/?first_on=2026-04-01&last_on=2026-07-30", "last_on"),
        ("month/?month=2026-13", "month"),
        ("month/?month=2026-05%F0%9F%8E%A3", "month"),
        ("month/", "month"),
    ],
)
def test_what_cannot_be_searched_is_named_by_its_field(asking, path, field):
    response = asking(path)
    assert (response.status_code, list(response.json()["errors"])) == (400, [field])


def test_a_beat_of_another_water_is_not_there(asking):
    assert asking(f"month/?month=2026-05&beat={BeatFactory().pk}").status_code == 404


def test_the_month_is_a_table_that_says_every_day_in_words(fishery, asking):
    beat = BeatFactory(fishery=fishery, rods=3, name="Upper <b>")
    let(beat, first_on=MONDAY, last_on=MONDAY, rods=3)
    page = asking("month/?month=2026-05&format=html").content.decode()
    assert "<caption>Upper &lt;b&gt;, 3 rods</caption>" in page
    assert page.count('scope="col"') == 7
    assert '<td class="full"><b>11</b><span>full</span></td>' in page
    assert (page.count("<span>3 free</span>"), page.count("<span>closed</span>")) == (25, 5)
    assert '<p class="quiet">Closed 3, 10, 17, 24, 31: Nobody may fish for salmon on a Sunday.</p>' in page
    assert (page.count("<script"), page.count("http")) == (0, 0)


def test_the_month_as_json_has_every_day(fishery, asking):
    BeatFactory(fishery=fishery, rods=3)
    (span,) = asking("month/?month=2028-02").json()
    assert ([day["day"] for day in span["days"]][-1], len(span["days"])) == ("2028-02-29", 29)
