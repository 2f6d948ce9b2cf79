"""May salmon be fished for with rod and line on this day, and must every fish go back?

The law is dates in a table, one row per statutory district, plus a weekly rule and a yearly grade:

* annual close time, and the rod periods inside it: Conservation of Salmon (Annual Close Time and
  Catch and Release) (Scotland) Regulations 2014, SSI 2014/327, Schedule;
* Sunday: Salmon and Freshwater Fisheries (Consolidation) (Scotland) Act 2003, section 13. The rest
  of the weekly close time (Friday 18:00 to Monday 06:00) allows rod and line;
* conservation grade: Conservation of Salmon (Scotland) Regulations 2016, SSI 2016/115. It changes
  on 1 April, inside the season, so it is looked up by date.

A fishery's own rules are laid on top and can only make a day stricter. Not legal advice.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from beats.shared import words
from beats.shared.phrases import Phrase, say
from beats.shared.refusals import Refusal

SUNDAY = 6
ACT_2003 = "Salmon and Freshwater Fisheries (Consolidation) (Scotland) Act 2003, s.13"
SSI_2016 = "SSI 2016/115, Schedule 2 as replaced each year"


class Status(StrEnum):
    """How a day stands, from freest to strictest."""

    OPEN = "open"
    RELEASE_ONLY = "release_only"
    CLOSED = "closed"

    @property
    def strictness(self) -> int:
        return list(Status).index(self)


class Grade(StrEnum):
    """Conservation grade of a river (until 2024 called category 1, 2 and 3)."""

    GOOD = "good"
    MODERATE = "moderate"
    POOR = "poor"


class LawNotHeld(Refusal):
    """The table says nothing about so early a day."""

    code = "law-not-held"
    title = say("No law held for that day")


@dataclass(frozen=True, order=True)
class MonthDay:
    """A day of the year, without a year."""

    month: int
    day: int

    @classmethod
    def of(cls, day: dt.date) -> "MonthDay":
        return cls(day.month, day.day)

    @classmethod
    def parse(cls, text: str) -> "MonthDay":
        """Read "MM-DD"; raises ValueError when there is no such day in a leap year."""
        moment = dt.datetime.strptime(f"2024-{text}", "%Y-%m-%d")
        return cls(moment.month, moment.day)

    def __str__(self) -> str:
        return f"{self.month:02}-{self.day:02}"

    @property
    def words(self) -> Phrase:
        return say("{date.day} {date:%B}", date=dt.date(2024, self.month, self.day))


@dataclass(frozen=True)
class Period:
    """Days of every year from `start` to `end`, both included; may run over New Year."""

    start: MonthDay
    end: MonthDay

    def holds(self, day: dt.date) -> bool:
        here = MonthDay.of(day)
        if self.start <= self.end:
            return self.start <= here <= self.end
        return here >= self.start or here <= self.end

    @property
    def words(self) -> Phrase:
        return say("{start} to {end}", start=self.start.words, end=self.end.words)


@dataclass(frozen=True)
class CloseTime:
    """One row of the statutory schedule."""

    entry: str
    district: str
    part: str
    closed: Period
    rods: Period | None
    release: Period | None
    note: str
    source: str
    valid_from: dt.date

    @property
    def name(self) -> str:
        return f"{self.district}, {self.part}" if self.part else self.district


@dataclass(frozen=True)
class HouseRule:
    """A fishery's own stricter rule. `status` is CLOSED or RELEASE_ONLY, never OPEN."""

    status: Status
    period: Period
    reason: str

    def __post_init__(self) -> None:
        if self.status is Status.OPEN:
            raise ValueError("a house rule may only be stricter than the law: closed or release_only")


@dataclass(frozen=True)
class Reason:
    """Why a day stands as it does: what follows, in words, and who says so."""

    status: Status
    text: str
    source: str
    fish: str = "salmon and sea trout"


@dataclass(frozen=True)
class Ruling:
    """The answer for one day: the strictest reason decides; `cautions` are doubts to pass on."""

    day: dt.date
    status: Status
    reasons: tuple[Reason, ...]
    cautions: tuple[str, ...]

    @property
    def sentence(self) -> str:
        what = self.reasons[0].text
        return say("{weekday} {day.year}: {what}", weekday=words.weekday(self.day), day=self.day, what=what)


