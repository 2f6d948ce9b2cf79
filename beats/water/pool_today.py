"""One pool on one day: flow, wading, casting, tackle, lies, and when the tide cuts it off."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from beats.shared import words
from beats.shared.phrases import joined, say
from beats.water import section
from beats.water.advice import Suggestion
from beats.water.casting import casting
from beats.water.facts import Noted, PoolFacts, Who
from beats.water.hydraulics import Flow, Measured, NotKnown, by_rule, by_table
from beats.water.lies import lies
from beats.water.limits import Grade
from beats.water.practice import Clarity
from beats.water.sinking import FASTEST_MPS
from beats.water.tackle import suggest
from beats.water.tide import CutOff, Stretch, Window
from beats.water.tide_table import TideTable
from beats.water.tips import Water, choose_tip
from beats.water.told import CastingToday, CutOffToday, FlowToday, LevelWindow, PoolToday, WadingToday
from beats.water.wading import NO_LEVEL, USABLE, Caution, Setting, Trust, Verdict, verdict
from beats.water.wading_depths import WadingGrade, too_deep

SHALLOWEST_M = 0.05
NO_REFERENCE = say(
    "The level at which this pool was measured is not written down, so its depth today is not known: look at it."
)
PARTLY_KNOWN = say("Of part of this day the table says nothing: take those hours as cut off.")
NO_WIND = say("The wind has not been noted in the last hours: feel it, and keep the fly downwind of you.")
NO_TIDES = say("No tide table is loaded for this beat: take the hours of high water from one of your own.")


@dataclass(frozen=True)
class Day:
    """What all pools of a beat share on a day: the setting by the pool's grade, the table where a tide reaches."""

    day: dt.date
    now: dt.datetime
    start: dt.datetime
    end: dt.datetime
    who: Who
    settings: Mapping[section.Wader, Setting]
    trust: Trust
    level_m: float | None
    assumed_m: float | None
    wind: Noted | None
    thunder: bool
    water_c: float | None
    clarity: Clarity | None
    tidal: bool
    table: TideTable | None
    stretch: Stretch | None


def pool_today(pool: PoolFacts, day: Day) -> PoolToday:
    """Everything about one pool. Cautions come first in what may put somebody in danger."""
    flow = flow_of(pool, day)
    stood_in = flow_where_one_stands(pool, day)
    measured = pool.wading_depth_m is not None
    found = verdict(stood_in, day.trust, day.settings[pool.wading_grade], measured=measured)
    found = _not_reassured(pool, day, found, measured=measured)
    cast, no_cast = _casting(pool, day)
    tackle, no_tackle = _tackle(pool, day, flow)
    return PoolToday(
        id=pool.id,
        name=pool.name,
        order=pool.order,
        bank=pool.bank,
        wading_grade=int(pool.wading_grade),
        boat=pool.boat,
        ghillie=pool.ghillie,
        closed=pool.closed,
        wading=_wading_told(pool, stood_in, found),
        flow=_flow_told(flow),
        window=level_window(pool, day),
        cut_off=_cut_off(pool, day),
        casting=cast,
        casting_why_not=no_cast,
        tackle=tackle,
        tackle_why_not=no_tackle,
        lies=lies(pool.features),
    )


def _not_reassured(pool: PoolFacts, day: Day, found: Verdict, *, measured: bool) -> Verdict:
    """A level no longer known is no reason to go in where the last one believed said "stay out"."""
    if found.grade is not Grade.NOT_KNOWN or day.trust in USABLE or day.assumed_m is None:
        return found
    last = replace(day, trust=Trust.FRESH, level_m=day.assumed_m)
    setting = day.settings[pool.wading_grade]
    before = verdict(flow_where_one_stands(pool, last), Trust.FRESH, setting, measured=measured)
    if before.grade is not Grade.STAY_OUT:
        return found
    caution = Caution(
        say(
            "At the last level believed, {level_m:.2f} m, this pool was one to stay out of. Nothing shows that "
            "the river has fallen.",
            level_m=day.assumed_m,
        )
    )
    return replace(found, grade=Grade.STAY_OUT, told=(caution, *found.told))


