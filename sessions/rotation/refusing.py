"""Why there is no rota: what can be seen at once, and the smallest set of rules in conflict."""

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import NoReturn

from beats.shared import words
from beats.shared.phrases import say
from sessions.rotation.problem import NoRota, Place, Problem, Rod, Slot, Step

Rule = tuple[str, Callable[[Problem], Problem]]
LARGEST = {"rods": 60, "pools": 120, "days": 7, "parts": 6}


def refuse_hopeless(problem: Problem) -> None:
    """Raise NoRota with the cause, for what can be seen without solving."""
    _refuse_size(problem)
    _refuse_nonsense(problem)
    for slot in problem.slots:
        out = [rod for rod in problem.rods if slot[0] in rod.days]
        for rod in out:
            if not problem.choices(rod, slot):
                _refuse_idle(problem, rod, slot)
        for grade in sorted({rod.wading for rod in out}):
            _refuse_crowd(problem, slot, [rod for rod in out if rod.wading <= grade], grade)


def _refuse_idle(problem: Problem, rod: Rod, slot: Slot) -> NoReturn:
    if pin := problem.pin_of.get((rod.key, slot)):
        raise NoRota(
            say(
                "{when_slot} {rod_name} is pinned to {place_name}, which is closed, too hard to wade "
                "or barred. Take the pin away.",
                when_slot=_when(slot),
                rod_name=rod.name,
                place_name=problem.place[pin].name,
            )
        )
    raise NoRota(
        say(
            "{when_slot} there is no open pool that {rod_name} may wade.", when_slot=_when(slot), rod_name=rod.name
        )
    )


def _refuse_crowd(problem: Problem, slot: Slot, group: list[Rod], grade: int) -> None:
    keys = {place.key for rod in group for place in problem.choices(rod, slot)}
    places = [place for place in problem.places if place.key in keys]
    ashore = sum(problem.room_on(slot, place) for place in places if not place.boat)
    afloat = sum(problem.room_on(slot, place) for place in places if place.boat)
    room = ashore + min(problem.boats_at(slot), afloat)
    if len(group) > room:
        few_boats = any(place.boat for place in places) and problem.boats_at(slot) < len(group)
        boats = f" with {problem.boats_at(slot)} afloat" if few_boats else ""
        raise NoRota(
            say(
                "{when_slot} {group} rods need pools of wading grade {grade} or easier, but only "
                "{room} can fish there at once{boats}: {what}. Open a pool, or raise a guest's grade.",
                when_slot=_when(slot),
                group=len(group),
                grade=grade,
                room=room,
                boats=boats,
                what=", ".join(rod.name for rod in group),
            )
        )


def _refuse_size(problem: Problem) -> None:
    sizes = {
        "rods": len(problem.rods),
        "pools": len(problem.places),
        "days": len(problem.days),
        "parts": len(problem.parts),
    }
    for what, size in sizes.items():
        if size == 0:
            raise NoRota(say("There are no {what} to make a rota of.", what=what))
        if size > LARGEST[what]:
            raise NoRota(
                say(
                    "{size} {what} are more than one rota can hold ({largest}). Split the beat.",
                    size=size,
                    what=what,
                    largest=LARGEST[what],
                )
            )


def _refuse_nonsense(problem: Problem) -> None:
    _refuse_twins(problem)
    for place in problem.places:
        _refuse_place(place)
    for rod in problem.rods:
        if not rod.days:
            raise NoRota(
                say("{rod_name} has no day in this rota. Give the rod a day, or leave it out.", rod_name=rod.name)
            )
    if problem.boats < 0 or problem.ghillies < 0:
        raise NoRota(say("There cannot be fewer than no boats, or no ghillies."))
    cut = problem.discounts
    for percent in (cut.second_hand, cut.second_visit, cut.later_visit):
        if not isinstance(percent, int) or not 0 <= percent <= 100:
            raise NoRota(say("A discount of {percent} percent is not possible. Give 0 to 100.", percent=percent))
    _refuse_pins(problem)


def _refuse_place(place: Place) -> None:
    for worth in (place.worth, *place.worth_by_part.values()):
        if not isinstance(worth, int) or not 1 <= worth <= 1000:
            raise NoRota(
                say(
                    "{place_name} has the worth {worth}. Give a whole number from 1 to 1000.",
                    place_name=place.name,
                    worth=worth,
                )
            )
    for holds in (place.holds, *place.holds_by_part.values()):
        if not isinstance(holds, int) or holds < 1:
            raise NoRota(
                say(
                    "{place_name} holds {holds} rods. Give a whole number from 1, or close the pool.",
                    place_name=place.name,
                    holds=holds,
                )
            )
    if not all(math.isfinite(metres) for metres in (place.east_m or 0, place.north_m or 0)):
        raise NoRota(
            say("Where {place_name} lies is not a number. Give metres, or leave it out.", place_name=place.name)
        )


