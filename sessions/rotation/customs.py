"""The rotas people make without a machine: what the worked-out one is measured against."""

from functools import partial

from sessions.rotation.problem import Place, Problem, Rod, Slot, Step


def one_pool_down(problem: Problem) -> list[Step] | None:
    """The simple custom: everyone moves one pool down each part, and at the tail goes to the head.

    Rods start on the pools in order. A rod whose next pool will not do (closed, taken, too hard) goes
    on to the next that will. None when somebody finds no pool.
    """
    start = {rod.key: index for index, rod in enumerate(problem.rods)}

    def order(rod: Rod, _slot: Slot, last: str | None, _count: dict[str, int]) -> list[Place]:
        down = list(problem.down_the_beat)
        keys = [place.key for place in down]
        at = keys.index(last) + 1 if last in keys else start[rod.key] % len(down)
        return down[at:] + down[:at]

    return _fill(problem, order)


def greedy(problem: Problem) -> list[Step] | None:
    """Each part, the rod that has had least chooses first: the best pool it has been on least."""

    def order(_rod: Rod, slot: Slot, _last: str | None, count: dict[str, int]) -> list[Place]:
        return sorted(
            problem.down_the_beat,
            key=lambda place: (count.get(place.key, 0), -place.worth_in(slot[1]), place.order),
        )

    return _fill(problem, order, poorest_first=True)


def _fill(problem: Problem, order, *, poorest_first: bool = False) -> list[Step] | None:  # type: ignore[no-untyped-def]
    last: dict[str, str] = {}
    counts: dict[str, dict[str, int]] = {rod.key: {} for rod in problem.rods}
    had = {rod.key: 0.0 for rod in problem.rods}
    steps: list[Step] = []
    for slot in problem.slots:
        out = [rod for rod in problem.rods if slot[0] in rod.days]
        out.sort(key=partial(_rank, problem, slot, had if poorest_first else {}))
        taken: list[Step] = []
        for rod in out:
            before = last.get(rod.key)
            wanted = order(rod, slot, before, counts[rod.key])
            step = _first_that_does(problem, rod, slot, wanted, taken=taken, last=before)
            if step is None:
                return None
            taken.append(step)
        for step in taken:
            last[step.rod] = step.pool
            counts[step.rod][step.pool] = counts[step.rod].get(step.pool, 0) + 1
            had[step.rod] += problem.place[step.pool].worth_in(step.part) / problem.turns_of(problem.rod[step.rod])
        steps += taken
    return steps


def _rank(problem: Problem, slot: Slot, had: dict[str, float], rod: Rod) -> tuple[object, ...]:
    """Fished turns first, then pinned ones, then the poorest, or else whoever has the fewest choices."""
    at = (rod.key, slot)
    choices = 0 if had else len(problem.choices(rod, slot))
    return at not in problem.fact_of, at not in problem.pin_of, choices, had.get(rod.key, 0.0), rod.key


def _first_that_does(
    problem: Problem, rod: Rod, slot: Slot, wanted: list[Place], *, taken: list[Step], last: str | None
) -> Step | None:
    may = {place.key for place in problem.choices(rod, slot)}
    fished = (rod.key, slot) in problem.fact_of
    for place in wanted:
        here = sum(step.pool == place.key for step in taken)
        afloat = sum(problem.place[step.pool].boat for step in taken)
        led = sum(problem.place[step.pool].ghillie or problem.rod[step.rod].needs_ghillie for step in taken)
        if place.key not in may:
            continue
        full = here >= problem.room_on(slot, place) or (place.boat and afloat >= problem.boats)
        unled = (place.ghillie or rod.needs_ghillie) and led >= problem.ghillies
        if fished or not (full or unled or last == place.key):
            return Step(*slot, rod.key, place.key)
    return None
