"""An owner's fishery file: what it may say, and reading and writing it.

Every field carries in `description` what to write, with units and an example: a fault quotes it.
`parse` answers with the whole file or with every fault in it; `dump` writes what `parse` reads.
"""

import datetime as dt
import tomllib
from collections.abc import Mapping
from typing import Annotated, Any, Literal
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import tomlkit
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from beats.close_times import UnknownDistrict, close_time
from beats.fishery_watch import WatchTable
from beats.phones import e164
from beats.season import Grade, MonthDay
from beats.water.tide_table import HEIGHT_M


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise ValueError("no such time zone") from None
    return name


def _district(entry: str) -> str:
    try:
        close_time(entry)
    except UnknownDistrict as refusal:
        raise ValueError(refusal.sentence) from None
    return entry


def _https(url: str) -> str:
    parts = urlsplit(url)
    if parts.scheme != "https" or not parts.hostname or "@" in parts.netloc:
        raise ValueError("no https address")
    return url


def _month_day(text: str) -> str:
    return str(MonthDay.parse(text))


def _field(description: str, default: Any = ..., **limits: Any) -> Any:
    return Field(default, description=description, allow_inf_nan=limits.pop("allow_inf_nan", None), **limits)


def _metres(description: str, low: float, high: float, default: Any = ...) -> Any:
    return _field(description, default, ge=low, le=high, allow_inf_nan=False)


Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=50)]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=120)]
Line = Annotated[str, StringConstraints(strip_whitespace=True, max_length=200)]
Phone = Annotated[str, AfterValidator(e164)]
SLUG_HELP = "a short name for good, in small letters, digits and hyphens, such as long-alder; never change it"