def _refuse_twins(problem: Problem) -> None:
    """Two things of one name would be taken for one."""
    named = {
        "rods": [rod.key for rod in problem.rods],
        "pools": [place.key for place in problem.places],
        "parts of the day": list(problem.parts),
    }
    for what, keys in named.items():
        if twins := [key for key, count in Counter(keys).items() if count > 1]:
            raise NoRota(
                say("Two {what} are both called {twins}. Give each its own name.", what=what, twins=twins[0])
            )


def _refuse_pins(problem: Problem) -> None:
    seen: dict[tuple[str, Slot], str] = {}
    for word, turns in (("was fished on", problem.fished), ("is pinned to", problem.pinned)):
        for turn in sorted(turns, key=str):
            rod = problem.rod.get(turn.rod)
            known = turn.pool in problem.place and turn.part in problem.parts
            if rod is None or not known or turn.day not in rod.days:
                day = words.weekday(turn.day)
                raise NoRota(
                    say(
                        "A turn {word} {turn_pool} on {day}, which is outside this rota.",
                        word=word,
                        turn_pool=turn.pool,
                        day=day,
                    )
                )
            other = seen.setdefault((turn.rod, turn.slot), turn.pool)
            if other != turn.pool:
                _refuse_two_pools(problem, turn, other)


def _refuse_two_pools(problem: Problem, turn: Step, other: str) -> NoReturn:
    name, here, there = problem.rod[turn.rod].name, problem.place[other].name, problem.place[turn.pool].name
    if Step(*turn.slot, turn.rod, other) in problem.pinned:
        raise NoRota(
            say(
                "{when_slot} {name} is pinned to both {here} and {there}. Take one pin away.",
                when_slot=_when(turn.slot),
                name=name,
                here=here,
                there=there,
            )
        )
    raise NoRota(
        say(
            "{when_slot} {name} has fished {here} and cannot be on {there} too. Take that turn away.",
            when_slot=_when(turn.slot),
            name=name,
            here=here,
            there=there,
        )
    )


def conflict(problem: Problem, possible: Callable[[Problem], bool]) -> list[str]:
    """The smallest set of rules that cannot be kept together, in words.

    Rules are taken away one by one; whatever the impossibility does not need stays away. What is
    left cannot lose another rule without becoming possible.
    """
    needed: list[str] = []
    for rule, without in _rules(problem):
        freer = without(problem)
        if possible(freer):
            needed.append(rule)
        else:
            problem = freer
    return needed


def refuse_conflict(problem: Problem, possible: Callable[[Problem], bool]) -> NoReturn:
    """Raise NoRota with the smallest set of rules in conflict; on one day alone, where a day is enough."""
    days = (_only(problem, day) for day in problem.days if len(problem.days) > 1)
    problem = next((day for day in days if not possible(day)), problem)
    when = f"On {words.weekday(problem.days[0])} these" if len(problem.days) == 1 else "These"
    told = "; ".join([*gathered(conflict(problem, possible)), "no rod stays on a pool for two turns"])
    raise NoRota(say("{when} cannot all be kept: {told}. Give up one of them.", when=when, told=told))


def gathered(rules: list[str]) -> list[str]:
    """Rules of one kind in one breath: "Pool x and Pool y hold 1 each"."""
    alike: dict[str, list[str]] = {}
    for rule in rules:
        found = re.fullmatch(r"(.+) (fishes this week|may wade grade \d at most|holds \d+)", rule)
        alike.setdefault(found[2] if found else rule, []).append(found[1] if found else "")
    return [_in_one_breath(names, tail) for tail, names in alike.items()]


def _in_one_breath(names: list[str], tail: str) -> str:
    if len(names) == 1:
        return f"{names[0]} {tail}".strip()
    tail = f"{tail} each".replace("holds", "hold") if tail.startswith("holds") else tail.replace("fishes", "fish")
    return f"{', '.join(names[:-1])} and {names[-1]} {tail}"


