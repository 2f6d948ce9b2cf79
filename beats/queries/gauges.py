"""What every gauge of a fishery says now, and whether it rises."""

import datetime as dt
from dataclasses import dataclass

from beats.models import Fishery, Reading
from beats.queries.river import state_of
from beats.water.quality import Unconfirmed
from beats.water.reckoning import level_words


@dataclass(frozen=True)
class GaugeNow:
    """`rise_m_per_h` is None where too few fresh readings tell it; `flat_hours` where it may be stuck."""

    words: str
    rise_m_per_h: float | None
    attribution: str | None
    flat_hours: int | None = None
    rising: bool | None = None
    unconfirmed: Unconfirmed | None = None


def gauges_now(fishery: Fishery, now: dt.datetime) -> list[GaugeNow]:
    """Each gauge by name. One query, and one for each gauge: a fishery has a few."""
    told = []
    for gauge in fishery.gauges.order_by("name", "id"):
        state = state_of(gauge, now)
        if state is None:
            told.append(GaugeNow(level_words(gauge.name, None, None, stale=True, trusted=True), None, None))
            continue
        words = level_words(
            gauge.name,
            state.level_m,
            int(state.age.total_seconds() // 60),
            stale=state.stale,
            trusted=state.trusted,
            unconfirmed=state.unconfirmed,
            assumed_m=state.assumed_m,
            rising=state.rising,
        )
        hours = state.flat_for // dt.timedelta(hours=1) if state.flat_for else None
        told.append(GaugeNow(words, state.rise_m_per_h, gauge.attribution, hours, state.rising, state.unconfirmed))
    return told


SHOWN = 8


def last_readings(fishery: Fishery) -> list[Reading]:
    """The newest readings of a fishery's gauges, the newest first. One query for each gauge, and one."""
    found: list[Reading] = []
    for gauge in fishery.gauges.order_by("name", "id"):
        found += Reading.objects.filter(gauge=gauge).select_related("gauge").order_by("-at")[:SHOWN]
    return sorted(found, key=lambda one: one.at, reverse=True)[:SHOWN]