def flow_of(pool: PoolFacts, day: Day) -> Flow | NotKnown:
    """Depth and speed at today's level, by the pool's own table or else by rule; never from a level in doubt."""
    if day.trust not in USABLE or day.level_m is None:
        return NotKnown(NO_LEVEL[Trust.UNKNOWN if day.trust in USABLE else day.trust])
    if pool.table:
        return by_table(day.level_m, pool.table)
    if pool.reference_level_m is None:
        return NotKnown(NO_REFERENCE)
    reference = Measured(pool.reference_level_m, pool.depth_m, pool.velocity_mps)
    return by_rule(day.level_m, reference, pool.factors)


def flow_where_one_stands(pool: PoolFacts, day: Day) -> Flow | NotKnown:
    """The same where an angler stands, if that was measured: water is fished deeper than it is waded."""
    if pool.wading_depth_m is None and pool.wading_velocity_mps is None:
        return flow_of(pool, day)
    if day.trust not in USABLE or day.level_m is None or pool.reference_level_m is None:
        return flow_of(replace(pool, table=()), day)  # says why it is not known
    depth = pool.depth_m if pool.wading_depth_m is None else pool.wading_depth_m
    velocity = pool.velocity_mps if pool.wading_velocity_mps is None else pool.wading_velocity_mps
    return by_rule(day.level_m, Measured(pool.reference_level_m, depth, velocity), pool.factors)


def level_window(pool: PoolFacts, day: Day) -> LevelWindow:
    """Whether the level is one at which the pool fishes, as its owner says."""
    low, high = pool.level_min_m, pool.level_max_m
    if day.trust not in USABLE or day.level_m is None:
        if high is not None and day.assumed_m is not None and day.assumed_m > high:
            return LevelWindow("above", low, high, _last_too_high(day.assumed_m, high))
        return LevelWindow(
            "not known", low, high, say("The level is not known, so neither is whether this pool fishes.")
        )
    if low is not None and day.level_m < low:
        return LevelWindow(
            "below",
            low,
            high,
            say(
                "{level_m:.2f} m is below {low:.2f} m: too low for this pool.",
                level_m=day.level_m,
                low=low,
            ),
        )
    if high is not None and day.level_m > high:
        return LevelWindow(
            "above",
            low,
            high,
            say(
                "{level_m:.2f} m is above {high:.2f} m: too high for this pool.",
                level_m=day.level_m,
                high=high,
            ),
        )
    return LevelWindow(
        "within", low, high, say("{level_m:.2f} m is a height this pool fishes at.", level_m=day.level_m)
    )


def _last_too_high(level_m: float, high: float) -> str:
    return say(
        "{level_m:.2f} m, the last level believed, is above {high:.2f} m: too high for this pool until a "
        "fresh reading shows otherwise.",
        level_m=level_m,
        high=high,
    )


def section_of(pool: PoolFacts, day: Day, notes: tuple[str, ...]) -> section.Section | NotKnown:
    """The pool cut across today, or why it cannot be drawn: nothing is drawn from a level in doubt."""
    flow = flow_of(pool, day)
    water = _water(pool, day, flow) if isinstance(flow, Flow) else flow
    if isinstance(water, NotKnown):
        return water
    choice = choose_tip(water)
    return section.Section(
        name=pool.name,
        bank=pool.bank,
        width_m=pool.width_m,
        depth_m=water.depth_m,
        tip=choice.tip.name,
        sinking=choice.sinking,
        holding_m=choice.holding_m,
        wader=min(pool.wading_grade, pool.wading_grade if day.who.grade is None else day.who.grade),
        notes=(*_standing_notes(pool, day), *notes),
    )


def _standing_notes(pool: PoolFacts, day: Day) -> Iterator[str]:
    """Today's depth where one stands against the wading line, since the picture is of the middle of the pool."""
    flow, own = flow_where_one_stands(pool, day), day.who.grade
    if isinstance(flow, NotKnown) or WadingGrade.BANK in (pool.wading_grade, own):
        return
    asked = pool.wading_grade if own is None else own
    measured = pool.wading_depth_m is not None
    found = list(too_deep(flow.depth_m, pool=pool.wading_grade, own=asked, measured=measured))
    if found:
        yield max(found, key=lambda each: -each.limit_m).sentence
    elif measured:
        yield say("Where one stands it is {depth:.2f} m deep today.", depth=flow.depth_m)


