"""The ladder: who is told that somebody is overdue, by what, after how long, and again how often.

Pure: stages in, the next step out. Only a named person's word stops a ladder, and only until the time
they promised; then it goes on. Quiet hours may spare sleepers a ringing telephone for a party in
company, never for a lone angler.

The minutes are policy, beat by beat: HSE guidance on lone work asks for contact at agreed intervals
and a confirmed return and gives no figure (HSE, "Training, supervision and monitoring"). Those here
are common practice, no source.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Any

from beats.shared.phrases import say
from beats.shared.refusals import Refusal

MOST_STAGES = 8
LONGEST_AFTER_MIN = 240
SHORTEST_REPEAT_MIN = 2
MINUTE = dt.timedelta(minutes=1)


class Who(StrEnum):
    """Who is told."""

    ANGLER = "angler"
    GHILLIE = "ghillie on duty"
    KEEPER = "keeper"
    OWNER = "owner"
    CONTACT = "emergency contact"


class By(StrEnum):
    """By what. A call follows only when no receipt of the text has come in time."""

    EMAIL = "email"
    TEXT = "text"
    VOICE = "voice"


class BadLadder(Refusal):
    """A ladder that would leave somebody untold."""

    code = "bad-ladder"
    title = say("That ladder will not do")
    status = 400

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, errors={"ladder": [sentence]})


@dataclass(frozen=True)
class Stage:
    """One rung: `after` the alarm, whom, by what, and `repeat` until the next rung (None: said once)."""

    after: dt.timedelta
    who: tuple[Who, ...]
    by: tuple[By, ...] = (By.EMAIL, By.TEXT, By.VOICE)
    repeat: dt.timedelta | None = None


@dataclass(frozen=True)
class Ladder:
    """The rungs, in order, and the hours (local, from and to) in which company rings nobody's bell."""

    stages: tuple[Stage, ...]
    quiet: tuple[dt.time, dt.time] | None = None

    @property
    def last(self) -> int:
        return len(self.stages)


DEFAULT = Ladder(
    (
        Stage(0 * MINUTE, (Who.ANGLER, Who.KEEPER)),
        Stage(10 * MINUTE, (Who.ANGLER, Who.GHILLIE, Who.OWNER)),
        Stage(20 * MINUTE, (Who.KEEPER, Who.CONTACT)),
        Stage(30 * MINUTE, (Who.KEEPER, Who.OWNER, Who.CONTACT), repeat=10 * MINUTE),
    )
)


@dataclass(frozen=True)
class Step:
    """What comes next on a ladder: this stage, for the n-th time (0 is the first), at an instant."""

    stage: int
    turn: int
    at: dt.datetime


def next_step(
    ladder: Ladder, *, alarm_at: dt.datetime, stage: int, turn: int, told_at: dt.datetime
) -> Step | None:
    """What follows after `stage` was said for the `turn`-th time at `told_at`; None when all is said.

    A ladder that was made shorter meanwhile goes on from its last stage.
    """
    onward = Step(stage + 1, 0, alarm_at + ladder.stages[stage].after) if stage < ladder.last else None
    again = _again(ladder, stage, turn, told_at)
    steps = [step for step in (onward, again) if step is not None]
    return min(steps, key=lambda step: (step.at, -step.stage), default=None)


def due_step(
    ladder: Ladder, *, alarm_at: dt.datetime, stage: int, turn: int, now: dt.datetime, promise_broken: bool
) -> Step:
    """What is said at `now`, when something is due: the next stage if its time has come or a promise was
    not kept, else the same stage again."""
    if stage < ladder.last and (promise_broken or alarm_at + ladder.stages[stage].after <= now):
        return Step(stage + 1, 0, now)
    return Step(stage, turn + 1, now)


def _again(ladder: Ladder, stage: int, turn: int, told_at: dt.datetime) -> Step | None:
    repeat = ladder.stages[min(stage, ladder.last) - 1].repeat if stage else None
    return Step(stage, turn + 1, told_at + repeat) if repeat else None


