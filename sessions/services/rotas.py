"""Working out a week's rota from the book, and publishing it."""

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction
from django.db.models import Max

from beats.audit import record
from beats.models import Beat, DayPart, PoolClosure, User
from beats.queries import Role, level_at, local_day, require_role
from beats.shared import words
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import RodDay
from sessions.models import Rota, Turn
from sessions.rotation import Place, Problem, Rod

if TYPE_CHECKING:
    from sessions.rotation.solve import Answer

TRIES = 5


class BadWeek(Refusal):
    """The rota's first day is not a Monday, or nothing is let that week."""

    code = "bad-week"
    title = "No such week to plan"
    status = 400


class NotDraft(Refusal):
    """Only a draft can be published."""

    code = "not-a-draft"
    title = "Not a draft"


@dataclass(frozen=True)
class _Week:
    """The week as the book has it: the problem to solve, and what each solver key stands for."""

    problem: Problem
    rod_days: dict[tuple[str, dt.date], RodDay]
    pools: dict[str, Any]
    parts: dict[str, DayPart]
    notes: list[str]


def plan_rota(
    beat: Beat,
    *,
    first_on: dt.date,
    by: User,
    now: dt.datetime,
    level_m: float | None = None,
    once: Once | None = None,
) -> tuple[Rota, bool]:
    """Work out the fairest rota for the week that starts on Monday `first_on`; a new draft.

    `level_m` is the gauge level to expect; without it the newest reading counts if it is fresh.
    Solving happens outside any transaction. Raises BadWeek, NoRota, NotYours, KeyReused.
    """
    require_role(by, beat.fishery, Role.OWNER, Role.GHILLIE)
    if first_on.weekday() != 0:
        raise BadWeek("A rota starts on a Monday.", errors={"first_on": ["Give the Monday of the week."]})
    if earlier := made_earlier(Rota, by=by, once=once):
        return earlier, False
    week = _week(beat, first_on, level_m=level_m, now=now)
    answer = _solve(week.problem)
    certificate = _certificate(week, answer)

    def make(columns: dict[str, Any]) -> Rota:
        rota = _next_version(beat, first_on, certificate=certificate, now=now, columns=columns)
        Turn.objects.bulk_create(_turns(rota, week, answer))
        facts = {"beat": beat.slug, "first_on": first_on, "version": rota.version}
        record("plan rota", rota, by=by, now=now, fishery=beat.fishery, after=facts)
        return rota

    return make_once(Rota, by=by, once=once, make=make)


@transaction.atomic
def publish_rota(rota: Rota, *, by: User, now: dt.datetime) -> Rota:
    """Make a draft the week's rota; the one before it is kept as superseded."""
    require_role(by, rota.beat.fishery, Role.OWNER, Role.GHILLIE)
    locked(Beat.objects, pk=rota.beat_id)
    rota = locked(Rota.objects.select_related("beat__fishery"), pk=rota.pk)
    if rota.status == Rota.Status.PUBLISHED:
        return rota
    if rota.status != Rota.Status.DRAFT:
        raise NotDraft("A newer rota has replaced this one. Plan the week again, then publish that.")
    week = Rota.objects.filter(beat=rota.beat, first_on=rota.first_on, status=Rota.Status.PUBLISHED)
    week.update(status=Rota.Status.SUPERSEDED)
    rota.status, rota.published_at = Rota.Status.PUBLISHED, now
    rota.save(update_fields=["status", "published_at"])
    record("publish rota", rota, by=by, now=now, fishery=rota.beat.fishery, after={"version": rota.version})
    return rota


def _week(beat: Beat, first_on: dt.date, *, level_m: float | None, now: dt.datetime) -> _Week:
    last_on = first_on + dt.timedelta(days=6)
    claims = RodDay.objects.filter(beat=beat, day__range=(first_on, last_on)).select_related("guest", "let")
    rod_days = {(_key(claim), claim.day): claim for claim in claims.order_by("day", "rod")}
    if not rod_days:
        raise BadWeek(f"Nothing is let on {beat.name} in the week of {words.day(first_on)}, so nobody to move.")
    level, notes = _level(beat, first_on, level_m, now)
    pools = {pool.slug: pool for pool in beat.pools.filter(retired=False).order_by("order", "id")}
    parts = {part.slug: part for part in beat.fishery.parts.order_by("starts")}
    problem = Problem(
        rods=_rods(rod_days),
        places=tuple(
            Place(slug, pool.name, pool.order, pool.rods_at_once, pool.wading_grade, pool.worth, pool.boat)
            for slug, pool in pools.items()
        ),
        parts=tuple(parts),
        closed=_closed(beat, pools, {day for _, day in rod_days}, level),
        boats=beat.boats,
    )
    return _Week(problem, rod_days, pools, parts, notes)


