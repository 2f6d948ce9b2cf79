"""The ladder as an angler is told it: whom, when, and by which way. Pure."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence

from beats.shared.phrases import joined, say
from safety.ladder import MINUTE, By, Ladder, Stage, Who

NAMES = {
    Who.ANGLER: say("you"),
    Who.GHILLIE: say("the ghillie on duty"),
    Who.KEEPER: say("the keepers"),
    Who.OWNER: say("the owner"),
    Who.CONTACT: say("your emergency contact"),
}


def in_words(
    ladder: Ladder, *, alarm_at: dt.datetime, alone: bool, reached_by: Mapping[Who, Collection[By]]
) -> list[str]:
    """The ladder as the angler is told it at check-in; `alarm_at` in the river's own zone.

    `reached_by`: the ways that exist and reach each of those on the ladder. Whoever no way reaches is named at
    the end and promised nothing.
    """
    steps = _steps(ladder, alarm_at, reached_by)
    first = _until_answered(joined(steps, ", "), ladder.stages[-1].repeat) if steps else NOBODY_REACHED
    told: list[str] = [first]
    named = dict.fromkeys(who for stage in ladder.stages for who in stage.who)
    if unreached := [NAMES[who] for who in named if not reached_by.get(who)]:
        told.append(
            say("We have no way to reach {names}: no address or number is known that can be used here.",
                names=_listed(unreached))
        )  # fmt: skip
    if steps:
        told.append(
            say(
                "The last of these messages holds what 999 asks for. Ringing 999 is for a person: "
                "we do not ring it."
            )
        )
    if ladder.quiet and not alone and any(By.VOICE in ways for ways in reached_by.values()):
        start, end = ladder.quiet
        told.append(
            say(
                "Between {start:%H:%M} and {end:%H:%M} nobody is rung for a party in company; they "
                "are written to.",
                start=start,
                end=end,
            )
        )
    return told


NOBODY_REACHED = say(
    "If you do not come back, nobody can be told: this service has no way to reach anybody. Tell somebody on the "
    "bank when to ring 999."
)


def _steps(ladder: Ladder, alarm_at: dt.datetime, reached_by: Mapping[Who, Collection[By]]) -> list[str]:
    """One for each stage that reaches anybody, the first with what sets it off."""
    steps: list[str] = []
    for stage in ladder.stages:
        if what := _told(stage, reached_by):
            at = alarm_at + stage.after
            steps.append(
                say("then at {at:%H:%M} we {what}", at=at, what=what)
                if steps
                else say("If we have not heard from you by {at:%H:%M} we {what}", at=at, what=what)
            )
    return steps


def _until_answered(steps: str, repeat: dt.timedelta | None) -> str:
    if repeat:
        return say(
            "{steps}, and again every {minutes} min, until somebody answers for it by name.",
            steps=steps, minutes=repeat // MINUTE,
        )  # fmt: skip
    return say("{steps} until somebody answers for it by name.", steps=steps)


def _told(stage: Stage, reached_by: Mapping[Who, Collection[By]]) -> str:
    """What is done for those of a stage, by the strongest way that reaches each; empty where none does."""
    by_verb: dict[By, list[str]] = {By.VOICE: [], By.TEXT: [], By.EMAIL: []}
    for who in stage.who:
        ways = set(stage.by) & set(reached_by.get(who, ()))
        strongest = next((by for by in by_verb if by in ways), None)
        if strongest is not None:
            by_verb[strongest].append(NAMES[who])
    said = []
    if by_verb[By.VOICE]:
        said.append(say("ring {names}", names=_listed(by_verb[By.VOICE])))
    if by_verb[By.TEXT]:
        said.append(say("text {names}", names=_listed(by_verb[By.TEXT])))
    if by_verb[By.EMAIL]:
        said.append(say("write to {names}", names=_listed(by_verb[By.EMAIL])))
    return _listed(said) if said else ""


def _listed(names: Sequence[str]) -> str:
    if len(names) == 1:
        return names[0]
    return say("{several} and {last}", several=joined(names[:-1], ", "), last=names[-1])