class Table(BaseModel):
    """A table of the file: unknown keys are faults, types are exact."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class FisheryTable(Table):
    slug: Slug = _field(SLUG_HELP)
    name: Name = _field('the fishery\'s name, such as "Durrisk Water"')
    river: Name = _field("the river's name")
    time_zone: Annotated[str, AfterValidator(_zone)] = _field('an IANA time zone, such as "Europe/London"')
    district: Annotated[str, AfterValidator(_district)] = _field(
        'the entry number of the salmon fishery district in SSI 2014/327, in quotes, such as "46" or "48a"'
    )
    latitude: float = _metres("degrees north, -90 to 90, such as 57.61", -90, 90)
    longitude: float = _metres("degrees east (west is negative), -180 to 180, such as -5.35", -180, 180)
    phone: Phone | None = _field("the fishery's telephone with country code, such as +44 1632 960100", None)
    rota_policy: Literal["all-the-water", "best-water"] = _field(
        "all-the-water (every rod sees every pool before any twice) or best-water (fair shares of the best first)",
        "all-the-water",
    )
    second_hand_percent: int = _field("percent off a pool fished already that day, 0 to 90", 30, ge=0, le=90)
    second_visit_percent: int = _field("percent off a rod's second visit to a pool, 0 to 90", 20, ge=0, le=90)
    later_visit_percent: int = _field(
        "percent off every later visit, 0 to 90, not less than the second", 40, ge=0, le=90
    )
    drought: bool = _field("true while the river is in drought, else false: then drought_stop_c holds", False)
    care_c: float = _metres("degrees C from which a released fish needs extra care, such as 18", -1, 40, 18.0)
    stop_c: float = _metres("degrees C from which to stop fishing for salmon, such as 20", -1, 40, 20.0)
    drought_stop_c: float = _metres("degrees C from which to stop in a drought, such as 18", -1, 40, 18.0)


class GradeTable(Table):
    from_on: dt.date = _field("the first day it holds, without quotes, such as 2026-04-01")
    grade: Literal["good", "moderate", "poor"] = _field(f"one of {', '.join(Grade)}")


class RuleTable(Table):
    status: Literal["closed", "release_only"] = _field(
        "closed or release_only: a house rule may be stricter than the law, never looser"
    )
    start: Annotated[str, AfterValidator(_month_day)] = _field(
        'the first day of each year, MM-DD, such as "10-01"'
    )
    end: Annotated[str, AfterValidator(_month_day)] = _field('the last day of each year, MM-DD, such as "10-31"')
    reason: Annotated[str, StringConstraints(min_length=3, max_length=200)] = _field(
        "why, in a sentence for guests"
    )


class PartTable(Table):
    slug: Slug = _field(SLUG_HELP)
    name: Annotated[str, StringConstraints(min_length=1, max_length=60)] = _field('such as "morning"')
    starts: dt.time = _field("local time without quotes, with seconds, such as 09:00:00")
    ends: dt.time = _field("local time without quotes, with seconds, such as 13:00:00")


class KeeperTable(Table):
    email: Annotated[
        str, StringConstraints(pattern=r"^[^@\s]+@[^@\s]+\.[^@\s]+$", to_lower=True, max_length=254)
    ] = _field("an e-mail address that is read while rods are on the water")
    name: Name = _field("the person's name")
    phone: Phone = _field("their telephone with country code, such as +44 7700 900101")
    role: Literal["owner", "ghillie"] = _field("owner or ghillie")


class GaugeTable(Table):
    slug: Slug = _field(SLUG_HELP)
    name: Name = _field("where the level is read")
    typical_low_m: float | None = _metres("metres on the gauge, the low end of an ordinary year", -50, 500, None)
    typical_high_m: float | None = _metres("metres on the gauge, the high end of an ordinary year", -50, 500, None)
    stale_after_minutes: int = _field(
        "minutes after which a reading is too old to trust, 5 to 10080", 60, ge=5, le=10080
    )
    jump_m: float = _metres(
        "metres in a quarter of an hour beyond which a reading is not believed, 0.1 to 50, such as 2", 0.1, 50, 2.0
    )
    fall_step_m: float = _metres(
        "metres of fall in a quarter of an hour beyond which a level must be confirmed, 0.01 to 50, such as 0.25",
        0.01, 50, 0.25,
    )  # fmt: skip
    confirm_readings: int = _field(
        "how many further readings confirm a fall or a level after a silence, 1 to 20", 2, ge=1, le=20
    )
    flat_after_hours: int = _field(
        "hours without any change after which the gauge may be stuck, 1 to 720", 24, ge=1, le=720
    )
    feed_kind: Literal["environment-agency", "kiwis", "waterml"] | None = _field(
        "environment-agency, kiwis or waterml: the format in which its level is published", None
    )
    feed_url: (
        Annotated[str, StringConstraints(pattern=r"^[!-~]+$", max_length=500), AfterValidator(_https)] | None
    ) = _field("the https:// address of one series of levels, without spaces, up to 500 letters", None)
    feed_zone: Annotated[str, StringConstraints(max_length=60), AfterValidator(_zone)] | None = _field(
        'an IANA time zone such as "UTC", only if the feed gives times without a zone', None
    )
    feed_unit: Literal["m", "cm", "mm", "ft"] | None = _field(
        "m, cm, mm or ft, only if the feed does not state its unit", None
    )


class FlowTable(Table):
    """A row of a pool's own table, measured at the pool."""

    level_m: float = _metres("gauge metres, such as 0.6", -50, 500)
    depth_m: float = _metres("metres deep at that level, 0 to 30, such as 1.2", 0, 30)
    velocity_mps: float = _metres("metres a second at that level, 0 to 15, such as 0.8", 0, 15)


class WordTable(Table):
    """What a ghillie says about a pool in place of what is reckoned."""

    text: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)] = _field(
        "what to do instead, up to 200 letters"
    )
    by: Name = _field("whose word it is")


FeatureName = Literal["big stones", "croys", "edge of the fast stream", "wide and shallow"]
WhatName = Literal["tip", "carry", "handling", "leader", "tippet", "fly", "colour", "rod", "line"]


