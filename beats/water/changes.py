"""What of a beat is true now that somebody on the water must hear of, and what changed between two looks.

Level, not edge: `true_of` says what holds, however often it is asked; whoever tells people keeps what has
been told and compares, with `compared`. Missing a look costs a look, not a warning.
"""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from beats.water.facts import Facts, GaugeFacts, PoolFacts
from beats.water.pool_today import Day, level_window
from beats.water.quality import Unconfirmed
from beats.water.reckoning import HEIGHT_NOT_KNOWN, MINUTE, Reckoning
from beats.water.tide import cut_off
from beats.water.wading import FLAT, NO_LEVEL, RISE_UNCONFIRMED, UNCONFIRMED, Trust, rising_words, too_fast

HOUR = dt.timedelta(hours=1)
AHEAD = dt.timedelta(minutes=60)
"""How long before the tide cuts a pool off it is told."""


class Kind(StrEnum):
    """What a warning is about."""

    JUMPED = "gauge jumped"
    SILENT = "gauge silent"
    UNCONFIRMED = "level unconfirmed"
    STUCK = "gauge may be stuck"
    RISING = "rising too fast"
    RISE_UNCONFIRMED = "rising or misread"
    WINDOW_LEFT = "pool window left"
    DARK = "dark soon"
    CUTTING_OFF = "tide cutting off"
    TIDE_NOT_KNOWN = "tide not known"


@dataclass(frozen=True)
class Warning:  # noqa: A001 - the word of the trade
    """One thing that is true now. `pool` None: of the whole beat. `at`: when it begins, where that is known."""

    kind: Kind
    sentence: str
    pool: int | None = None
    value: float | None = None
    threshold: float | None = None
    unit: str = ""
    at: dt.datetime | None = None

    @property
    def key(self) -> tuple[Kind, int | None]:
        """What makes it the same warning at another look, whatever its figures."""
        return self.kind, self.pool


def true_of(facts: Facts, *, ahead: dt.timedelta = AHEAD) -> tuple[Warning, ...]:
    """Everything that is true at `facts.now`, which lies on `facts.day`; the whole beat's first."""
    known = Reckoning(facts)
    return (
        *_of_the_level(known),
        *_of_the_dark(known),
        *(warning for pool in facts.pools for warning in _of_a_pool(pool, known.day, ahead)),
    )


def _of_the_level(known: Reckoning) -> list[Warning]:
    if known.facts.gauge is None:
        return []
    return [*_of_the_gauge(known, known.facts.gauge), *_rising(known)]


def _of_the_gauge(known: Reckoning, gauge: GaugeFacts) -> list[Warning]:
    """What is wrong with the level, in one warning at most."""
    state = known.state
    if known.trust is Trust.DISTRUSTED and state:
        return [Warning(Kind.JUMPED, NO_LEVEL[Trust.DISTRUSTED], value=state.level_m, unit="m", at=state.at)]
    if known.trust is Trust.UNCONFIRMED and state:
        return [Warning(Kind.UNCONFIRMED, UNCONFIRMED, value=state.assumed_m, unit="m", at=state.at)]
    if known.trust in (Trust.FRESH, Trust.STUCK) and state and state.flat:
        hours = state.flat_for / HOUR if state.flat_for else None
        usual = gauge.habits.flat_after / HOUR
        return [Warning(Kind.STUCK, FLAT, value=hours, threshold=usual, unit="h", at=state.at)]
    if known.trust is not Trust.FRESH or state is None:
        age = state.age / MINUTE if state else None
        usual = gauge.habits.stale_after / MINUTE
        return [Warning(Kind.SILENT, HEIGHT_NOT_KNOWN, value=age, threshold=usual, unit="min")]
    return []


def _rising(known: Reckoning) -> list[Warning]:
    """An onset, a rate above the beat's threshold, or a step up that no reading has confirmed yet."""
    state, limit = known.state, known.facts.beat.thresholds.rise_m_per_h
    if state is None:
        return []
    rate = state.rise_m_per_h
    sentence = too_fast(rate, limit) or (rising_words(rate) if state.rising else None)
    if sentence:
        return [Warning(Kind.RISING, sentence, value=rate, threshold=limit, unit="m/h", at=state.at)]
    if state.unconfirmed is Unconfirmed.RISE_STEP:
        return [Warning(Kind.RISE_UNCONFIRMED, RISE_UNCONFIRMED, value=state.level_m, unit="m", at=state.at)]
    return []


def _of_the_dark(known: Reckoning) -> list[Warning]:
    light, now, zone = known.facts.light, known.facts.now, known.facts.beat.zone
    margin = known.facts.beat.dark_margin
    if light.first_light_at and now < light.first_light_at:
        sentence = f"It is dark until {light.first_light_at.astimezone(zone):%H:%M}. Be off the water."
        return [Warning(Kind.DARK, sentence, threshold=margin / MINUTE, unit="min")]
    last = light.last_light_at
    if last is None or now < last - margin:
        return []
    left = max((last - now) / MINUTE, 0.0)
    sentence = f"It is dark from {last.astimezone(zone):%H:%M}, in {left:.0f} min. Be off the water."
    return [Warning(Kind.DARK, sentence, value=left, threshold=margin / MINUTE, unit="min", at=last)]


def _of_a_pool(pool: PoolFacts, day: Day, ahead: dt.timedelta) -> list[Warning]:
    return [*_window(pool, day), *_tide(pool, day, ahead)]


def _window(pool: PoolFacts, day: Day) -> list[Warning]:
    window = level_window(pool, day)
    if window.standing not in ("below", "above"):
        return []
    edge = window.low_m if window.standing == "below" else window.high_m
    sentence = f"{pool.name}: {window.sentence}"
    return [Warning(Kind.WINDOW_LEFT, sentence, pool.id, value=day.level_m, threshold=edge, unit="m")]


def _tide(pool: PoolFacts, day: Day, ahead: dt.timedelta) -> list[Warning]:
    above = pool.cut_off_above_m
    if not day.tidal or above is None:
        return []
    if day.table is None:
        sentence = f"{pool.name} is cut off by the tide, and no table says when. Keep off it."
        return [Warning(Kind.TIDE_NOT_KNOWN, sentence, pool.id, threshold=above, unit="m")]
    found = cut_off(day.table, above, start=day.now, end=day.now + ahead)
    if found.windows:
        at = found.windows[0].start
        when = "now" if at <= day.now else f"from {at.astimezone(day.start.tzinfo):%H:%M}"
        sentence = f"The tide cuts {pool.name} off {when}. Leave it."
        left = (at - day.now) / MINUTE
        return [
            Warning(Kind.CUTTING_OFF, sentence, pool.id, value=left, threshold=ahead / MINUTE, unit="min", at=at)
        ]
    if found.unknown:
        sentence = f"{pool.name} is cut off by the tide, and the table says nothing of the next hour. Leave it."
        return [Warning(Kind.TIDE_NOT_KNOWN, sentence, pool.id, threshold=above, unit="m")]
    return []
