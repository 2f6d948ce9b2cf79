"""A beat's day from its facts: law, light, level, tide, wind, fish, and every pool, cautions first.

Pure: the facts come from `beats.queries.day`, the shape of the answer is in `told`. Nothing is guessed:
what is not known is None, and beside it stands why.
"""

import datetime as dt
from collections.abc import Iterator
from functools import lru_cache

from beats.light import DARKER_THAN_TOLD
from beats.season import Ruling, Status
from beats.shared import words
from beats.shared.phrases import Opening, joined, say
from beats.water import fish_care, moon
from beats.water import tide as tides
from beats.water.casting import THUNDER
from beats.water.facts import ANYBODY, Facts, Who
from beats.water.fish_care import Care
from beats.water.noted import age_minutes
from beats.water.pool_today import NO_TIDES, NO_WIND, pool_today
from beats.water.quality import Unconfirmed
from beats.water.reckoning import HEIGHT_NOT_KNOWN, MINUTE, ONE_DAY, Reckoning, level_words
from beats.water.tide_table import Water
from beats.water.told import (
    AskedFor,
    Conditions,
    FishToday,
    LevelToday,
    LightToday,
    TideToday,
    WaterToday,
    WindToday,
)
from beats.water.wading import (
    BEATS_OWN,
    BELOW_A_DAM,
    CANNOT_SEE,
    COMMON_PRACTICE,
    FLAT,
    NO_LEVEL,
    RISE_UNCONFIRMED,
    SHOWS_A_RISE_M_PER_H,
    UNCONFIRMED,
    Caution,
    Trust,
    rising_words,
    too_fast,
)
from beats.water.wind import beaufort

TIDE = say("The tide reaches this beat. Know the hour of high water before you wade.")
RANGES = {
    moon.Range.SPRINGS: say("springs"), moon.Range.TAKING_OFF: say("taking off"),
    moon.Range.NEAPS: say("neaps"), moon.Range.MAKING: say("making"),
}  # fmt: skip
NOTHING_NOTED = "not known"
HOUR = dt.timedelta(hours=1)


def conditions(facts: Facts, who: Who = ANYBODY) -> Conditions:
    """What is known of a beat on a day, for one wader. Raises BadFigure for facts that cannot be."""
    known = Reckoning(facts, who)
    light, level, fish, tide = _light(known), _level(known), _fish(known), _tide(known)
    return Conditions(
        beat=facts.beat.id,
        day=facts.day,
        told_at=facts.now,
        asked_for=AskedFor(
            who.wader, None if who.grade is None else int(who.grade), who.alone, who.new_here, who.hand
        ),
        cautions=tuple(_cautions(known, fish)),
        summary=_summary(known, light, level, tide),
        law=facts.law,
        light=light,
        level=level,
        water=_water(known),
        wind=_wind(known),
        tide=tide,
        fish=fish,
        pools=tuple(pool_today(pool, known.day) for pool in facts.pools),
    )


def _cautions(known: Reckoning, fish: FishToday) -> Iterator[Caution]:
    """The gravest first."""
    facts = known.facts
    if facts.law.status is Status.CLOSED:
        yield Caution(facts.law.sentence, source=facts.law.reasons[0].source)
    if facts.is_today:
        yield from _of_the_level(known)
        yield from _of_the_dark(known)
    if known.thunder:
        yield Caution(THUNDER, source="the Met Office's advice for thunderstorms")
    if fish.care in (Care.STOP, Care.EXTRA):
        yield Caution(
            fish.sentence,
            value=fish.water_c,
            threshold=fish.threshold_c,
            unit="°C",
            source=fish.source,
            age_minutes=fish.age_minutes,
        )
    yield Caution(CANNOT_SEE)
    yield Caution(BELOW_A_DAM, source=COMMON_PRACTICE)
    yield Caution(DARKER_THAN_TOLD)
    for doubt in facts.law.cautions:
        yield Caution(doubt, source=facts.law.reasons[-1].source)
    if facts.beat.tidal:
        yield Caution(TIDE)


def _of_the_level(known: Reckoning) -> Iterator[Caution]:
    state, limit = known.state, known.facts.beat.thresholds.rise_m_per_h
    if known.trust is Trust.DISTRUSTED:
        yield Caution(NO_LEVEL[Trust.DISTRUSTED], age_minutes=_age(known))
    if known.trust is Trust.UNCONFIRMED and state:
        yield Caution(UNCONFIRMED, value=state.assumed_m, unit="m", age_minutes=_age(known))
    if state and state.flat:
        hours = state.flat_for / HOUR if state.flat_for else None
        usual = known.facts.gauge.habits.flat_after / HOUR if known.facts.gauge else None
        yield Caution(FLAT, value=hours, threshold=usual, unit="h", source="the gauge's own setting")
    if known.trust in (Trust.UNKNOWN, Trust.STALE):
        usual = known.facts.gauge.habits.stale_after / MINUTE if known.facts.gauge else None
        age = _age(known)
        yield Caution(
            HEIGHT_NOT_KNOWN,
            value=None if age is None else float(age),
            threshold=usual,
            unit="min",
            source="the gauge's own setting" if usual else "no gauge",
            age_minutes=age,
        )
    rise = state.rise_m_per_h if state else None
    if sentence := too_fast(rise, limit):
        yield Caution(sentence, value=rise, threshold=limit, unit="m/h", source=BEATS_OWN, age_minutes=_age(known))
    elif state and state.rising:
        yield Caution(rising_words(rise), value=rise, threshold=limit, unit="m/h", age_minutes=_age(known))
    elif state and state.unconfirmed is Unconfirmed.RISE_STEP:
        yield Caution(RISE_UNCONFIRMED, value=state.level_m, unit="m", age_minutes=_age(known))