class PoolTable(Table):
    slug: Slug = _field(SLUG_HELP)
    name: Name = _field("the pool's name")
    order: int = _field("its place down the beat, 1 at the top", ge=1, le=500)
    bank: Literal["left", "right"] = _field("left or right, facing downstream: the bank it is fished from")
    flow_bearing_deg: float = _metres("compass bearing the water flows towards, 0 to 360, such as 225", 0, 360)
    length_m: float = _metres("metres of fishable water, 1 to 5000, such as 120", 1, 5000)
    width_m: float = _metres("metres across, 1 to 1000, such as 30", 1, 1000)
    depth_m: float = _metres("metres deep where it is fished, above 0 to 30, such as 1.8", 0.01, 30)
    velocity_mps: float = _metres("metres a second at the surface, 0 to 10, such as 0.8", 0, 10)
    reference_level_m: float | None = _metres("gauge metres at which depth and velocity hold", -50, 500, None)
    rods_at_once: int = _field("rods it holds at once, 1 to 20", 1, ge=1, le=20)
    wading_grade: int = _field(
        "0 from the bank, 1 to the knee on a firm bed, 2 to the thigh, 3 deep, fast or rough", ge=0, le=3
    )
    boat: bool = _field("true if it is fished from a boat, else false", False)
    ghillie: bool = _field("true if it is fished only with a ghillie by, else false", False)
    level_min_m: float | None = _metres("gauge metres below which it does not fish", -50, 500, None)
    level_max_m: float | None = _metres("gauge metres above which it does not fish", -50, 500, None)
    step_m: float | None = _metres(
        "metres stepped between casts, 0.1 to 20; leave it out for common practice, 2.0", 0.1, 20, None
    )
    cycle_s: float | None = _metres(
        "seconds for one cast, its swing and the line gathered, 5 to 600; leave it out for common practice, 75",
        5, 600, None,
    )  # fmt: skip
    short_casts: int | None = _field(
        "casts at the neck while the line is lengthened, 0 to 100; leave it out for common practice, 6",
        None, ge=0, le=100,
    )  # fmt: skip
    behind_m: float | None = _metres(
        "metres the next rod keeps behind the one in front, 1 to 1000; leave it out for common practice, 40",
        1, 1000, None,
    )  # fmt: skip
    worth: int = _field("how good it is, 1 to 100, 10 for an ordinary pool", 10, ge=1, le=100)
    worth_by_part: dict[Slug, Annotated[int, Field(ge=1, le=100)]] = _field(
        "its worth in parts of the day that differ, such as { afternoon = 14 }", {}
    )
    latitude: float | None = _metres("degrees north, -90 to 90: where to look for somebody", -90, 90, None)
    longitude: float | None = _metres("degrees east, -180 to 180: where to look for somebody", -180, 180, None)
    access: Line = _field("how to reach it, for whoever comes looking, up to 200 letters", "")
    retired: bool = _field("true when it is kept for its history and no longer fished", False)
    features: list[FeatureName] = _field(
        "what makes a lie here, in quotes: big stones, croys, edge of the fast stream, wide and shallow", []
    )
    depth_per_level: float | None = _metres(
        "metres of depth gained per metre on the gauge, 0.05 to 5; leave it out for 1", 0.05, 5, None
    )
    velocity_exponent: float | None = _metres(
        "the power of the depth its speed goes with, 0 to 2; leave it out for Manning's 2/3", 0, 2, None
    )
    velocity_factor: float | None = _metres(
        "times the speed the rule gives, 0.1 to 5; leave it out for 1", 0.1, 5, None
    )
    wading_depth_m: float | None = _metres(
        "depth where an angler stands at the reference level, above 0 and up to 3; leave it out for depth_m",
        0.01, 3, None,
    )  # fmt: skip
    wading_velocity_mps: float | None = _metres(
        "speed of the water there, 0 to 5; leave it out for velocity_mps", 0, 5, None
    )
    cut_off_above_m: float | None = _metres(
        "metres above the port's datum from which the tide cuts it off, -5 to 20", *HEIGHT_M, None
    )
    tackle_words: dict[WhatName, WordTable] = _field(
        "a ghillie's word on tip, carry, handling, leader, tippet, fly, colour, rod or line, "
        'such as { tip = { text = "floating line", by = "C. Baird" } }',
        {},
    )
    flow_table: list[FlowTable] = _field(
        "depth and speed measured here at two levels or more, such as "
        "[{ level_m = 0.3, depth_m = 1.1, velocity_mps = 0.5 }, ...]; it replaces the rule",
        [],
    )


