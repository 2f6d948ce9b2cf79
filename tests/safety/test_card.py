"""The emergency card, and the grid reference on it.

Ordnance Survey, "A guide to coordinate systems in Great Britain", annexe C: the worked example of a
Transverse Mercator projection (its OSGB36 position, eastings and northings; from memory of the table).
"""

import dataclasses
import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from safety.card import UNKNOWN, Facts, lines, text
from safety.grid_reference import eastings, grid_reference, letters, to_osgb36
from safety.services.writing import long_ago

FIVE = dt.datetime(2026, 5, 6, 16, 0, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)
FACTS = Facts(
    name="Una Teal", phone="+447700900111", river="Testwater", fishery="Water", beat="Upper", pool="Long Alder",
    bank="left bank, facing downstream", access="hut track", meeting_point="the hut", latitude=57.62,
    longitude=-5.331, grid="NH 0116 6377", tidal=False, party=1, alone=True,
    what_happened="Has not come back by the time given and does not answer.", plan="Down to the tail",
    vehicle="grey van", wearing="green coat, life jacket, staff", meeting="", contact="Rory Teal, +441632960222",
    checked_in_at=FIVE - 4 * HOUR, heard_at=FIVE - 2 * HOUR, due_back_at=FIVE, level_then="0.60 m",
    level_now="0.95 m", light_then="light, dark from 22:40", light_now="dark since 22:40",
    zone=ZoneInfo("Europe/London"),
)  # fmt: skip
ASKED_FOR = [
    "Ring", "No voice", "Who", "Their telephone", "How many", "Where", "Grid reference", "Latitude, longitude",
    "Way in", "What happened", "Last seen or heard", "On the water since",
    "Due off the water", "Plan", "Level at check-in",
    "Level now", "Light at check-in", "Light now", "Vehicle", "Wearing, life jacket, wading staff",
    "Their emergency contact", "Who expects them, and when", "Written",
]  # fmt: skip


def card(**facts):
    return dict(lines(dataclasses.replace(FACTS, **facts), now=FIVE + HOUR))


def test_it_has_every_field_the_services_ask_for_and_leaves_none_out():
    bare = card(name="", phone="", access="", meeting_point="", grid=None, latitude=None, longitude=None, plan="",
                vehicle="", wearing="", meeting="", contact="")  # fmt: skip
    assert list(card()) == list(bare) == ASKED_FOR
    unknown = [field for field, told in bare.items() if told == UNKNOWN]
    assert unknown == [
        "Who", "Their telephone", "Grid reference", "Way in", "Plan", "Vehicle",
        "Wearing, life jacket, wading staff", "Their emergency contact", "Who expects them, and when",
    ]  # fmt: skip


def test_it_says_how_long_ago_and_in_local_time():
    assert card()["Last seen or heard"] == "15:00 on Wednesday 6 May (3 h ago)"
    assert card()["Due off the water"] == "17:00 on Wednesday 6 May (60 min ago)"
    assert card()["How many"] == "1, alone"
    assert card(alone=False, party=3)["How many"] == "3 in the party"


def test_on_tidal_water_the_coastguard_is_asked_for():
    assert card()["Ring"] == "999 or 112 and ask for the police."
    assert card(tidal=True)["Ring"] == "999 or 112 and ask for the Coastguard (the tide reaches this beat)."


def test_it_has_rung_nobody_and_never_says_safe():
    printed = text(FACTS, now=FIVE + HOUR)
    assert printed.endswith("It has rung nobody. Do not go into the water after them.")
    assert "safe" not in printed.lower()
    assert "text 999" in printed


def test_the_worked_example_of_the_guide():
    latitude, longitude = 52 + 39 / 60 + 27.2531 / 3600, 1 + 43 / 60 + 4.5177 / 3600
    assert eastings(latitude, longitude) == pytest.approx((651409.903, 313177.270), abs=0.001)
    assert letters(651409.903, 313177.270) == "TG 5140 1317"


def test_from_the_phone_s_datum_to_the_map_s_is_a_hundred_metres_in_britain():
    """The Helmert shift moves Greenwich's WGS84 meridian; the two datums differ by about 100 m there."""
    latitude, longitude = to_osgb36(51.4778, 0.0)
    assert (latitude, longitude) == pytest.approx((51.47729, 0.00161), abs=2e-5)


@pytest.mark.parametrize(
    ("east", "north", "said"), [(0, 0, "SV"), (300_000, 600_000, "NT"), (450_000, 1_200_000, "HP")]
)
def test_the_letters_of_the_squares(east, north, said):
    assert letters(east, north) == f"{said} {0 if east != 450_000 else 5000:04} 0000"


def test_outside_great_britain_there_is_no_grid_reference():
    assert [grid_reference(*place) for place in ((53.3, -9.0), (48.0, 1.0), (62.0, -2.0))] == [None] * 3


@pytest.mark.parametrize(
    ("minutes", "said"), [(0, "0 min"), (119, "119 min"), (120, "2 h"), (47 * 60, "47 h"), (48 * 60, "2 days")]
)
def test_the_age_of_a_level_is_read_out_in_the_unit_it_needs(minutes, said):
    assert long_ago(minutes) == said
