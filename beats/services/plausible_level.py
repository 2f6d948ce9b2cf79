"""Levels that a person is asked to confirm before they are stored."""

from beats.models import Gauge, Reading
from beats.services.gauge_history import BELIEVED, known_range, margin_of, shown_range
from beats.shared.phrases import joined, say
from beats.shared.refusals import Refusal
from beats.water import quality
from beats.water.gauge_history import Range, outside, probably_meant


class LevelUnlikely(Refusal):
    """A level far outside what the gauge has shown, not confirmed."""

    code = "level-outside-history"
    title = say("Level far outside the gauge's history")
    status = 422


def refuse_unlikely(gauge: Gauge, level_m: float, *, other_than: Reading | None = None) -> None:
    """Raise LevelUnlikely for a level (m) far outside the gauge's history and typical range.

    `other_than`: a reading that is being corrected, which does not count as history.
    """
    seen = _without(gauge, other_than) if other_than else known_range(gauge)
    if outside(level_m, seen, margin_m=margin_of(gauge)):
        raise LevelUnlikely(
            what_was_understood(gauge, level_m, seen),
            errors={"level_m": [say("Check the level, or send confirmed: true.")]},
        )


def refuse_unconfirmed(gauge: Gauge, judged: quality.Reading) -> None:
    """Raise LevelUnlikely for a level that would be stored but not believed yet, as `quality.marked` judged it."""
    if judged.trusted is not False:
        return
    raise LevelUnlikely(
        say(
            "{level_m:.2f} m was understood. That is far from the last level believed at {gauge}. Look at the "
            "board again.",
            level_m=judged.level_m,
            gauge=gauge.name,
        )
    )


def what_was_understood(gauge: Gauge, level_m: float, seen: Range) -> str:
    """The level as it was understood, what the gauge has shown, and what was probably meant."""
    shown = shown_range(gauge)
    told = [say("{level_m:.2f} m was understood.", level_m=level_m)]
    if shown.high_m is None or shown.low_m is None:
        told.append(say("There is no reading at {gauge} yet to compare it with.", gauge=gauge.name))
    elif level_m > shown.high_m:
        told.append(
            say(
                "The highest reading at {gauge} so far is {level_m:.2f} m.", gauge=gauge.name, level_m=shown.high_m
            )
        )
    else:
        told.append(
            say("The lowest reading at {gauge} so far is {level_m:.2f} m.", gauge=gauge.name, level_m=shown.low_m)
        )
    meant = probably_meant(level_m, seen)
    if meant is not None:
        told.append(say("Did you mean {level_m:.2f} m?", level_m=meant))
    return joined(told)


def _without(gauge: Gauge, reading: Reading) -> Range:
    """The range without one reading, which may be the one that made it what it is."""
    if reading.level_m not in (gauge.lowest_m, gauge.highest_m):
        return known_range(gauge)
    rows = Reading.objects.filter(BELIEVED, gauge=gauge).exclude(pk=reading.pk)
    seen = Range()
    ends = [rows.order_by(order).values_list("level_m", flat=True).first() for order in ("level_m", "-level_m")]
    for level_m in (*ends, gauge.typical_low_m, gauge.typical_high_m):
        seen = seen if level_m is None else seen.with_level(level_m)
    return seen
