"""The return of a fishery for a season, from the book."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Max, Min, Q, Sum

from beats.close_times import close_time
from beats.models import Fishery
from beats.queries import local_day
from beats.season import SUNDAY, Season, season
from beats.shared.phrases import say
from sessions.effort import MonthEffort
from sessions.efforts import season_effort
from sessions.models import Catch, CatchQuerySet, MonthStatement, ReviewAnswer
from sessions.month_records import Evidence, Record, obstacles, record_of, season_record
from sessions.monthly import CLASSES, Fish, Month, table, totals
from sessions.old_totals import old_months
from sessions.plausible import may_hold_doubts
from sessions.review import Asked, Finding, from_old_books, review, with_answers
from sessions.review_fish import doubtful, factor, open_by_month
from sessions.snapshot import content_hash, snapshot


@dataclass(frozen=True)
class SeasonReturn:
    """The monthly table of one season, and where its effort comes from.

    `state` is "data" when anything was caught or fished, "nil" when every month is stated to be without fishing,
    else "no_record". `record` is that of the season. `rod_days` are of the months that have any on record, None
    where none has. `rod_days_checked_in` counts the rods seen on the water by a check-in: where it differs from
    the rod-days let, ask why before signing anything. `made_of` is "months" where the season has monthly totals
    instead of fish. `obstacles` say why it cannot be signed.
    """

    fishery: Fishery
    year: int
    season: Season | None
    state: str
    record: Record
    months: list[Month]
    evidence: dict[int, Evidence]
    rod_days: int | None
    totals: dict
    rod_days_checked_in: int
    notes: list[str]
    effort: list[MonthEffort]
    snapshot: dict
    content_hash: str
    findings: list[Finding]
    obstacles: list[str]
    made_of: str = "fish"

    @property
    def known_totals(self) -> dict | None:
        """None where no month has a record."""
        return self.totals if any(month.recorded for month in self.months) else None

    @property
    def without_record(self) -> list[int]:
        return [month.month for month in self.months if not month.recorded]

    @property
    def with_record(self) -> list[int]:
        return [month.month for month in self.months if month.recorded]

    @property
    def questions(self) -> list[Finding]:
        """Those without an answer."""
        return [one for one in self.findings if not one.answer]


def season_return(fishery: Fishery, year: int, *, now: dt.datetime) -> SeasonReturn:
    """The statutory monthly table for a calendar year, up to today at the river. Twelve queries."""
    today = local_day(fishery, now)
    law = season(close_time(fishery.district), year)
    months = law_months(law)
    effort = season_effort(fishery, year, today=today, months=months)
    every, old = _days(fishery, year), old_months(fishery, year)
    days = [row for row in every if row["kind"] in CLASSES]
    made_of = "fish" if days or not old.fish else "months"
    fish = _fish(days) if made_of == "fish" else old.fish
    evidence = _evidence(months, effort, fish, every)
    stated = statements(fishery, year)
    records = {month: record_of(stated.get(month), held) for month, held in evidence.items()}
    rows = table(
        fish, rod_days=_rod_days(records, evidence), records=records,
        fished=[month for month, held in evidence.items() if held.fished],
    )  # fmt: skip
    rod_days, sums = totals(rows)
    state = _state(records, rod_days)
    made = snapshot(rows, fishery=fishery.name, district=fishery.district, season=year, state=state)
    findings = [
        *review(rows, made, _asked(fishery, year, days, law, now=now), effort=effort),
        *from_old_books(sum(row["number"] for row in days), sum(one.number for one in old.fish), old.books),
    ]
    return SeasonReturn(
        fishery=fishery, year=year, season=law, state=state, record=season_record(records), months=rows,
        evidence=evidence, rod_days=rod_days, totals=sums,
        rod_days_checked_in=sum(each.checked_in for each in effort),
        effort=effort, notes=_notes(sums, law, year, today), snapshot=made, content_hash=content_hash(made),
        findings=with_answers(findings, _answers(fishery, year)),
        obstacles=obstacles(records, law=law, year=year, today=today), made_of=made_of,
    )  # fmt: skip


def law_months(law: Season | None) -> range:
    """The months of the rod season by law."""
    return range(law.first_on.month, law.last_on.month + 1) if law else range(0)


def _state(records: Mapping[int, Record], rod_days: int | None) -> str:
    if rod_days or {Record.CAUGHT, Record.NONE_CAUGHT} & set(records.values()):
        return "data"
    return "no_record" if season_record(records) is Record.NO_RECORD else "nil"


def _evidence(
    months: Iterable[int], effort: list[MonthEffort], fish: list[Fish], days: list[dict]
) -> dict[int, Evidence]:
    """What the book holds of each month of the season, and of any other month with anything in it."""
    caught, other = Counter[int](), Counter[int]()
    for one in fish:
        caught[one.month] += one.number
    for row in days:
        other[row["caught_on"].month] += row["number"] * (row["kind"] not in CLASSES)
    efforts = {each.month: each for each in effort}
    found = {
        month: Evidence(caught[month], other[month], efforts[month].checked_in, efforts[month].counted)
        if month in efforts
        else Evidence(caught[month], other[month])
        for month in {*months, *efforts, *caught, *other}
    }
    return {month: found[month] for month in sorted(found) if month in months or found[month].fished}


def _rod_days(records: Mapping[int, Record], evidence: Mapping[int, Evidence]) -> dict[int, int | None]:
    return {
        month: 0 if record is Record.NO_FISHING else evidence[month].rod_days for month, record in records.items()
    }


def _notes(sums: dict, law: Season | None, year: int, today: dt.date) -> list[str]:
    unweighed = sum(cell.unweighed for kinds in sums.values() for cell in kinds.values())
    notes = [
        say("A rod let and not cancelled counts as fished on each of its days up to today; blank days count.")
    ]
    if unweighed:
        notes.append(
            say("{count} fish have no weight in the book, so the total weights leave them out.", count=unweighed)
        )
    if today.year == year and law and today <= law.last_on:
        notes.append(say("The season is not over: these figures will grow."))
    return notes


def statements(fishery: Fishery, year: int) -> dict[int, str]:
    """The owner's last statement on each month. One query."""
    rows = MonthStatement.objects.filter(fishery=fishery, season=year).order_by("id")
    return dict(rows.values_list("month", "record"))


