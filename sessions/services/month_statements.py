"""What the owner states of a season's months, and answers to the questions of its review."""

import datetime as dt

from beats.audit import record as audit
from beats.models import Fishery, User
from beats.queries import Role, local_day, require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from sessions.models import MonthStatement, ReviewAnswer
from sessions.month_records import Evidence, Record, contradiction, month_ends, month_name, not_begun
from sessions.queries import rods_let
from sessions.returns import SeasonReturn, season_return
from sessions.review import ONLY_BY_RECORD


class NotAMonthOfTheSeason(Refusal):
    """The rods may not fish in that month, and nothing is on record of it."""

    code = "not-a-month-of-the-season"
    title = say("Not a month of the season")
    status = 400


class NotYetKnown(Refusal):
    """The season or the month is not over, so that cannot be known of it."""

    code = "not-yet-known"
    title = say("Not over yet")


class ContradictsRecord(Refusal):
    """The book says otherwise."""

    code = "contradicts-record"
    title = say("The record says otherwise")


class NoSuchQuestion(Refusal):
    """The review does not ask that, or no longer."""

    code = "no-such-question"
    title = say("Not asked any more")


class NeedsRecord(Refusal):
    """A question that only a statement or a correction settles."""

    code = "needs-record"
    title = say("An answer in words is not enough")


def state_month(
    fishery: Fishery,
    season: int,
    *,
    month: int,
    record: str,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[MonthStatement, bool]:
    """State that a month was not fished, or was fished and nothing caught; "no_record" takes that back.

    Returns (statement, new?). Raises NotAMonthOfTheSeason, NotYetKnown, ContradictsRecord, NotYours, KeyReused.
    """
    require_role(by, fishery, Role.OWNER)

    def make(columns: dict) -> MonthStatement:
        locked(Fishery.objects, pk=fishery.pk)
        if record != Record.NO_RECORD:
            _refuse_what_cannot_be(fishery, season, month, record, now=now)
        facts = {"season": season, "month": month, "record": record}
        made = MonthStatement.objects.create(fishery=fishery, stated_by=by, stated_at=now, **facts, **columns)
        audit("state month", made, by=by, now=now, fishery=fishery, after=facts)
        return made

    return make_once(MonthStatement, by=by, once=once, make=make)


def _refuse_what_cannot_be(fishery: Fishery, season: int, month: int, record: str, *, now: dt.datetime) -> None:
    made, today = season_return(fishery, season, now=now), local_day(fishery, now)
    if early := not_begun(made.season, season, today):
        raise NotYetKnown(early)
    if month not in made.evidence:
        told = say("{month} is no month of this season.", month=month_name(month))
        raise NotAMonthOfTheSeason(told, errors={"month": [told]})
    if record == Record.NONE_CAUGHT and month_ends(made.season, season, month) >= today:
        raise NotYetKnown(
            say("{month} is not over. State that none was caught when it is.", month=month_name(month))
        )
    held = _with_days_to_come(fishery, season, month, made)
    if against := contradiction(record, month, held):
        raise ContradictsRecord(against)


def _with_days_to_come(fishery: Fishery, season: int, month: int, made: SeasonReturn) -> Evidence:
    """What the book holds of a month, the rod-days let on days to come included."""
    held = made.evidence[month]
    decided = next((each.decided for each in made.effort if each.month == month), None)
    if held.rod_days or decided is not None:
        return held
    days = rods_let(fishery).filter(day__year=season, day__month=month)
    return Evidence(held.fish, held.other_fish, held.check_ins, days.count())


def answer_question(
    fishery: Fishery,
    season: int,
    *,
    code: str,
    month: int | None,
    reason: str,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[ReviewAnswer, bool]:
    """Answer a question of the review: it is right as it stands, and why. Other figures ask again.

    Returns (answer, new?). Raises NoSuchQuestion, NeedsRecord, NotYours, KeyReused.
    """
    require_role(by, fishery, Role.OWNER)

    def make(columns: dict) -> ReviewAnswer:
        if code in ONLY_BY_RECORD:
            raise NeedsRecord(say("State what happened in that month, or enter its fish; then it is settled."))
        asked = [one for one in season_return(fishery, season, now=now).questions if one.code == code]
        found = next((one for one in asked if one.month == month), None)
        if found is None:
            raise NoSuchQuestion(say("The review does not ask that any more. Read its list again."))
        facts = {"season": season, "code": code, "month": month, "question": str(found.sentence), "reason": reason}
        made = ReviewAnswer.objects.create(fishery=fishery, answered_by=by, answered_at=now, **facts, **columns)
        audit("answer review", made, by=by, now=now, fishery=fishery, after=facts)
        return made

    return make_once(ReviewAnswer, by=by, once=once, make=make)
