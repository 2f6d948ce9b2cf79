"""Which turns must not be fished, in words for ghillie, guest, board, refusals and calendars. Reads only."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace

from beats.models import Fishery
from beats.queries import local_day, zone_of
from beats.shared import words
from beats.shared.phrases import joined, say
from beats.water.changes import AHEAD
from sessions import queries
from sessions.models import Outing, Rota, Turn
from sessions.turn_conditions import ONE_DAY, Ask, add_conditions, ask_of, conditions_of

MOST_TOLD = 8
"""Turns named one by one in a refusal; the rota's pages show them all."""


def forbidden(turns: Iterable[Turn]) -> list[Turn]:
    """Those that must not be fished, of turns that `add_conditions` has seen, each with its `forbidden_line`."""
    found = [turn for turn in turns if turn.conditions is not None and turn.conditions.do_not_fish]
    for turn in found:
        turn.forbidden_line = forbidden_line(turn)
    return found


def forbidden_line(turn: Turn) -> str:
    """For the ghillie: which rod, which pool, and why."""
    names = " / ".join(guest.name for guest in (turn.guest, turn.sharer) if guest)
    who = say("Rod {rod}, {names}", rod=turn.rod, names=names) if names else say("Rod {rod}", rod=turn.rod)
    return say(
        "{who}, {part}: do not fish {pool}. {reason}",
        who=who, part=turn.part.name, pool=turn.pool.name, reason=turn.conditions.reasons[0],
    )  # fmt: skip


def calendar_warning(turn: Turn, at: dt.datetime) -> str:
    """Why a turn must not be fished, for a calendar that is read later. `at` is when, on the river's clock."""
    known = turn.conditions
    if known is None or not known.do_not_fish:
        return ""
    return f"{' '.join(known.reasons)} As known {words.instant(at)}. Ask the ghillie where to fish instead."


def do_not_fish(outing: Outing, *, now: dt.datetime, until: dt.datetime | None = None) -> list[str]:
    """What an angler at a pool that must not be fished is told of it. Nobody is refused for it.

    What is ahead counts up to `until`; the next hour without it.
    """
    if outing.pool is None:
        return []
    known = conditions_of([_ask_of_outing(outing, now, until)], now=now).get(outing.pk)
    if known is None or not known.do_not_fish:
        return []
    return [say("Do not fish {pool}. {reason} {what_to_do}", pool=outing.pool.name,
                reason=joined(known.reasons), what_to_do=known.what_to_do)]  # fmt: skip


def forbidden_of(rota: Rota, *, now: dt.datetime) -> list[Turn]:
    """Turns of a rota, of today and later, that must not be fished, in the order of time."""
    turns = rota.turns.filter(day__gte=now.date() - ONE_DAY).select_related("part", "pool", "guest", "sharer")
    turns = list(turns.order_by("day", "part__starts", "rod"))
    add_conditions(turns, now=now)
    return forbidden(turns)


def warnings_of_today(fishery: Fishery, *, now: dt.datetime) -> list[str]:
    """For the board: turns of today's rotas, and rods on the water, on a pool that must not be fished."""
    turns = [turn for day in queries.rotas_of_day(fishery, local_day(fishery, now)) for turn in day.turns]
    out = Outing.objects.filter(beat__fishery=fishery, checked_out_at__isnull=True, pool__isnull=False)
    outings = list(out.select_related("guest", "pool", "beat__fishery").order_by("alarm_at", "id"))
    asks = {("outing", outing.pk): _ask_of_outing(outing, now, None) for outing in outings}
    known = conditions_of([*map(ask_of, turns), *(replace(ask, key=key) for key, ask in asks.items())], now=now)
    for turn in turns:
        turn.conditions = known.get(turn.pk)
    lines = [
        say(
            "{name} is on the water at {pool}: do not fish it. {reason}",
            name=outing.guest.name, pool=outing.pool.name, reason=found.reasons[0],
        )
        for outing in outings
        if (found := known.get(("outing", outing.pk))) is not None and found.do_not_fish
    ]  # fmt: skip
    return [*lines, *(turn.forbidden_line for turn in forbidden(turns))]


def without_a_pool(rota: Rota, *, now: dt.datetime) -> list[str]:
    """Which turns of a rota that could not be planned again must not be fished, and what to do."""
    found = forbidden_of(rota, now=now)
    if not found:
        return []
    lines = [
        say("{day}: {line}", day=words.weekday(turn.day), line=turn.forbidden_line) for turn in found[:MOST_TOLD]
    ]
    if len(found) > MOST_TOLD:
        lines.append(say("And {more} more turns: see the rota.", more=len(found) - MOST_TOLD))
    return [*lines, say("Ring these rods: say where to fish instead, or to stay off the water.")]


def _ask_of_outing(outing: Outing, now: dt.datetime, until: dt.datetime | None) -> Ask:
    """Where somebody is on the water: within the day, up to an instant, the next hour without one."""
    zone = zone_of(outing.beat.fishery)
    start, end = now.astimezone(zone), (until or now + AHEAD).astimezone(zone)
    ends = end.time() if end > start and end.date() == start.date() else dt.time.max
    return Ask(outing.pk, start.date(), start.time(), ends, outing.pool_id, (outing.guest_id,))