def _answers(fishery: Fishery, year: int) -> dict[tuple[str, int | None, str], str]:
    rows = ReviewAnswer.objects.filter(fishery=fishery, season=year).order_by("id")
    return {(row.code, row.month, row.question): row.reason for row in rows}


def counted(fishery: Fishery, year: int) -> CatchQuerySet:
    """The fish a season's return is made of."""
    return Catch.objects.standing().filter(beat__fishery=fishery, caught_on__year=year, kind__in=CLASSES)


def _days(fishery: Fishery, year: int) -> list[dict]:
    """The fish of each day, kind and fate, in one question; SQLite is slow to tell the month of a date."""
    fish = Catch.objects.standing().filter(beat__fishery=fishery, caught_on__year=year)
    days = fish.order_by().values("caught_on", "kind", "fate")
    return list(
        days.annotate(
            number=Count("id"),
            weight=Sum("weight_kg"),
            unweighed=Count("id", filter=Q(weight_kg__isnull=True)),
            flagged=Count("id", filter=~Q(flag="")),
            lightest=Min("weight_kg"),
            heaviest=Max("weight_kg"),
            shortest=Min("length_cm"),
            longest=Max("length_cm"),
            thinnest=Min(factor()),
            fattest=Max(factor()),
        )
    )


def _asked(fishery: Fishery, year: int, days: list[dict], law: Season | None, *, now: dt.datetime) -> Asked:
    """What the review is told of the book, in numbers. Two queries."""
    today = local_day(fishery, now)

    def outside(day: dt.date) -> bool:
        return day.weekday() == SUNDAY or (law is not None and not law.first_on <= day <= law.last_on)

    return Asked(
        outside=sum(row["number"] for row in days if outside(row["caught_on"])),
        flagged=sum(row["flagged"] for row in days),
        doubtful=_doubtful(fishery, year, days),
        open_outings=open_by_month(fishery, year, now=now),
        begun=[month for month in range(1, 13) if dt.date(year, month, 1) <= today],
    )


def _doubtful(fishery: Fishery, year: int, days: list[dict]) -> dict[int, int]:
    """How many fish of each month are of unlikely size. One query, of the days alone that may have any."""
    suspected = {
        row["caught_on"]
        for row in days
        if may_hold_doubts(
            row["kind"], month=row["caught_on"].month, weights_kg=(row["lightest"], row["heaviest"]),
            lengths_cm=(row["shortest"], row["longest"]), factors=(row["thinnest"], row["fattest"]),
        )
    }  # fmt: skip
    odd = counted(fishery, year).filter(doubtful(), caught_on__in=suspected).order_by()
    found = Counter[int]()
    for day, number in odd.values("caught_on").annotate(number=Count("id")).values_list("caught_on", "number"):
        found[day.month] += number
    return found


def _fish(days: list[dict]) -> list[Fish]:
    return [
        Fish(row["caught_on"].month, row["kind"], row["fate"], row["number"], _kg(row["weight"]), row["unweighed"])
        for row in days
    ]


def _kg(total: Decimal | None) -> Decimal:
    """A sum to the hundredth of a kilogram it is written in: SQLite adds decimals as floats, which this undoes."""
    return (total or Decimal(0)).quantize(Decimal("0.01"))