def channels(ladder: Ladder, stage: int, *, alone: bool, local: dt.time) -> tuple[By, ...]:
    """By what a stage is told at a local time. In quiet hours company is not rung; a lone angler's always are."""
    by = ladder.stages[min(stage, ladder.last) - 1].by
    if alone or ladder.quiet is None or not _within(local, ladder.quiet):
        return by
    return tuple(way for way in by if way is not By.VOICE) or by


def _within(local: dt.time, hours: tuple[dt.time, dt.time]) -> bool:
    start, end = hours
    return start <= local < end if start <= end else local >= start or local < end


def read(data: Mapping[str, Any] | None) -> Ladder:
    """A ladder as a beat keeps it (`write` makes it); None is the default. Raises BadLadder."""
    if data is None:
        return DEFAULT
    try:
        stages = tuple(_stage(facts) for facts in data["stages"])
        quiet = data.get("quiet")
        hours = (dt.time.fromisoformat(quiet[0]), dt.time.fromisoformat(quiet[1])) if quiet else None
    except (KeyError, TypeError, ValueError, IndexError, OverflowError) as fault:
        raise BadLadder(
            say(
                "The ladder cannot be read ({fault}). Each stage says after_minutes, who, by and repeat_minutes.",
                fault=fault,
            )
        ) from None
    return checked(Ladder(stages, hours))


def _stage(facts: Mapping[str, Any]) -> Stage:
    repeat = facts.get("repeat_minutes")
    return Stage(
        _minutes(facts["after_minutes"]),
        tuple(Who(who) for who in facts["who"]),
        tuple(By(by) for by in facts.get("by", tuple(By))),
        None if repeat is None else _minutes(repeat),
    )


def _minutes(count: Any) -> dt.timedelta:
    if isinstance(count, bool) or not isinstance(count, int):
        raise TypeError(f"{count!r} is no whole number of minutes")
    return count * MINUTE


def checked(ladder: Ladder) -> Ladder:
    """The ladder itself. Raises BadLadder when it starts late, goes backwards or ends with nobody."""
    stages = ladder.stages
    if not 1 <= len(stages) <= MOST_STAGES:
        raise BadLadder(
            say(
                "A ladder has 1 to {most_stages} stages. Write who is told first, and who after.",
                most_stages=MOST_STAGES,
            )
        )
    if stages[0].after != 0 * MINUTE:
        raise BadLadder(say("The first stage comes with the alarm itself: give it after_minutes 0."))
    for before, after in pairwise(stages):
        if after.after <= before.after:
            raise BadLadder(say("Each stage comes later than the one before it. Put them in order."))
    if stages[-1].after > LONGEST_AFTER_MIN * MINUTE:
        raise BadLadder(
            say(
                "The last stage comes {longest_after_min} minutes after the alarm at the latest.",
                longest_after_min=LONGEST_AFTER_MIN,
            )
        )
    for number, stage in enumerate(stages, start=1):
        _check_stage(number, stage)
    keepers = {Who.GHILLIE, Who.KEEPER, Who.OWNER}
    if not keepers & set(stages[0].who):
        raise BadLadder(
            say("Somebody who keeps the water is told at once: put the keeper or the owner in stage 1.")
        )
    return ladder


def _check_stage(number: int, stage: Stage) -> None:
    if not stage.who or not stage.by:
        raise BadLadder(say("Stage {number} tells nobody. Say who is told, and by what.", number=number))
    if stage.repeat is not None and stage.repeat < SHORTEST_REPEAT_MIN * MINUTE:
        raise BadLadder(
            say(
                "Stage {number} repeats every {shortest_repeat_min} minutes at the most.",
                number=number,
                shortest_repeat_min=SHORTEST_REPEAT_MIN,
            )
        )


def write(ladder: Ladder) -> dict[str, Any]:
    """What `read` reads, as plain data."""
    return {
        "stages": [
            {
                "after_minutes": stage.after // MINUTE,
                "who": [str(who) for who in stage.who],
                "by": [str(by) for by in stage.by],
                "repeat_minutes": stage.repeat // MINUTE if stage.repeat else None,
            }
            for stage in ladder.stages
        ],
        "quiet": [f"{hour:%H:%M}" for hour in ladder.quiet] if ladder.quiet else None,
    }
