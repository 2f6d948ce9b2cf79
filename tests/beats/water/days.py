"""A beat's day as facts for tests: noon of Wednesday 6 May 2026 in Britain, all of it known. Invented."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

from beats.close_times import close_time
from beats.light import light
from beats.season import Grade, ruling
from beats.water.advice import Word
from beats.water.casting import Side
from beats.water.facts import BeatFacts, Facts, GaugeFacts, Noted, PoolFacts
from beats.water.fish_care import Temperature
from beats.water.lies import Feature
from beats.water.practice import Clarity
from beats.water.section import Wader
from beats.water.tide_table import Kind, TideTable, Water
from beats.water.trend import Reading
from beats.water.wading import Thresholds

NOON = dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC)
DAY = dt.date(2026, 5, 6)
ZONE = ZoneInfo("Europe/London")
MINUTE = dt.timedelta(minutes=1)
QUARTER = 15 * MINUTE
HALF_TIDE = dt.timedelta(hours=6)
GRADES = [(dt.date(2026, 4, 1), Grade.GOOD)]

POOL = PoolFacts(
    id=1,
    name="Heron Stone",
    order=1,
    bank=Side.LEFT,
    flow_bearing_deg=240,
    width_m=22,
    depth_m=0.5,
    velocity_mps=0.5,
    wading_grade=Wader.EASY,
    reference_level_m=0.6,
    features=(Feature.STONES,),
    words={"fly": Word("a small double", "Callum Baird")},
    level_min_m=0.3,
    level_max_m=0.9,
    cut_off_above_m=3.5,
)
BEAT = BeatFacts(id=7, zone=ZONE, tidal=True, thresholds=Thresholds(rise_m_per_h=0.2))
SEEN = Noted(NOON - 20 * MINUTE, "Callum Baird", 240, 6.0, thunder=False, clarity=Clarity.CLEAR, water_c=12.0)


def levels(*metres, until=NOON):
    """One a quarter of an hour, the last at `until`."""
    count = len(metres)
    return tuple(Reading(until - (count - 1 - n) * QUARTER, level_m) for n, level_m in enumerate(metres))


def tides(*, first=NOON - 4 * HALF_TIDE, count=12):
    """Low 1 m and high 4 m by turns, six hours apart; noon is a low water."""
    kinds = [(Kind.LOW, 1.0), (Kind.HIGH, 4.0)]
    return TideTable(
        tuple(
            Water(first + n * HALF_TIDE, height_m, kind) for n in range(count) for kind, height_m in [kinds[n % 2]]
        )
    )


def facts(*, day=DAY, now=NOON, pool=None, beat=None, **told):
    """Everything known; `pool` and `beat` change what their owner wrote."""
    given = {
        "law": ruling(close_time("51"), day, grades=GRADES),
        "light": light(day, latitude=57.61, longitude=-5.35, zone=ZONE),
        "gauge": GaugeFacts("Bridge", 0.3, 1.4),
        "readings": levels(*[0.6] * 9),
        "temperatures": (Temperature(NOON - QUARTER, 11.0),),
        "noted": (SEEN,),
        "tides": tides(),
        "pools": (replace(POOL, **(pool or {})),),
    }
    return Facts(beat=replace(BEAT, **(beat or {})), day=day, now=now, **given | told)