def _of_the_dark(known: Reckoning) -> Iterator[Caution]:
    by, last = known.off_water_by, known.facts.light.last_light_at
    if by is None or last is None or known.facts.now < by:
        return
    left = (last - known.facts.now) / MINUTE
    margin = known.facts.beat.dark_margin / MINUTE
    zone = known.facts.beat.zone
    yield Caution(
        say("It is dark from {last:%H:%M}. Be off the water now.", last=last.astimezone(zone)),
        value=round(left),
        threshold=margin,
        unit="min",
        source=BEATS_OWN,
    )


def _age(known: Reckoning) -> int | None:
    return known.state.age // MINUTE if known.state else None


def _light(known: Reckoning) -> LightToday:
    light, by, zone = known.facts.light, known.off_water_by, known.facts.beat.zone
    if by is None or light.last_light_at is None:
        told = say("The sun gives no end of twilight on this day here: go by the light itself.")
    else:
        last, off = (at.astimezone(zone) for at in (light.last_light_at, by))
        told = say(
            "Last light {last:%H:%M}: off the water by {off:%H:%M}. {darker_than_told}",
            last=last,
            off=off,
            darker_than_told=DARKER_THAN_TOLD,
        )
    return LightToday(
        light.first_light_at,
        light.sunrise_at,
        light.sunset_at,
        light.last_light_at,
        by,
        known.facts.beat.dark_margin // MINUTE,
        told,
    )


def _level(known: Reckoning) -> LevelToday | None:
    """None on another day, and where no gauge speaks for the beat."""
    gauge, state = known.facts.gauge, known.state
    if gauge is None or not known.facts.is_today:
        return None
    age = _age(known)
    stale, trusted = (state.stale, state.trusted) if state else (True, False)
    unconfirmed, assumed_m = (state.unconfirmed, state.assumed_m) if state else (None, None)
    told = level_words(
        gauge.name,
        state.level_m if state else None,
        age,
        stale=stale,
        trusted=trusted,
        unconfirmed=unconfirmed,
        assumed_m=assumed_m,
        rising=state.rising if state else None,
    )
    return LevelToday(
        gauge=gauge.name,
        level_m=state.level_m if state and (trusted or unconfirmed) else None,
        at=state.at if state else None,
        age_minutes=age,
        stale_after_minutes=gauge.habits.stale_after // MINUTE,
        stale=stale,
        trusted=trusted,
        trust=known.trust,
        unconfirmed=unconfirmed,
        assumed_m=assumed_m,
        flat_for_hours=state.flat_for // HOUR if state and state.flat_for else None,
        band=state.band if state and known.trust is Trust.FRESH else None,
        typical_low_m=gauge.typical_low_m,
        typical_high_m=gauge.typical_high_m,
        rise_m_per_h=_rounded(state.rise_m_per_h if state else None, 3),
        rising=state.rising if state else None,
        rise_limit_m_per_h=known.facts.beat.thresholds.rise_m_per_h,
        attribution=gauge.attribution,
        words=told,
    )


def _water(known: Reckoning) -> WaterToday:
    seen, now = known.seen, known.facts.now
    usual = known.facts.beat.clarity
    return WaterToday(
        temperature_c=known.water_c,
        temperature_age_minutes=age_minutes(seen.water, now),
        temperature_by=seen.water.by if seen.water else NOTHING_NOTED,
        clarity=seen.clarity.clarity if seen.clarity else usual,
        clarity_age_minutes=age_minutes(seen.clarity, now),
        clarity_by=seen.clarity.by if seen.clarity else "as it usually is here" if usual else NOTHING_NOTED,
    )


def _wind(known: Reckoning) -> WindToday:
    wind, thunder = known.seen.wind, known.seen.thunder
    heard = thunder.thunder if thunder else None
    if wind is None or wind.wind_mps is None:
        return WindToday(None, None, None, "", heard, None, "", NO_WIND)
    force, age = beaufort(wind.wind_mps), age_minutes(wind, known.facts.now) or 0
    told = say(
        "{force} from {from_deg:.0f} degrees, {mps:.0f} m/s, "
        "noted {age} ago. A wind shifts and gusts: feel it before each cast.",
        force=Opening(force.name),
        from_deg=wind.wind_from_deg,
        mps=wind.wind_mps,
        age=words.minutes(age),
    )
    return WindToday(wind.wind_from_deg, wind.wind_mps, force.number, force.name, heard, age, wind.by, told)


