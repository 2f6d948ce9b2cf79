"""What every gauge of a fishery says now, and whether it rises."""

import datetime as dt
from dataclasses import dataclass

from beats.models import Fishery
from beats.queries.day import habits_of
from beats.queries.river import levels_between
from beats.water import trend
from beats.water.reckoning import level_words


@dataclass(frozen=True)
class GaugeNow:
    """`rise_m_per_h` is None where too few fresh readings tell it."""

    words: str
    rise_m_per_h: float | None
    attribution: str | None


def gauges_now(fishery: Fishery, now: dt.datetime) -> list[GaugeNow]:
    """Each gauge by name. One query, and one for each gauge: a fishery has a few."""
    told = []
    for gauge in fishery.gauges.order_by("name", "id"):
        habits = habits_of(gauge)
        rows = levels_between(gauge.pk, now - max(habits.window, dt.timedelta(days=2)), now)
        readings = [trend.Reading(at, level_m, trusted) for at, level_m, _, trusted in rows]
        state = trend.state(readings, now=now, habits=habits)
        if state is None:
            told.append(GaugeNow(level_words(gauge.name, None, None, stale=True, trusted=True), None, None))
            continue
        age = int(state.age.total_seconds() // 60)
        words = level_words(gauge.name, state.level_m, age, stale=state.stale, trusted=state.trusted)
        told.append(GaugeNow(words, state.rise_m_per_h, gauge.attribution))
    return told
