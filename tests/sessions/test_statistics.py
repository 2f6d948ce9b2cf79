"""The season's statistics from the book, over the wire and as pictures."""

import datetime as dt
from decimal import Decimal
from xml.etree import ElementTree as ET

import pytest

from sessions.statistics.poisson import limits
from tests.factories import (
    BeatFactory,
    CatchFactory,
    GaugeFactory,
    PoolFactory,
    ReadingFactory,
    RodDayFactory,
    client_of,
    guest_with_account,
)

pytestmark = pytest.mark.django_db

MAY_6 = dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC)
PATH = "/api/v1/fisheries/upper-water/statistics/2026/"


@pytest.fixture
def beat():
    gauge = GaugeFactory(fishery__slug="upper-water", fishery__name="Upper $Water$ <&>")
    return BeatFactory(fishery=gauge.fishery, gauge=gauge, rods=9)


@pytest.fixture
def client(owner):
    return client_of(owner)


def season(beat, year, *, fish, rods, **facts):
    at = MAY_6.replace(year=year)
    for rod in range(1, rods + 1):
        RodDayFactory(let__beat=beat, day=at.date(), rod=rod)
    return CatchFactory.create_batch(fish, beat=beat, caught_at=at, **facts)


def test_the_rate_is_of_salmon_over_rod_days_with_its_limits(client, beat):
    season(beat, 2026, fish=6, rods=8)
    CatchFactory(beat=beat, kind="sea_trout")
    CatchFactory(beat=beat, kind="kelt")
    CatchFactory()
    made = client.get(PATH).json()
    low, high = limits(6)
    assert made["overall"] == {
        "fish": 6, "rod_days": 8, "rate": 0.75, "low": low / 8, "high": high / 8,
        "note": "Few fish or few days: read nothing into it.",
    }  # fmt: skip
    assert client.get(PATH, {"species": "sea_trout"}).json()["overall"]["fish"] == 1


def test_the_average_is_of_the_five_seasons_before_and_names_the_missing(client, beat):
    for year, fish in ((2020, 9), (2022, 4), (2024, 8), (2026, 1)):
        season(beat, year, fish=fish, rods=1)
    RodDayFactory(let__beat=beat, day=dt.date(2025, 5, 6))
    assert client.get(PATH).json()["average"] == {
        "years": [2022, 2024, 2025], "missing": [2021, 2023], "mean": 4.0, "lowest": 0, "highest": 8,
    }  # fmt: skip


def test_fish_are_counted_by_all_that_was_noted_of_them(client, beat):
    noted = {"pool": PoolFactory(beat=beat, name="Long Alder"), "level_m": 0.62, "water_c": 9.5, "part": "morning"}
    season(beat, 2026, fish=2, rods=1, **noted, fly="Size 8", fate="kept")
    season(beat, 2026, fish=1, rods=0)
    made = client.get(PATH).json()
    names = ("by_pool", "by_level", "by_warmth", "by_fly", "by_part")
    assert [[(each["name"], each["fish"]) for each in made[name]] for name in names] == [
        [(told, 2), ("not said", 1)]
        for told in ("Long Alder", "0.60 to 0.80 m", "8 to 10 °C", "Size 8", "morning")
    ]
    assert (made["released"]["part"], made["released"]["whole"]) == (1, 3)


def test_weeks_stand_beside_the_five_seasons_before(client, beat):
    season(beat, 2026, fish=2, rods=4)
    season(beat, 2025, fish=3, rods=5)
    season(beat, 2024, fish=1, rods=5)
    (week,) = client.get(PATH).json()["weeks"]
    assert (week["week"], week["season"]["rate"], week["past"]["rate"]) == (19, 0.5, 0.4)


def test_the_best_and_the_last_fish_are_named_by_their_number(client, beat):
    best = CatchFactory(beat=beat, weight_kg=Decimal("9.10"))
    last = CatchFactory(beat=beat, caught_at=MAY_6 + dt.timedelta(days=30), weight_kg=None)
    made = client.get(PATH).json()
    assert (made["best"]["id"], made["best"]["weight_kg"], made["last"]["id"]) == (best.pk, "9.10", last.pk)


def test_a_season_without_a_fish_has_no_best_and_no_rate(client, beat):
    made = client.get(PATH).json()
    assert (made["best"], made["last"], made["overall"]["rate"], made["weeks"]) == (None, None, None, [])


def test_what_is_expected_comes_from_like_weeks_of_past_seasons(client, beat):
    season(beat, 2025, fish=4, rods=5)
    season(beat, 2024, fish=2, rods=5)
    season(beat, 2026, fish=9, rods=9)
    told = client.get(f"{PATH}expected/", {"week": 20}).json()
    assert (told["seasons"], told["fish"], told["rod_days"], told["rate"]) == (2, 6, 10, 0.6)
    assert told["words"].endswith("It is not a promise of fish.")
    assert client.get(f"{PATH}expected/", {"week": 30}).json()["rate"] is None


def test_what_is_expected_at_a_level_comes_from_days_of_that_level(client, beat):
    for year, level in ((2024, 0.5), (2025, 1.5)):
        season(beat, year, fish=year - 2023, rods=5)
        ReadingFactory(gauge=beat.gauge, at=MAY_6.replace(year=year), level_m=level)
    told = client.get(f"{PATH}expected/", {"week": 19, "level_m": 0.55}).json()
    assert (told["fish"], told["rod_days"]) == (1, 5)


def test_a_guest_may_ask_what_is_expected_and_nothing_more(beat):
    guest = client_of(guest_with_account(beat.fishery).user)
    assert [guest.get(f"{PATH}expected/", {"week": 19}).status_code, guest.get(PATH).status_code] == [200, 403]


@pytest.mark.parametrize("asked", [{"week": 0}, {"week": 53}, {}, {"week": 9, "level_m": "nan"}])
def test_a_week_or_level_that_cannot_be_is_refused(client, beat, asked):
    assert client.get(f"{PATH}expected/", asked).status_code == 400


@pytest.mark.parametrize("of", ["weeks", "level", "pools"])
def test_each_picture_is_svg_with_its_words_as_words(client, beat, of):
    season(beat, 2026, fish=2, rods=4, level_m=0.62, pool=PoolFactory(beat=beat, name="$Alder_Pool$"))
    season(beat, 2025, fish=2, rods=4)
    first, again = (client.get(f"{PATH}picture/", {"of": of}) for _ in range(2))
    assert first["Content-Type"] == "image/svg+xml; charset=utf-8"
    assert first.content == again.content
    text = {node.text for node in ET.fromstring(first.content).iter() if node.text and node.text.strip()}
    wanted = {"weeks": "week of the year", "level": "0.60 to 0.80 m", "pools": "$Alder_Pool$"}[of]
    assert {wanted, "Upper $Water$ <&>, 2026: salmon", "What the book shows. Never a promise of fish."} <= text


def test_an_empty_season_has_pictures_too(client, beat):
    got = [client.get(f"{PATH}picture/", {"of": of}).status_code for of in ("weeks", "level", "pools")]
    assert got == [200, 200, 200]


@pytest.mark.parametrize("rows", [1, 40])
def test_the_statistics_ask_eleven_questions_and_their_share_whatever_the_size(
    django_assert_num_queries, client, beat, rows
):
    season(beat, 2026, fish=rows, rods=9)
    with django_assert_num_queries(12):
        assert client.get(PATH).json()["overall"]["fish"] == rows
