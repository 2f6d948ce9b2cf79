"""A week as the book has it, put as the question the rota engine answers."""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

from beats.models import Beat, DayPart, Fishery, Pool, PoolClosure
from beats.queries import level_at, local_day
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from bookings.models import Let, RodDay
from sessions.models import Rota, Turn
from sessions.rotation import Discounts, Place, Policy, Problem, Rod, Step
from sessions.rotation.pace import Pace, holds
from sessions.services.tides import closed_by_the_tide

METRES_A_DEGREE = 111_320.0


class BadWeek(Refusal):
    """The rota's first day is not a Monday, or nothing is let that week."""

    code = "bad-week"
    title = say("No such week to plan")
    status = 400


@dataclass(frozen=True)
class Week:
    """The question, and what each of its keys stands for. `notes` say what was not known.

    `forbidden` are turns of the rest of today that the conditions forbid, each with its reason.
    """

    problem: Problem
    claims: dict[tuple[str, dt.date], RodDay]
    pools: dict[str, Pool]
    parts: dict[str, DayPart]
    notes: list[str]
    forbidden: Mapping[Step, str] = field(default_factory=dict)

    def steps(self, rota: Rota) -> list[Step]:
        """A stored rota's turns as the engine names them; turns of rods no longer let are left out."""
        keys = {(claim.day, claim.rod): key for (key, _), claim in self.claims.items()}
        turns = rota.turns.select_related("part", "pool").order_by("day", "part__starts", "rod")
        return [
            Step(turn.day, turn.part.slug, keys[turn.day, turn.rod], turn.pool.slug)
            for turn in turns
            if (turn.day, turn.rod) in keys and turn.pool.slug in self.pools
        ]

    def step(self, turn: Turn) -> Step:
        """A turn as the engine names it; raises BadWeek when its rod is no longer let."""
        keys = [key for (key, day), claim in self.claims.items() if (day, claim.rod) == (turn.day, turn.rod)]
        if not keys:
            raise BadWeek(
                say(
                    "Rod {turn_rod} is no longer let on {words_weekday}. Plan the week anew.",
                    turn_rod=turn.rod,
                    words_weekday=words.weekday(turn.day),
                )
            )
        return Step(turn.day, turn.part.slug, keys[0], turn.pool.slug)

    def asking(self, **changes: Any) -> "Week":
        """The same week with another question."""
        return replace(self, problem=replace(self.problem, **changes))


def week_of(beat: Beat, first_on: dt.date, *, level_m: float | None, now: dt.datetime) -> Week:
    """The week that starts on a Monday. Raises BadWeek when nothing is let."""
    if first_on.weekday() != 0:
        raise BadWeek(
            say("A rota starts on a Monday."), errors={"first_on": [say("Give the Monday of the week.")]}
        )
    last_on = first_on + dt.timedelta(days=6)
    rows = RodDay.objects.filter(beat=beat, day__range=(first_on, last_on)).select_related(
        "guest", "sharer", "let"
    )
    claims = {(_key(claim), claim.day): claim for claim in rows.order_by("day", "rod")}
    if not claims:
        raise BadWeek(
            say(
                "Nothing is let on {beat_name} in the week of {words_day}, so nobody to move.",
                beat_name=beat.name,
                words_day=words.day(first_on),
            )
        )
    level, notes = _level(beat, first_on, level_m, now)
    pools = {pool.slug: pool for pool in beat.pools.filter(retired=False).order_by("order", "id")}
    parts = {part.slug: part for part in beat.fishery.parts.order_by("starts")}
    rods = _rods(claims)
    days = {day for _, day in claims}
    cut_off, tides = closed_by_the_tide(beat, pools, parts, days)
    problem = Problem(
        rods=rods,
        places=tuple(_place(pool, parts) for pool in pools.values()),
        parts=tuple(parts),
        closed={**_closed(beat, pools, days, list(parts), level), **cut_off},
        boats=beat.boats,
        ghillies=beat.ghillies,
        together=_company(claims, Let.Company.TOGETHER),
        apart=_company(claims, Let.Company.APART),
        policy=Policy(beat.fishery.rota_policy),
        discounts=_discounts(beat.fishery),
    )
    return Week(problem, claims, pools, parts, [*notes, *tides, *_crowded(pools, problem.places)])


def _key(claim: RodDay) -> str:
    """Whose rod it is: a named guest wherever they stand, else the let's rod."""
    return f"guest {claim.guest_id:08}" if claim.guest_id else f"let {claim.let_id:08} rod {claim.rod:03}"


