"""Random weeks for Hypothesis."""

from hypothesis import strategies as st

from sessions.rotation.problem import Discounts, Place, Policy, Problem, Step
from tests.sessions.rotation.weeks import WEEK, rod

PERCENT = st.integers(0, 60)
NO_DISCOUNTS = Discounts(0, 0, 0)


@st.composite
def steps(draw, rods, places, parts):
    """A turn of somebody, on a day they are out."""
    who = draw(st.sampled_from(rods))
    return Step(
        draw(st.sampled_from(who.days)), draw(st.sampled_from(parts)), who.key, draw(st.sampled_from(places)).key
    )


@st.composite
def pools(draw, number, parts, *, plain=False):
    """The first two pools ask for little, so that most weeks can be done."""
    easy = plain or number < 2
    by_part = st.just({}) if plain else st.dictionaries(st.sampled_from(parts), st.integers(1, 20), max_size=1)
    wanted = st.just(False) if easy else st.sampled_from([False] * 4 + [True])
    return Place(
        f"p{number}", f"Pool {number}", draw(st.integers(0, 5)),
        holds=draw(st.sampled_from([1, 1, 1, 2])),
        wading=draw(st.sampled_from([0] * 9 + [2] if easy else [0, 1, 3])),
        worth=draw(st.integers(1, 20)), boat=draw(wanted), ghillie=draw(wanted), worth_by_part=draw(by_part),
    )  # fmt: skip


@st.composite
def rods(draw, number, days, *, plain=False):
    out = draw(st.lists(st.sampled_from(days), min_size=max(1, len(days) - 1), max_size=len(days), unique=True))
    led = not plain and draw(st.sampled_from([False] * 5 + [True]))
    return rod(f"r{number}", sorted(out), draw(st.sampled_from([1, 3, 0])), needs_ghillie=led)


@st.composite
def weeks(draw, sizes, *, plain=False):
    """A week of one of the sizes (rods, pools, days, parts). `plain` leaves out all that is set by hand."""
    count, spots, length, names = draw(st.sampled_from(sizes))
    parts = ("am", "pm", "eve")[:names]
    places = tuple(draw(pools(n, parts, plain=plain)) for n in range(spots))
    people = tuple(draw(rods(n, WEEK[:length], plain=plain)) for n in range(count))
    turn = steps(people, places, parts)
    closed = {(step.day, step.part, step.pool) for step in draw(st.lists(turn, max_size=1))}
    problem = Problem(
        people, places, parts, dict.fromkeys(closed, "resting"), policy=draw(st.sampled_from(Policy)),
        discounts=draw(st.builds(Discounts, PERCENT, PERCENT, PERCENT)),
    )  # fmt: skip
    return problem if plain else draw(by_hand(problem, turn))


@st.composite
def by_hand(draw, problem, turn):
    """The same week with boats, ghillies, pairs, turns fished, pins, bars and a rota to mend."""
    keys = [each.key for each in problem.rods]
    rarely = [st.just(frozenset())] * 5
    pairs = st.sampled_from([frozenset({(a, b)}) for a in keys for b in keys if a < b] or [frozenset()])
    earlier = st.lists(turn, max_size=5, unique_by=lambda step: (step.rod, step.slot)).map(frozenset)
    fished = draw(st.one_of(*rarely, earlier))
    been = {(step.rod, step.slot) for step in fished}
    pinned = frozenset(step for step in draw(st.one_of(*rarely, earlier)) if (step.rod, step.slot) not in been)
    return Problem(
        problem.rods, problem.places, problem.parts, problem.closed,
        boats=draw(st.integers(0, 2)), ghillies=draw(st.integers(0, 2)),
        together=draw(st.one_of(*rarely, pairs)), apart=draw(st.one_of(*rarely, pairs)),
        fished=fished, pinned=pinned,
        barred=draw(st.one_of(*rarely, st.frozensets(turn, max_size=2))),
        former=draw(st.one_of(*rarely, earlier)),
        policy=problem.policy, discounts=problem.discounts,
    )  # fmt: skip


LITTLE = [
    (2, 4, 1, 2), (2, 4, 2, 2), (2, 4, 3, 1), (2, 3, 2, 2), (3, 4, 2, 1), (3, 4, 1, 2), (3, 3, 3, 1), (1, 4, 2, 2),
]  # fmt: skip
"""Weeks whose every rota can be counted through: rods, pools, days, parts."""