@dataclass(frozen=True)
class Season:
    """The lawful rod season of one calendar year: first and last day, and how many days."""

    first_on: dt.date
    last_on: dt.date
    days: int
    release_only_days: int


def ruling(
    close_time: CloseTime,
    day: dt.date,
    *,
    grades: Iterable[tuple[dt.date, Grade]] = (),
    house_rules: Iterable[HouseRule] = (),
) -> Ruling:
    """How `day` stands in a district. `grades` are (from, grade) pairs in any order.

    Raises LawNotHeld for a day before the table came into force.
    """
    if day < close_time.valid_from:
        raise LawNotHeld(
            say(
                "The close times held here are in force from {from_}. For {day} look in the older law.",
                from_=words.day(close_time.valid_from),
                day=words.day(day),
            )
        )
    grade = _grade_on(day, grades)
    reasons = [_by_schedule(close_time, day)]
    if day.weekday() == SUNDAY:
        reasons.append(Reason(Status.CLOSED, say("Nobody may fish for salmon on a Sunday."), ACT_2003))
    if grade is Grade.POOR:
        text = say("The river's conservation grade is poor: every salmon goes back.")
        reasons.append(Reason(Status.RELEASE_ONLY, text, SSI_2016, fish="salmon"))
    reasons += [
        Reason(rule.status, _as_the_house_has_it(rule), say("the fishery's own rule"))
        for rule in house_rules
        if rule.period.holds(day)
    ]
    reasons.sort(key=lambda reason: -reason.status.strictness)  # stable: the law is named before the house
    return Ruling(day, reasons[0].status, tuple(reasons), _cautions(close_time, grade))


def season(close_time: CloseTime, year: int) -> Season | None:
    """The statutory rod season of a calendar year, Sundays left out; None if there is none.

    When the first or last date of a period is a Sunday the season begins the Monday after or ends
    the Saturday before.
    """
    start = dt.date(year, 1, 1)
    days = [start + dt.timedelta(days=n) for n in range(366 if _leap(year) else 365)]
    rulings = [ruling(close_time, day) for day in days if day >= close_time.valid_from]
    fishable = [answer for answer in rulings if answer.status is not Status.CLOSED]
    if not fishable:
        return None
    released = sum(answer.status is Status.RELEASE_ONLY for answer in fishable)
    return Season(fishable[0].day, fishable[-1].day, len(fishable), released)


def _by_schedule(close_time: CloseTime, day: dt.date) -> Reason:
    """What the schedule alone says of a day."""
    where = say("{name} district", name=close_time.name)
    if close_time.rods and close_time.rods.holds(day):
        text = say(
            "Open to rods: {where}, {period}, inside the close time for nets.",
            where=where,
            period=close_time.rods.words,
        )
        return Reason(Status.OPEN, text, f"{close_time.source}, column 3")
    if close_time.release and close_time.release.holds(day):
        text = say("Catch and release only: {where}, {period}.", where=where, period=close_time.release.words)
        return Reason(Status.RELEASE_ONLY, text, f"{close_time.source}, column 4")
    if close_time.closed.holds(day):
        text = say(
            "Closed: annual close time of the {where}, {period}, with no rod period on this day.",
            where=where,
            period=close_time.closed.words,
        )
        return Reason(Status.CLOSED, text, f"{close_time.source}, column 2")
    text = say("Open: outside the annual close time of the {where}.", where=where)
    return Reason(Status.OPEN, text, close_time.source)


def _as_the_house_has_it(rule: HouseRule) -> Phrase:
    return say("House rule, {period}: {reason}", period=rule.period.words, reason=rule.reason)


def _grade_on(day: dt.date, grades: Iterable[tuple[dt.date, Grade]]) -> Grade | None:
    begun = sorted((since, grade) for since, grade in grades if since <= day)
    return begun[-1][1] if begun else None


def _cautions(close_time: CloseTime, grade: Grade | None) -> tuple[str, ...]:
    doubts = [close_time.note] if close_time.note else []
    if grade is None:
        doubts.append(
            say(
                "No conservation grade is recorded for this day. Until it is, treat every salmon as one to "
                "return and ask the district board."
            )
        )
    return tuple(doubts)


def _leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