def _rods(claims: dict[tuple[str, dt.date], RodDay]) -> tuple[Rod, ...]:
    rods = []
    for key in sorted({key for key, _ in claims}):
        days = tuple(sorted(day for other, day in claims if other == key))
        first = claims[key, days[0]]
        people = [guest for day in days for guest in (claims[key, day].guest, claims[key, day].sharer) if guest]
        rods.append(
            Rod(
                key=key,
                name=" and ".join(dict.fromkeys(guest.name for guest in people)) or f"Rod {first.rod}",
                days=days,
                # Nobody knows an unnamed guest's wading, so they are kept to the easiest pools.
                wading=min((guest.rota_wading_grade for guest in people), default=0),
                needs_ghillie=any(guest.needs_ghillie for guest in people),
            )
        )
    return tuple(rods)


def _place(pool: Pool, parts: dict[str, DayPart]) -> Place:
    """A pool for the engine. Metres on a flat map are near enough for the way along a beat."""
    north = east = None
    if pool.latitude is not None and pool.longitude is not None:
        north = pool.latitude * METRES_A_DEGREE
        east = pool.longitude * METRES_A_DEGREE * _shrink(pool.latitude)
    return Place(
        key=pool.slug, name=pool.name, order=pool.order, holds=pool.rods_at_once, wading=pool.wading_grade,
        worth=pool.worth, boat=pool.boat, ghillie=pool.ghillie, worth_by_part=pool.worth_by_part,
        holds_by_part=_holds_by_part(pool, parts), east_m=east, north_m=north,
    )  # fmt: skip


def _holds_by_part(pool: Pool, parts: dict[str, DayPart]) -> dict[str, int]:
    """Where fewer rods get down the pool in a part than the owner allows. A boat goes at its own pace."""
    if pool.boat or pool.rods_at_once == 1:
        return {}
    pace = Pace.of(step_m=pool.step_m, cycle_s=pool.cycle_s, short_casts=pool.short_casts, behind_m=pool.behind_m)
    fit = {slug: holds(pool.length_m, part.minutes, pace) for slug, part in parts.items()}
    return {slug: count for slug, count in fit.items() if count < pool.rods_at_once}


def _crowded(pools: dict[str, Pool], places: tuple[Place, ...]) -> list[str]:
    """What the pace of a pool takes from what the owner allows, in words."""
    return [
        f"{pools[place.key].name} holds {count} and not {place.holds} in the {part}: "
        "more would not get down it in time, at an even pace."
        for place in places
        for part, count in place.holds_by_part.items()
    ]


def _shrink(latitude: float) -> float:
    """How much shorter a degree of longitude is than one of latitude."""
    return math.cos(math.radians(latitude))


def _discounts(fishery: Fishery) -> Discounts:
    return Discounts(fishery.second_hand_percent, fishery.second_visit_percent, fishery.later_visit_percent)


def _company(claims: dict[tuple[str, dt.date], RodDay], wish: str) -> frozenset[tuple[str, str]]:
    """Pairs of rods of one let that asked to be together, or apart."""
    parties: dict[int, set[str]] = {}
    for (key, _), claim in claims.items():
        if claim.let.company == wish:
            parties.setdefault(claim.let_id, set()).add(key)
    return frozenset(pair for keys in parties.values() for pair in combinations(sorted(keys), 2))


def _level(
    beat: Beat, first_on: dt.date, level_m: float | None, now: dt.datetime
) -> tuple[float | None, list[str]]:
    """The level to work with; today's reading says nothing of another week."""
    if level_m is not None:
        return level_m, [f"Worked out for {level_m:.2f} m on the gauge, as given."]
    if not 0 <= (local_day(beat.fishery, now) - first_on).days < 7:
        return None, ["The level of another week is not known, so no pool was left out for its height."]
    level = level_at(beat, now)
    if level is None or level.level_m is None:
        return None, ["No fresh level is known, so no pool was left out for its height. Look at the river."]
    if level.stale or not level.trusted:
        if level.assumed_m is None:
            return None, ["No fresh level is known, so no pool was left out for its height. Look at the river."]
        assumed = f"Worked out for {level.assumed_m:.2f} m, the highest that may still be true."
        return level.assumed_m, [f"No confirmed level is known. {assumed} Look at the river."]
    return level.level_m, [f"Worked out for {level.words}"]


def _closed(
    beat: Beat, pools: dict[str, Pool], days: set[dt.date], parts: list[str], level_m: float | None
) -> dict[tuple[dt.date, str, str], str]:
    closed: dict[tuple[dt.date, str, str], str] = {}
    for closure in PoolClosure.objects.filter(pool__beat=beat).select_related("pool"):
        for day in sorted(days):
            if closure.from_on <= day <= closure.to_on and closure.pool.slug in pools:
                closed |= {(day, part, closure.pool.slug): closure.reason for part in parts}
    for slug, pool in pools.items() if level_m is not None else ():
        low = pool.level_min_m is not None and level_m < pool.level_min_m
        high = pool.level_max_m is not None and level_m > pool.level_max_m
        if low or high:
            word = say("too low") if low else say("too high")
            closed |= {(day, part, slug): word for day in sorted(days) for part in parts}
    return closed