def _only(problem: Problem, day: dt.date) -> Problem:
    """One day of the week, by itself."""

    def that(turns: frozenset[Step]) -> frozenset[Step]:
        return frozenset(turn for turn in turns if turn.day == day)

    return replace(
        problem, rods=tuple(replace(rod, days=(day,)) for rod in problem.rods if day in rod.days),
        fished=that(problem.fished), pinned=that(problem.pinned), barred=that(problem.barred), former=frozenset(),
        closed={at: why for at, why in problem.closed.items() if at[0] == day},
    )  # fmt: skip


def _rules(problem: Problem) -> Iterator[Rule]:
    yield from ((f"{rod.name} fishes this week", partial(_without_rod, key=rod.key)) for rod in problem.rods)
    yield from _rules_of_place(problem)
    yield from _rules_of_company(problem)
    known = {
        pin for pin in problem.pinned | problem.barred if pin.rod in problem.rod and pin.pool in problem.place
    }
    for pin in sorted(known, key=str):
        word = "pinned to" if pin in problem.pinned else "kept off"
        rod, place = problem.rod[pin.rod], problem.place[pin.pool]
        yield (
            f"{rod.name} is {word} {place.name}, {words.weekday(pin.day)}, {pin.part}",
            partial(_without_pin, pin=pin),
        )


def _rules_of_place(problem: Problem) -> Iterator[Rule]:
    everywhere = len(problem.rods)
    for rod in problem.rods:
        if any(place.wading > rod.wading for place in problem.places):
            yield f"{rod.name} may wade grade {rod.wading} at most", partial(_wading_all, key=rod.key)
    if problem.closed:
        names = sorted({problem.place[key].name for *_, key in problem.closed if key in problem.place})
        yield f"closed: {', '.join(names)}", partial(replace, closed={})
    if any(place.boat for place in problem.places):
        yield f"{problem.boats} boats", partial(replace, boats=everywhere)
    if any(place.ghillie for place in problem.places) or any(rod.needs_ghillie for rod in problem.rods):
        yield f"{problem.ghillies} ghillies", partial(replace, ghillies=everywhere)
    for place in problem.places:
        holds = min((place.holds, *place.holds_by_part.values()))
        if holds < everywhere:
            yield f"{place.name} holds {holds}", partial(_roomy, key=place.key, room=everywhere)


def _rules_of_company(problem: Problem) -> Iterator[Rule]:
    for pair in _out_together(problem, problem.together):
        yield f"{_names(problem, pair)} stay together", partial(_without_pair, pair=pair)
    for pair in _out_together(problem, problem.apart):
        yield f"{_names(problem, pair)} keep apart", partial(_without_pair, pair=pair)


def _out_together(problem: Problem, pairs: frozenset[tuple[str, str]]) -> list[tuple[str, str]]:
    return sorted(pair for pair in pairs if problem.rod.keys() >= set(pair))


def _without_pair(problem: Problem, *, pair: tuple[str, str]) -> Problem:
    return replace(problem, together=problem.together - {pair}, apart=problem.apart - {pair})


def _without_pin(problem: Problem, *, pin: Step) -> Problem:
    return replace(problem, pinned=problem.pinned - {pin}, barred=problem.barred - {pin})


def _without_rod(problem: Problem, *, key: str) -> Problem:
    def keeps(step: object) -> bool:
        return getattr(step, "rod", "") != key

    return replace(
        problem,
        rods=tuple(rod for rod in problem.rods if rod.key != key),
        together=frozenset(pair for pair in problem.together if key not in pair),
        apart=frozenset(pair for pair in problem.apart if key not in pair),
        fished=frozenset(filter(keeps, problem.fished)),
        pinned=frozenset(filter(keeps, problem.pinned)),
        barred=frozenset(filter(keeps, problem.barred)),
        former=frozenset(filter(keeps, problem.former)),
    )


def _wading_all(problem: Problem, *, key: str) -> Problem:
    return replace(problem, rods=tuple(replace(rod, wading=3) if rod.key == key else rod for rod in problem.rods))


def _roomy(problem: Problem, *, key: str, room: int) -> Problem:
    def widened(place: Place) -> Place:
        return replace(place, holds=room, holds_by_part={}) if place.key == key else place

    return replace(problem, places=tuple(widened(place) for place in problem.places))


def _names(problem: Problem, pair: tuple[str, str]) -> str:
    return " and ".join(problem.rod[key].name for key in pair)


def _when(slot: Slot) -> str:
    return f"On {words.weekday(slot[0])}, {slot[1]},"
