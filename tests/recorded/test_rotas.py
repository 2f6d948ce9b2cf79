"""Fifty weeks of seeded dice, and the rota of each as recorded: turns, goals and worth, or why there is none.

    RECORD=1 uv run pytest --on sqlite tests/recorded/test_rotas.py

Little effort, so that it takes seconds: the engine draws by work done, not by the clock.
"""

import random
from dataclasses import replace

import pytest

from sessions.rotation.problem import Discounts, NoRota, Policy, Problem
from sessions.rotation.rules import broken
from sessions.rotation.solve import solve
from tests.recorded.recording import compare
from tests.sessions.rotation.weeks import WEEK, place, rod

WEEKS = 50
LITTLE = {"effort": 0.02, "tries": 100}


@pytest.fixture(scope="module")
def answers():
    return [answer_of(problem_of(number)) for number in range(WEEKS)]


def test_every_week_has_the_rota_that_is_recorded(answers):
    compare("rotas", {f"{number:02}.txt": said for number, (_, _, said) in enumerate(answers)})


def test_no_rota_breaks_a_rule(answers):
    found = [broken(problem, steps) for problem, steps, _ in answers if steps]
    assert found == [[]] * len(found)
    assert len(found) > WEEKS / 2


def problem_of(number: int) -> Problem:
    dice = random.Random(number)
    days, parts = WEEK[: dice.randint(2, 4)], ("am", "pm", "eve")[: dice.randint(1, 3)]
    places = [
        place(
            f"p{spot}", dice.randint(0, 5), dice.randint(1, 20), wading=dice.choice([0, 0, 0, 2]),
            boat=dice.random() < 0.1, holds=dice.choice([1, 1, 2]),
        )
        for spot in range(dice.randint(3, 7))
    ]  # fmt: skip
    rods = [
        rod(f"r{who}", sorted(dice.sample(days, dice.randint(1, len(days)))), dice.choice([1, 3, 3]))
        for who in range(dice.randint(2, 5))
    ]
    problem = Problem(
        tuple(rods), tuple(places), parts,
        {(dice.choice(days), dice.choice(parts), "p0"): "resting" for _ in range(dice.randint(0, 2))},
        boats=dice.randint(0, 2), policy=dice.choice(list(Policy)),
        discounts=Discounts(*(dice.choice([0, 20, 30, 40]) for _ in range(3))),
    )  # fmt: skip
    if number % 3:
        return problem
    _, steps, _ = answer_of(problem)
    return replace(problem, closed={(days[0], parts[0], "p1"): "low"}, former=frozenset(steps))


def answer_of(problem):
    """(problem, turns, what is recorded of it)."""
    try:
        answer = solve(problem, **LITTLE)
    except NoRota as refusal:
        return problem, (), f"no rota: {refusal}\n"
    goals = [
        f"{each.goal.value} {each.value} {'proven' if each.proven else 'best found'}" for each in answer.reached
    ]
    worth = [f"{who} {value}" for who, value in sorted(answer.worth.items())]
    turns = [f"{each.day} {each.part} {each.rod} {each.pool}" for each in sorted(answer.steps, key=repr)]
    return problem, answer.steps, "\n".join([*goals, *worth, *turns]) + "\n"