def _tide(known: Reckoning) -> TideToday | None:
    facts = known.facts
    if not facts.beat.tidal:
        return None
    cycle = cycle_of(known.day.start + ONE_DAY / 2, facts.beat.tide_lag_days)
    table = facts.tides
    rules = (tides.By.COSINE, tides.By.TWELFTHS)
    cosine, twelfths = (
        tides.height(table, facts.now, by=rule) if table and facts.is_today else None for rule in rules
    )
    of_day = tuple(w for w in table.waters if known.day.start <= w.at < known.day.end) if table else ()
    return TideToday(
        height_m=_rounded(cosine.height_m if cosine else None, 2),
        height_by_twelfths_m=_rounded(twelfths.height_m if twelfths else None, 2),
        rising=cosine.rising if cosine else None,
        rough=cosine.rough if cosine else None,
        range=cycle.range,
        next_springs_at=cycle.next_springs_at,
        next_neaps_at=cycle.next_neaps_at,
        lag_days=facts.beat.tide_lag_days,
        waters=of_day,
        words=_tide_words(known, of_day, cycle.range) if of_day else NO_TIDES,
        cautions=(tides.CANNOT_SEE,),
    )


@lru_cache(maxsize=64)
def cycle_of(noon: dt.datetime, lag_days: float) -> moon.Tides:
    """Springs and neaps about a noon: one answer a day for all beats of a port, and the moon is slow to reckon."""
    return moon.tides(noon, lag_days=lag_days)


def _tide_words(known: Reckoning, of_day: tuple[Water, ...], kind: moon.Range) -> str:
    zone = known.facts.beat.zone
    told = [_water_words(w, zone) for w in of_day]
    waters = Opening(joined(told, ", "))
    return say("{waters}; {kind}. From the port's tide table, as loaded.", waters=waters, kind=RANGES[kind])


def _water_words(water: Water, zone: dt.tzinfo) -> str:
    at, height_m = water.at.astimezone(zone), water.height_m
    if water.kind == "high":
        return say("high water {at:%H:%M} ({height_m:.1f} m)", at=at, height_m=height_m)
    return say("low water {at:%H:%M} ({height_m:.1f} m)", at=at, height_m=height_m)


def _fish(known: Reckoning) -> FishToday:
    facts = known.facts
    found = fish_care.advice(known.water_c, drought=facts.beat.drought, limits=facts.beat.limits)
    eve = facts.now.astimezone(facts.beat.zone).date() - ONE_DAY
    coolest = fish_care.coolest(facts.temperatures, day=eve, zone=facts.beat.zone)
    return FishToday(
        care=found.care,
        water_c=found.water_c,
        threshold_c=found.threshold_c,
        source=found.source,
        sentence=found.sentence,
        drought=facts.beat.drought,
        age_minutes=age_minutes(known.seen.water, facts.now),
        coolest_at=coolest.at,
        coolest_c=coolest.water_c,
        coolest_sentence=(
            say("Yesterday: {coolest}", coolest=coolest.sentence) if coolest.measured else coolest.sentence
        ),
    )


def _summary(known: Reckoning, light: LightToday, level: LevelToday | None, tide: TideToday | None) -> str:
    """One line for the rota sheet."""
    zone = known.facts.beat.zone
    rise, fall = (f"{at.astimezone(zone):%H:%M}" if at else "none" for at in (light.sunrise_at, light.sunset_at))
    parts = [_standing(known.facts.law), say("Sunrise {rise}, sunset {fall}.", rise=rise, fall=fall)]
    if light.off_water_by_at:
        parts.append(
            say(
                "Off the water by {off:%H:%M}.",
                off=light.off_water_by_at.astimezone(zone),
            )
        )
    if tide:
        parts.append(tide.words)
    if known.water_c is not None:
        parts.append(say("Water {water_c:.1f} °C.", water_c=known.water_c))
    if level and (way := _way(level)):
        parts.append(way)
    parts.append(level.words if level else say("Level not known."))
    return joined(parts)


def _way(level: LevelToday) -> str | None:
    """Which way it goes; None where that is not known, or the words of the level say it already."""
    rate = level.rise_m_per_h
    if rate is None or (rate <= SHOWS_A_RISE_M_PER_H and (level.rising or level.unconfirmed)):
        return None
    if abs(rate) <= SHOWS_A_RISE_M_PER_H:
        return say("Steady.")
    if rate > 0:
        return say("Rising {rate:.2f} m an hour.", rate=rate)
    return say("Falling {rate:.2f} m an hour.", rate=-rate)


def _standing(law: Ruling) -> str:
    return {Status.OPEN: say("Open."), Status.RELEASE_ONLY: say("Release only."), Status.CLOSED: say("Closed.")}[
        law.status
    ]


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)