def _solve(problem: Problem) -> "Answer":
    from sessions.rotation.solve import solve  # noqa: PLC0415 - slow to load, and only planning needs it

    return solve(problem)


def _key(claim: RodDay) -> str:
    """Whose rod it is: a named guest wherever they stand, else the let's rod."""
    return f"guest {claim.guest_id:08}" if claim.guest_id else f"let {claim.let_id:08} rod {claim.rod:03}"


def _rods(rod_days: dict[tuple[str, dt.date], RodDay]) -> tuple[Rod, ...]:
    keys = sorted({key for key, _ in rod_days})
    rods = []
    for key in keys:
        days = tuple(sorted(day for other, day in rod_days if other == key))
        claim = rod_days[key, days[0]]
        # Nobody knows an unnamed guest's wading, so they are kept to the easiest pools.
        name, wading = (claim.guest.name, claim.guest.wading_grade) if claim.guest else (f"Rod {claim.rod}", 0)
        rods.append(Rod(key, name, days, wading))
    return tuple(rods)


def _level(
    beat: Beat, first_on: dt.date, level_m: float | None, now: dt.datetime
) -> tuple[float | None, list[str]]:
    """The level to work with; today's reading says nothing of another week."""
    if level_m is not None:
        return level_m, [f"Worked out for {level_m:.2f} m on the gauge, as given."]
    if not 0 <= (local_day(beat.fishery, now) - first_on).days < 7:
        return None, ["The level of another week is not known, so no pool was left out for its height."]
    level = level_at(beat, now)
    if level is None or level.level_m is None or level.stale:
        return None, ["No fresh level is known, so no pool was left out for its height. Look at the river."]
    return level.level_m, [f"Worked out for {level.words}"]


def _closed(
    beat: Beat, pools: dict[str, Any], days: set[dt.date], level_m: float | None
) -> dict[tuple[dt.date, str], str]:
    closed: dict[tuple[dt.date, str], str] = {}
    for closure in PoolClosure.objects.filter(pool__beat=beat).select_related("pool"):
        closed |= {
            (day, closure.pool.slug): closure.reason for day in days if closure.from_on <= day <= closure.to_on
        }
    if level_m is None:
        return closed
    for slug, pool in pools.items():
        low = pool.level_min_m is not None and level_m < pool.level_min_m
        high = pool.level_max_m is not None and level_m > pool.level_max_m
        if low or high:
            closed |= {(day, slug): "too low" if low else "too high" for day in days}
    return closed


def _next_version(beat: Beat, first_on: dt.date, *, certificate: dict, now: dt.datetime, columns: dict) -> Rota:
    for _ in range(TRIES):
        newest = Rota.objects.filter(beat=beat, first_on=first_on).aggregate(version=Max("version"))["version"]
        try:
            with transaction.atomic():
                return Rota.objects.create(
                    beat=beat, first_on=first_on, version=(newest or 0) + 1, certificate=certificate,
                    made_at=now, **columns,
                )  # fmt: skip
        except IntegrityError:
            if (
                columns["request_key"]
                and Rota.objects.filter(made_by=columns["made_by"], request_key=columns["request_key"]).exists()
            ):
                raise
    raise NotDraft("Others are planning this week at the same moment. Look at theirs first.")


def _turns(rota: Rota, week: _Week, answer: "Answer") -> list[Turn]:
    claims = [(step, week.rod_days[step.rod, step.day]) for step in answer.steps]
    return [
        Turn(rota=rota, day=step.day, part=week.parts[step.part], rod=claim.rod, guest=claim.guest,
             pool=week.pools[step.pool])
        for step, claim in claims
    ]  # fmt: skip


def _certificate(week: _Week, answer: "Answer") -> dict[str, Any]:
    """What was reached and how sure it is, for the screen."""
    names = {rod.key: rod.name for rod in week.problem.rods}
    closed: dict[str, set[str]] = {}
    for (_, slug), reason in week.problem.closed.items():
        closed.setdefault(week.pools[slug].name, set()).add(reason)
    return {
        "status": "proven best" if answer.proven else "best found",
        "goals": [
            {
                "name": goal.name,
                "value": round(float(goal.value), 3),
                "bound": round(float(goal.bound), 3),
                "proven": goal.proven,
            }
            for goal in answer.goals
        ],
        "worth_by_rod": [
            {"rod": names[key], "worth_per_turn": round(float(worth), 3)}
            for key, worth in sorted(answer.worth.items())
        ],
        "second_visits": answer.repeats,
        "closed_pools": {name: sorted(reasons) for name, reasons in sorted(closed.items())},
        "notes": week.notes,
    }