def _wading_told(pool: PoolFacts, flow: Flow | NotKnown, found: Verdict) -> WadingToday:
    measured = pool.wading_depth_m is not None or pool.wading_velocity_mps is not None
    where = (
        say("where an angler stands")
        if measured
        else say("the pool where it is fished: nobody measured where one stands")
    )
    told = _flow_told(flow)
    return WadingToday(found.told, found.grade, found.water, where, told.depth_m, told.velocity_mps, found.rulings)


def _flow_told(flow: Flow | NotKnown) -> FlowToday:
    if isinstance(flow, NotKnown):
        return FlowToday(None, None, "", flow.why)
    return FlowToday(round(flow.depth_m, 3), round(flow.velocity_mps, 3), flow.how, "")


def _water(pool: PoolFacts, day: Day, flow: Flow) -> Water | NotKnown:
    if flow.depth_m < SHALLOWEST_M or flow.velocity_mps > FASTEST_MPS:
        return NotKnown(
            say(
                "Water {depth_m:.2f} m deep at {velocity_mps:.1f} m/s is not for fishing: look at it.",
                depth_m=flow.depth_m,
                velocity_mps=flow.velocity_mps,
            )
        )
    return Water(
        depth_m=round(flow.depth_m, 2),
        velocity_mps=round(flow.velocity_mps, 2),
        width_m=pool.width_m,
        month=day.day.month,
        temperature_c=day.water_c,
        clarity=day.clarity,
    )


def _tackle(pool: PoolFacts, day: Day, flow: Flow | NotKnown) -> tuple[tuple[Suggestion, ...], str]:
    """Suggestions, and why there are none but the ghillie's words."""
    water = _water(pool, day, flow) if isinstance(flow, Flow) else flow
    if isinstance(water, Water):
        return suggest(water, words=pool.words), ""
    said = tuple(
        Suggestion(
            what,
            word.text,
            why=say("{who} knows this pool.", who=word.by),
            working=say("Nothing is reckoned today."),
            basis=f"the word of {word.by}",
            said_by=word.by,
        )
        for what, word in pool.words.items()
    )
    return said, water.why


def _casting(pool: PoolFacts, day: Day) -> tuple[CastingToday | None, str]:
    wind = day.wind
    if wind is None or wind.wind_mps is None or wind.wind_from_deg is None:
        return None, NO_WIND
    found = casting(
        wind_from_deg=wind.wind_from_deg,
        wind_mps=wind.wind_mps,
        flow_bearing_deg=pool.flow_bearing_deg,
        bank=pool.bank,
        hand=day.who.hand,
        thunder=day.thunder,
    )
    return CastingToday(
        found.cautions,
        found.blows,
        round(found.downstream_mps, 2),
        round(found.outward_mps, 2),
        found.onto,
        found.shoulder,
        found.own,
        found.family,
        found.casts,
        found.strength,
    ), ""


def _cut_off(pool: PoolFacts, day: Day) -> CutOffToday | None:
    if not day.tidal or pool.cut_off_above_m is None:
        return None
    found = CutOff((), (Window(day.start, day.end),))
    if day.stretch is not None:
        found = day.stretch.cut_off(pool.cut_off_above_m)
    return CutOffToday(pool.cut_off_above_m, found.windows, found.unknown, _cut_off_words(pool, day, found))


def _cut_off_words(pool: PoolFacts, day: Day, found: CutOff) -> str:
    if day.table is None:
        return NO_TIDES
    zone = day.start.tzinfo
    spans = [
        " to ".join(words.clock(at.astimezone(zone)) for at in (window.start, window.end))
        for window in found.windows
    ]
    height = say("{height_m:.1f} m of tide", height_m=pool.cut_off_above_m)
    told = (
        say("Cut off by {height}: {spans}.", height=height, spans=", ".join(spans))
        if spans
        else say("The table shows no {height} on this day.", height=height)
    )
    return joined((told, PARTLY_KNOWN)) if found.unknown else told
