"""Coordinates that cannot be: in the fishery file, in the arithmetic, and in what was stored before."""

import datetime as dt
from importlib import resources
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from beats import places
from beats.close_times import table
from beats.conditions import conditions
from beats.fishery_faults import FaultyFishery, parse
from beats.queries import light_on
from beats.water.today import MISPLACED
from tests.factories import NOON, BeatFactory, FisheryFactory, PoolFactory

EXAMPLE = resources.files("beats").joinpath("data/durrisk.toml").read_text(encoding="utf-8")
LATITUDE, LONGITUDE = "latitude = 57.61\n", "longitude = -5.35\n"

# Mouths and towns, latitude and longitude to a few kilometres, from memory of the Ordnance Survey's maps.
KNOWN = {
    "1": (54.98, -3.26), "4": (55.47, -4.63), "5": (57.48, -4.46), "6": (54.86, -4.43), "7": (58.01, -3.85),
    "8b": (58.60, -3.52), "8c": (58.44, -3.09), "9": (57.42, -5.44), "10": (55.95, -4.57), "11b": (57.57, -4.42),
    "12": (54.96, -4.48), "14a": (57.14, -2.08), "15": (54.84, -4.05), "16": (57.66, -2.52), "17": (57.18, -2.08),
    "18": (55.44, -4.64), "20b": (56.70, -2.44), "21": (57.64, -3.61), "24": (56.12, -3.94), "27": (58.12, -3.65),
    "31": (57.87, -4.34), "34": (56.82, -5.10), "35": (57.72, -3.28), "39": (57.48, -4.23), "40": (55.07, -3.61),
    "42c": (58.53, -4.23), "43": (58.98, -2.96), "44": (60.15, -1.15), "45": (57.41, -6.19), "46": (57.67, -3.09),
    "47": (55.10, -5.00), "48a": (56.40, -3.43), "48b": (56.34, -3.41), "49": (57.51, -1.79), "50": (54.87, -3.81),
    "51": (57.61, -5.35), "52b": (58.21, -6.39), "52g": (57.29, -7.37), "53": (57.31, -1.99),
}  # fmt: skip


def faults_of(text):
    with pytest.raises(FaultyFishery) as caught:
        parse(text)
    return [str(fault) for fault in caught.value.faults]


def with_point(latitude=None, longitude=None):
    text = EXAMPLE
    assert text.count(LATITUDE) == text.count(LONGITUDE) == 1
    if latitude is not None:
        text = text.replace(LATITUDE, f"latitude = {latitude}\n")
    return text if longitude is None else text.replace(LONGITUDE, f"longitude = {longitude}\n")


@pytest.mark.parametrize(
    ("point", "says"),
    [
        ({"longitude": -53.5}, "longitude: -53.5 cannot be: 57.61 N, 53.5 W is not in district 51"),
        ({"longitude": -53.5}, "Did you mean -5.35?"),
        ({"longitude": 5.35}, "Did you mean -5.35?"),
        ({"longitude": -535}, "write degrees east"),
        ({"latitude": 5.761}, "latitude: 5.761 cannot be"),
        ({"latitude": -57.61}, "Did you mean 57.61?"),
        ({"latitude": -5.35, "longitude": 57.61}, "Did you swap latitude and longitude? Write latitude = 57.61"),
        ({"latitude": 57.6, "longitude": -2.1}, "is not in district 51, which lies within 57.2 to 58.25 N"),
        ({"latitude": 43.3, "longitude": -8.4}, "and not in Scotland"),
        ({"latitude": 0, "longitude": 0}, "Correct the point"),
    ],
)
def test_a_point_outside_its_district_is_refused_with_its_line_and_what_to_write(point, says):
    (fault,) = faults_of(with_point(**point))
    assert says in fault
    line = int(fault.split("line ")[1].split(",")[0])
    assert with_point(**point).splitlines()[line - 1].startswith(("latitude", "longitude"))


def test_the_command_loads_nothing_and_says_so(tmp_path, db):
    file = tmp_path / "water.toml"
    file.write_text(with_point(longitude=-53.5), encoding="utf-8")
    with pytest.raises(CommandError, match=r"Did you mean -5\.35\?"):
        call_command("load_fishery", str(file))


@pytest.mark.parametrize("zone", ["America/St_Johns", "Asia/Tokyo", "Europe/Moscow"])
def test_a_clock_that_is_not_the_suns_is_refused(zone):
    (fault,) = faults_of(EXAMPLE.replace('time_zone = "Europe/London"', f'time_zone = "{zone}"'))
    assert f"time_zone: {zone} does not fit longitude -5.35" in fault
    assert "such as Europe/London" in fault


@pytest.mark.parametrize(
    ("written", "meant", "says"),
    [
        ("latitude = 57.629", "latitude = 5.7629", "Did you mean 57.629?"),
        ("latitude = 57.629", "latitude = 58.629", "km from the fishery's own point; at most 40 km"),
    ],
)
def test_a_pool_far_from_its_fishery_is_refused(written, meant, says):
    assert EXAMPLE.count(written) == 1
    (fault,) = faults_of(EXAMPLE.replace(written, meant))
    assert "beats 1, pools 1, latitude" in fault
    assert says in fault


def test_the_example_and_every_known_place_lie_in_their_districts():
    parse(EXAMPLE)
    for entry, point in KNOWN.items():
        assert places.misplaced(*point, entry=entry) is None, entry


def test_every_district_of_the_schedule_has_a_rectangle_in_scotland():
    for entry in table():
        box = places.box_of(entry)
        assert box is not places.SCOTLAND
        assert places.SCOTLAND.holds(box.south, box.west)
        assert places.SCOTLAND.holds(box.north, box.east)
        assert 0.2 < box.north - box.south < 2.5
        assert 0.4 < box.east - box.west < 3


def test_no_point_of_a_district_is_still_within_it_when_swapped_or_ten_times_as_far():
    for entry in table():
        latitude, longitude = places.box_of(entry).centre
        for wrong in ((longitude, latitude), (latitude, longitude * 10), (latitude, -longitude)):
            assert places.misplaced(*wrong, entry=entry) is not None
        swapped = places.misplaced(longitude, latitude, entry=entry)
        assert "Did you swap" in swapped.sentence


def test_distance():
    """One degree of latitude is 111.2 km on a sphere of 6371 km (from memory)."""
    assert places.distance_km((57.0, -5.0), (58.0, -5.0)) == pytest.approx(111.2, abs=0.1)
    assert places.distance_km((57.0, -5.0), (57.0, -6.0)) == pytest.approx(60.6, abs=0.2)


@pytest.mark.django_db
def test_a_stored_fishery_in_the_wrong_place_is_warned_of_by_check_and_by_the_conditions():
    good = FisheryFactory(slug="good-water")
    PoolFactory(beat=BeatFactory(fishery=good), slug="far", latitude=50.0, longitude=-5.0)
    wrong = FisheryFactory(slug="wrong-water", longitude=-53.5)
    out = StringIO()
    call_command("check", database=["default"], stdout=out, stderr=out)
    assert "wrong-water: -53.5 cannot be" in out.getvalue()
    assert "good-water, pool far" in out.getvalue()
    assert connection.alias == "default"
    told = [caution.sentence for caution in conditions(BeatFactory(fishery=wrong), day=None, now=NOON).cautions]
    assert MISPLACED in told
    own = light_on(good, NOON.date()).last_light_at
    assert abs(light_on(wrong, NOON.date()).last_light_at - own) < dt.timedelta(minutes=5)
