"""Why a pool must not be fished in a span of time: closed, law, dark, tide, level, wading. Pure.

Every rule is the one that `GET conditions/` and the recalls answer with: `pool_today` for one pool and one
wader, `changes.true_of` for the whole beat. Nothing is graded a second time here.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from beats.season import Ruling, Status
from beats.shared import words
from beats.shared.phrases import Phrase, joined, say
from beats.water.changes import Kind as Warned
from beats.water.changes import true_of
from beats.water.facts import Facts, PoolFacts, Who
from beats.water.limits import Grade
from beats.water.pool_today import pool_today
from beats.water.reckoning import MINUTE, Reckoning, state_words
from beats.water.told import PoolToday
from beats.water.wading import TO_THE_TOP

TIDE_NOT_KNOWN = say("When the tide cuts this pool off is not known for all of that time: take it as cut off.")
GRADED_BY_POOL = frozenset({Warned.SILENT, Warned.UNCONFIRMED, Warned.STUCK, Warned.DARK})
"""Not a reason for the whole beat: doubt about the level is in the grade of each pool, which is shown (worked out
for the level to assume, or "not known"), and dark is asked of the turn's own hours."""


class Kind(StrEnum):
    """What forbids it. The closures come first wherever they are listed."""

    RETIRED = "retired"
    POOL_CLOSED = "pool closed"
    BEAT_CLOSED = "beat closed"
    LAW = "law"
    RECALL = "recall"
    RIVER = "river"
    DARK = "dark"
    TIDE = "tide"
    LEVEL = "level"
    WADING = "wading"


@dataclass(frozen=True)
class Restriction:
    """One reason not to fish a pool, as a sentence."""

    kind: Kind
    sentence: str


@dataclass(frozen=True)
class Span:
    """The part of a turn that is still to come, as two instants."""

    start: dt.datetime
    end: dt.datetime


def closed_words(name: str, reason: str) -> Phrase:
    """`name` is closed, and why."""
    return say("{name} is closed: {reason}.", name=name, reason=reason.rstrip(". "))


def dated(pool: str, *, retired: bool, closed: str, law: Ruling | None) -> Iterator[Restriction]:
    """What is known of any day, today or later. `closed` is the reason, empty where the pool is open."""
    if retired:
        yield Restriction(Kind.RETIRED, say("{pool} is retired and no longer fished.", pool=pool))
    if closed:
        yield Restriction(Kind.POOL_CLOSED, closed_words(pool, closed))
    if law is not None and law.status is Status.CLOSED:
        yield Restriction(Kind.LAW, law.sentence)


@dataclass(frozen=True)
class Today:
    """A beat's day at `facts.now`, asked for one pool, wader and span after the other."""

    facts: Facts

    @cached_property
    def _pools(self) -> dict[int, PoolFacts]:
        return {pool.id: pool for pool in self.facts.pools}

    @cached_property
    def _graded(self) -> dict[tuple[int, Who], PoolToday]:
        return {}

    @cached_property
    def _reckoned(self) -> dict[Who, Reckoning]:
        return {}

    @cached_property
    def _river(self) -> tuple[Restriction, ...]:
        """What calls everybody out, whether they wade or not: a river that rises too fast, a gauge that jumped."""
        found = (one for one in true_of(self.facts) if one.pool is None)
        return tuple(Restriction(Kind.RIVER, one.sentence) for one in found if one.kind not in GRADED_BY_POOL)

    @cached_property
    def _known(self) -> Reckoning:
        return Reckoning(self.facts)

    @property
    def level_age_minutes(self) -> int | None:
        """How old the newest reading is; None where there is none."""
        return self._known.state.age // MINUTE if self._known.state else None

    @property
    def level(self) -> str:
        """The level in words, with its age and what is wrong with it."""
        gauge, state = self.facts.gauge, self._known.state
        if gauge is None or state is None:
            return say("The height of the river is not known.")
        return state_words(gauge.name, state)

    def grade(self, pool: int, who: Who) -> Grade | None:
        """The grade of wading that `GET conditions/` gives; None for a pool that is not fished."""
        told = self._pool(pool, who)
        return None if told is None else told.wading.grade

    def restrictions(self, pool: int, name: str, who: Who, span: Span) -> tuple[Restriction, ...]:
        """Every reason, closures first; empty where nothing that is known forbids it."""
        told = self._pool(pool, who)
        closed = "" if told is None else told.closed
        return (
            *dated(name, retired=told is None, closed=closed, law=self.facts.law),
            *self._river,
            *self._dark(span),
            *(self._of_a_pool(told, span) if told is not None else ()),
        )

    def _pool(self, pool: int, who: Who) -> PoolToday | None:
        if pool not in self._pools:
            return None
        if (pool, who) not in self._graded:
            known = self._reckoned.setdefault(who, Reckoning(self.facts, who))
            self._graded[pool, who] = pool_today(self._pools[pool], known.day)
        return self._graded[pool, who]

    def _dark(self, span: Span) -> Iterator[Restriction]:
        light, zone, off = self.facts.light, self.facts.beat.zone, self._known.off_water_by
        first = light.first_light_at
        if first is not None and (span.end <= first or span.start <= self.facts.now < first):
            yield Restriction(Kind.DARK, say("It is dark until {at:%H:%M}.", at=first.astimezone(zone)))
        if off is not None and span.start >= off:
            sentence = say("Be off the water by {at:%H:%M}: it is dark soon after.", at=off.astimezone(zone))
            yield Restriction(Kind.DARK, sentence)

    def _of_a_pool(self, told: PoolToday, span: Span) -> Iterator[Restriction]:
        yield from _tide(told, span, self.facts.beat.zone)
        if told.window.standing in ("below", "above"):
            yield Restriction(Kind.LEVEL, told.window.sentence)
        if told.wading.grade is Grade.STAY_OUT and is_waded(told):
            yield Restriction(Kind.WADING, joined((*_wading(told), self.level)))


def is_waded(pool: PoolToday) -> bool:
    """Whether fishing a pool means wading it. Elsewhere "stay out" is of the water; the pool is fished still."""
    return pool.wading_grade > 0 and not pool.boat


def _tide(told: PoolToday, span: Span, zone: dt.tzinfo) -> Iterator[Restriction]:
    if told.cut_off is None:
        return
    hit = [window for window in told.cut_off.windows if window.start < span.end and window.end > span.start]
    if hit:
        spans = ", ".join(
            " to ".join(words.clock(at.astimezone(zone)) for at in (window.start, window.end)) for window in hit
        )
        sentence = say("The tide cuts {pool} off {spans}.", pool=told.name, spans=spans)
        yield Restriction(Kind.TIDE, sentence)
    elif any(window.start < span.end and window.end > span.start for window in told.cut_off.unknown):
        yield Restriction(Kind.TIDE, TIDE_NOT_KNOWN)


def _wading(told: PoolToday) -> Iterator[str]:
    yield say("Stay out of the water at {pool}.", pool=told.name)
    if told.wading.depth_m is not None and told.wading.velocity_mps is not None:
        yield say(
            "It is {depth_m:.1f} m deep and {velocity_mps:.1f} m/s today.",
            depth_m=told.wading.depth_m,
            velocity_mps=told.wading.velocity_mps,
        )
    yield from (caution.sentence for caution in told.wading.cautions if caution.steps >= TO_THE_TOP)
