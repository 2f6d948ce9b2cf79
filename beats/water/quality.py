"""Quality control of stage readings: range, jumps, falls, levels after a silence, flat line.

The tests are those of the IOOS manual for real-time quality control of water level data (QARTOD, Water
Level, version 2.1, March 2021): gross range, rate of change, spike, flat line, timing gap. That manual
leaves the thresholds to the operator; ours are settings of the gauge, and their defaults have no source.
WMO-No. 1044 (Manual on Stream Gauging; from memory) likewise asks that stage records are checked against
the observer's own readings, which is why a keeper can vouch for a reading or distrust it.

Two results are kept apart. A *fault* (`trusted` False, no reason) is a change no river makes; it stays
until a person decides. An *unconfirmed* reading (`trusted` False, with a reason) may well be true: it is
believed once further readings agree with it, or a person vouches for it. A rise is never unconfirmed for
being a rise: the higher level counts at once.

Cost: each reading is one step from the state before it (`Track.after`), whatever the length of the record.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby

from beats.water.figures import LEVEL_M, BadFigure, figure, instant

QUARTER = dt.timedelta(minutes=15)
MOST_QUARTERS = 2
"""A longer gap between two readings does not widen the step that is believed any further."""
CARRIED_FOR = dt.timedelta(hours=72)
"""How long the last believed level is still assumed where that is more careful. Our own default, no source."""
RISE_STEP_M = 0.25
"""A rise in one reading that may be misread (`Unconfirmed.RISE_STEP`, see `beats.water.onset`)."""
CONTEXT = 8
"""Readings before a window that are read along with it, so that what preceded a silence is known."""


class Unconfirmed(StrEnum):
    """Why the newest level is not believed yet. Values are shown in the API."""

    RISE_STEP = "rise_step"
    FALL_STEP = "fall_step"
    AFTER_SILENCE = "after_silence"
    STUCK = "stuck"


@dataclass(frozen=True)
class Reading:
    """A level (m on the gauge's datum) at an instant.

    `trusted`: None until judged, False once flagged, True where a person vouches for it. `unconfirmed`: why a
    reading with `trusted` False may still be true; None for a fault.
    """

    at: dt.datetime
    level_m: float
    trusted: bool | None = None
    unconfirmed: Unconfirmed | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", instant(self.at, "time of the reading"))
        figure(self.level_m, "level", "m", LEVEL_M)


@dataclass(frozen=True)
class Checks:
    """A gauge's settings for quality control. Defaults are our own, no source; each can be set.

    `jump_m`: a larger change in a quarter of an hour is a fault. `fall_step_m`: a larger fall in a quarter of
    an hour must be confirmed (on the Ardèche at Meyras, 2001-2012, no quarter of an hour fell so far).
    `confirm_readings`: how many further readings confirm it. `silence`: a longer gap is a silence.
    """

    jump_m: float = 2.0
    fall_step_m: float = 0.25
    confirm_readings: int = 2
    silence: dt.timedelta = dt.timedelta(minutes=60)

    def __post_init__(self) -> None:
        figure(self.jump_m, "jump that is not believed", "m", (0.1, 50))
        figure(self.fall_step_m, "fall that must be confirmed", "m", (0.01, 50))
        figure(self.confirm_readings, "readings that confirm a level", "readings", (1, 20))


DEFAULTS = Checks()


@dataclass(frozen=True)
class Track:
    """What is known after the readings so far. Start with an empty one; `after` gives the next.

    `good`: the last believed reading. `pending`: readings since then that agree with one another and are not
    confirmed. `top_m`: the highest of all readings since `good`, faults included. `faulty`: one was a fault.
    `before_step`: the last believed reading before `good`, where `good` is a step up that no reading confirmed.
    """

    good: Reading | None = None
    pending: tuple[Reading, ...] = ()
    top_m: float | None = None
    highest_pending_m: float | None = None
    faulty: bool = False
    before_step: Reading | None = None

    @property
    def assumed_m(self) -> float | None:
        """The level to assume, in metres: the higher of the last believed one and what may have replaced it."""
        known = [self.good.level_m] if self.good else []
        if self.highest_pending_m is not None:
            known.append(self.highest_pending_m)
        return max(known, default=None)

    def after(self, reading: Reading, checks: Checks = DEFAULTS) -> tuple["Track", Reading]:
        """The state after one more reading (later than all before), and that reading, judged."""
        if reading.trusted is True:
            return Track(good=reading), replace(reading, unconfirmed=None)
        if reading.trusted is False or self._is_fault(reading, checks):
            judged = replace(reading, trusted=False, unconfirmed=None)
            return replace(self, top_m=_highest(self.top_m, reading.level_m), faulty=True), judged
        reason = self._doubt(reading, checks)
        if reason is None or self._clears_step(reading, checks):
            stepped = self.good is not None and reading.level_m - self.good.level_m >= RISE_STEP_M
            before_step = self.good if stepped else None
            return Track(good=reading, before_step=before_step), replace(reading, trusted=True)
        return self._with_pending(reading, reason, checks)

    def _is_fault(self, reading: Reading, checks: Checks) -> bool:
        if self.good is None or any(_agree(one, reading, checks) for one in self.pending[-1:]):
            return False
        if self.faulty:
            return abs(reading.level_m - self.good.level_m) > checks.jump_m
        earlier = (*self.pending[-1:], self.good)
        return all(is_jump(one, reading, checks) for one in earlier)

    def _doubt(self, reading: Reading, checks: Checks) -> Unconfirmed | None:
        """Why the reading is not believed at once; None where it is."""
        if self.good is None:
            return Unconfirmed.FALL_STEP if self.faulty or self.pending else None
        if reason := _step(self.good, reading, checks):
            return reason
        fell = self.top_m is not None and self.top_m - reading.level_m > checks.fall_step_m
        return Unconfirmed.FALL_STEP if fell else None

    def _clears_step(self, reading: Reading, checks: Checks) -> bool:
        """Whether the last believed reading was a step up that this one shows to have been misread."""
        before = self.before_step
        return before is not None and not self.pending and not self.faulty and _agree(before, reading, checks)

    def _with_pending(self, reading: Reading, reason: Unconfirmed, checks: Checks) -> tuple["Track", Reading]:
        follows = bool(self.pending) and _agree(self.pending[-1], reading, checks)
        pending = (*self.pending, reading) if follows else (reading,)
        further, span = len(pending) - 1, pending[-1].at - pending[0].at
        if further >= checks.confirm_readings and span >= QUARTER:
            return Track(good=reading), replace(reading, trusted=True)
        if follows and self.pending[0].unconfirmed:
            reason = self.pending[0].unconfirmed
        judged = replace(reading, trusted=False, unconfirmed=reason)
        kept = (*pending[:-1], judged)
        # Only the first and the newest are looked at again; a logger may send hundreds before they count.
        kept = kept if len(kept) <= checks.confirm_readings + 1 else (kept[0], *kept[-checks.confirm_readings :])
        return replace(
            self,
            pending=kept,
            top_m=_highest(self.top_m, reading.level_m),
            highest_pending_m=_highest(self.highest_pending_m, reading.level_m),
        ), judged


def is_jump(before: Reading, after: Reading, checks: Checks = DEFAULTS) -> bool:
    """Whether the level changed faster than a river does: more than `jump_m` in a quarter of an hour.

    Nothing is said across a silence: there the level is unconfirmed instead (`Unconfirmed.AFTER_SILENCE`).
    """
    gap = after.at - before.at
    if gap > checks.silence:
        return False
    return abs(after.level_m - before.level_m) > checks.jump_m * max(1.0, gap / QUARTER)


def marked(readings: Iterable[Reading], checks: Checks = DEFAULTS) -> list[Reading]:
    """The readings by time, all kept, each judged with what is known after the last of them.

    After a fault readings stay distrusted until some are back within `jump_m` of the last believed one and
    confirmed, or a person vouches for one: a gauge that was moved does not become right by repeating itself.
    Only what is given is seen, so keep a fault with the reading. The same reading twice counts once; two levels
    at one instant are BadFigure.
    """
    return tracked(readings, checks)[0]


def tracked(readings: Iterable[Reading], checks: Checks = DEFAULTS) -> tuple[list[Reading], Track]:
    """As `marked`, and the state after the last reading."""
    series: dict[dt.datetime, Reading] = {}
    control = Control(checks)
    for reading in in_order(readings):
        judged, confirmed = control.add(reading)
        series.update((one.at, one) for one in (*confirmed, judged))
    return list(series.values()), control.track


class Control:
    """Quality control of one gauge's readings as they arrive, in the order of time."""

    def __init__(self, checks: Checks = DEFAULTS) -> None:
        self.track = Track()
        self._checks = checks
        self._waiting: list[Reading] = []

    def add(self, reading: Reading) -> tuple[Reading, list[Reading]]:
        """The reading, judged, and the earlier ones that it confirms, by time, now believed as well."""
        before = self.track
        self.track, judged = before.after(reading, self._checks)
        confirmed: list[Reading] = []
        if judged.trusted:
            if before.pending and _agree(before.pending[-1], judged, self._checks):
                confirmed = [replace(one, trusted=True, unconfirmed=None) for one in self._waiting]
            self._waiting = []
        elif judged.unconfirmed is not None:
            self._waiting = [*self._waiting, judged] if len(self.track.pending) > 1 else [judged]
        return judged, confirmed


def in_order(readings: Iterable[Reading]) -> list[Reading]:
    """The readings by time, each instant once, those that were unconfirmed to be judged again.

    Raises BadFigure where an instant has two levels.
    """
    found: list[Reading] = []
    for at, same in groupby(sorted(readings, key=lambda reading: reading.at), key=lambda reading: reading.at):
        several = list(same)
        levels = sorted({reading.level_m for reading in several})
        if len(levels) > 1:
            both = " and ".join(f"{level:g}" for level in levels)
            raise BadFigure(
                f"At {at:%Y-%m-%d %H:%M} UTC the gauge reads both {both} m. Give each reading its own time."
            )
        words = {None if reading.unconfirmed else reading.trusted for reading in several}
        found.append(Reading(at, levels[0], next((word for word in (True, False) if word in words), None)))
    return found


def _step(before: Reading, after: Reading, checks: Checks) -> Unconfirmed | None:
    gap, change = after.at - before.at, after.level_m - before.level_m
    if gap > checks.silence:
        return Unconfirmed.AFTER_SILENCE if abs(change) > checks.fall_step_m * MOST_QUARTERS else None
    return Unconfirmed.FALL_STEP if -change > _allowed(gap, checks) else None


def _agree(before: Reading, after: Reading, checks: Checks) -> bool:
    return abs(after.level_m - before.level_m) <= _allowed(after.at - before.at, checks)


def _allowed(gap: dt.timedelta, checks: Checks) -> float:
    return checks.fall_step_m * min(max(gap / QUARTER, 1.0), MOST_QUARTERS)


def _highest(known_m: float | None, level_m: float) -> float:
    return level_m if known_m is None else max(known_m, level_m)
