"""When an outing is due, when the alarm follows, and which times are refused."""

import datetime as dt
from dataclasses import dataclass

from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import Refusal


class BadDueBack(Refusal):
    """A due-back time that nobody can keep or that the beat does not allow."""

    code = "bad-due-back"
    title = say("Choose a different time off the water")
    status = 400

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, errors={"due_back_at": [sentence]})


@dataclass(frozen=True)
class Policy:
    """A beat's word on outings, in minutes."""

    longest_minutes: int
    grace_minutes: int
    lone_grace_minutes: int


@dataclass(frozen=True)
class Deadline:
    """Due back, and the instant the alarm is raised when nothing has been heard."""

    due_back_at: dt.datetime
    alarm_at: dt.datetime


def deadline(
    policy: Policy,
    *,
    due_back_at: dt.datetime,
    checked_in_at: dt.datetime,
    alone: bool,
    now: dt.datetime,
    zone: dt.tzinfo = dt.UTC,
) -> Deadline:
    """The deadline a due-back time makes, all instants aware; a refusal speaks in `zone`.

    Raises BadDueBack when it is past, before check-in, or beyond the beat's longest outing.
    """
    if due_back_at <= checked_in_at:
        raise BadDueBack(
            say("The time off the water is not after check-in. Give the time you will be off the water.")
        )
    if due_back_at <= now:
        raise BadDueBack(say("That time is already past. Give a time still to come, or check out."))
    latest = checked_in_at + dt.timedelta(minutes=policy.longest_minutes)
    if due_back_at > latest:
        hours = policy.longest_minutes / 60
        raise BadDueBack(
            say(
                "An outing on this beat lasts {hours:g} hours at most, so be off the water by {words_instant}. "
                "Check out then and in again if you go on.",
                hours=hours,
                words_instant=words.instant(latest.astimezone(zone)),
            )
        )
    return Deadline(due_back_at, alarm_at(policy, due_back_at=due_back_at, alone=alone))


def alarm_at(policy: Policy, *, due_back_at: dt.datetime, alone: bool) -> dt.datetime:
    """When the alarm is raised, if nothing is heard of somebody due back then."""
    grace = policy.lone_grace_minutes if alone else policy.grace_minutes
    return due_back_at + dt.timedelta(minutes=grace)


def warn_at(minutes: int, *, due_back_at: dt.datetime, now: dt.datetime) -> dt.datetime | None:
    """When the angler is reminded before due back; None when not, or when that instant has passed."""
    at = due_back_at - dt.timedelta(minutes=minutes)
    return at if minutes and at > now else None


def contact_due(minutes: int, *, alone: bool, now: dt.datetime) -> dt.datetime | None:
    """By when a lone angler, heard from at `now`, says again that all is well; None in company."""
    return now + dt.timedelta(minutes=minutes) if alone and minutes else None


def one_tap(due_back_at: dt.datetime, *, minutes: int, now: dt.datetime) -> dt.datetime:
    """So many minutes more, from the time back or from now, whichever is later."""
    return max(due_back_at, now) + dt.timedelta(minutes=minutes)