class BeatTable(Table):
    slug: Slug = _field(SLUG_HELP)
    name: Name = _field("the beat's name")
    order: int = _field("its place down the river, 1 at the top", ge=1, le=500)
    rods: int = _field("rods let on it at most, 1 to 60", ge=1, le=60)
    boats: int = _field("boats on it, 0 to 60", 0, ge=0, le=60)
    ghillies: int = _field("ghillies who can stand by a rod at once, 0 to 60", 1, ge=0, le=60)
    tidal: bool = _field("true if the tide reaches it (then the Coastguard is the one to ask for)", False)
    mobile_signal: Line = _field("where a phone works, in words", "")
    meeting_point: Line = _field("where rods meet the ghillie", "")
    longest_outing_minutes: int = _field(
        "the longest one outing may last, 15 to 1440 minutes", 720, ge=15, le=1440
    )
    grace_minutes: int = _field(
        "minutes after the time due off the water before the alarm, in company, 0 to 120", 15, ge=0, le=120
    )
    lone_grace_minutes: int = _field("the same for a lone angler, 0 to 60; best 0", 0, ge=0, le=60)
    rise_m_per_h: float | None = _metres(
        "metres an hour: rising so fast is time to come off the water, 0.01 to 10; no public body gives a figure",
        0.01,
        10,
        None,
    )
    dark_margin_minutes: int = _field("minutes before last light to be off the water, 0 to 240", 30, ge=0, le=240)
    cold_c: float = _metres("degrees C from which down the water counts as cold, such as 10", -1, 40, 10.0)
    clarity: Literal["clear", "peat-stained", "coloured"] | None = _field(
        "clear, peat-stained or coloured: how its water usually is", None
    )
    tide_lag_days: float = _metres(
        "days from new and full moon to springs at its port, 0 to 4, such as 2", 0, 4, 2.0
    )
    contact_minutes: int = _field(
        "minutes within which a lone angler says that all is well, 0 to 1440; 0 is never asked", 120, ge=0, le=1440
    )
    warn_minutes: int = _field(
        "minutes before the time due off the water to remind the angler, 0 to 240; 0: not", 10, ge=0, le=240
    )
    watch: WatchTable | None = _field(
        "a [beats.watch] table: the ladder of alarms and the recalls; left out, what stands is kept", None
    )
    gauge: Slug | None = _field("the slug of the gauge that speaks for this beat", None)
    pools: Annotated[list[PoolTable], Field(min_length=1)] = _field("at least one [[beats.pools]]")


class FisheryFile(Table):
    """The whole file."""

    fishery: FisheryTable = _field("a [fishery] table")
    grades: list[GradeTable] = _field("[[grades]] tables", [])
    rules: list[RuleTable] = _field("[[rules]] tables", [])
    parts: Annotated[list[PartTable], Field(min_length=1)] = _field("at least one [[parts]] table")
    keepers: Annotated[list[KeeperTable], Field(min_length=1)] = _field("at least one [[keepers]] table")
    gauges: list[GaugeTable] = _field("[[gauges]] tables", [])
    beats: Annotated[list[BeatTable], Field(min_length=1)] = _field("at least one [[beats]] table")


def canonical(file: FisheryFile) -> FisheryFile:
    """The same facts in the one order `dump` writes: down the river, by time, by key."""
    return file.model_copy(
        update={
            "grades": sorted(file.grades, key=lambda grade: grade.from_on),
            "rules": sorted(file.rules, key=lambda rule: (rule.start, rule.end, rule.status, rule.reason)),
            "parts": sorted(file.parts, key=lambda part: part.starts),
            "keepers": sorted(file.keepers, key=lambda keeper: (keeper.role != "owner", keeper.email)),
            "gauges": sorted(file.gauges, key=lambda gauge: gauge.slug),
            "beats": [
                beat.model_copy(update={"pools": sorted(beat.pools, key=lambda pool: pool.order)})
                for beat in sorted(file.beats, key=lambda beat: beat.order)
            ],
        }
    )


def dump(file: FisheryFile) -> str:
    """The file as TOML: the same text for the same facts, read back by `parse` to an equal value."""
    return tomlkit.dumps(_without_none(file.model_dump()))


MOST_DOTS = 2000
"""In a line. To read a key of n parts, a.a.a, takes the standard library time that grows with n squared."""


def read_toml(text: str) -> dict[str, Any]:
    """TOML as plain data; raises tomllib.TOMLDecodeError with its line."""
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MOST_DOTS:
            raise tomllib.TOMLDecodeError(f"More than {MOST_DOTS} dots in one line (at line {number}, column 1)")
    return tomllib.loads(text)


def _without_none(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {
            key: _without_none(item) for key, item in value.items() if item is not None and item not in ([], {})
        }
    if isinstance(value, list):
        return [_without_none(item) for item in value]
    return value
