"""Williams squares against published ones and against the properties they are published for.

Sources: E. J. Williams, Australian Journal of Scientific Research A 2 (1949), 149-168 (every ordered
pair of neighbours once for even n, twice in 2n rows for odd n); J. V. Bradley, Journal of the American
Statistical Association 53 (1958), 525-528 (the same for even n); the order-4 square as the R package
crossdes 1.1-2 prints it (`williams(4)`), its symbols counted from zero; two order-6 squares of the
literature that are not relabellings of each other.
"""

import random
from collections import Counter
from itertools import pairwise, permutations

import pytest

from sessions.rotation.designs import square_rota, williams
from sessions.rotation.rules import broken
from sessions.rotation.scores import follows, in_time
from tests.sessions.rotation.weeks import WEEK, place, rod, week

CROSSDES_4 = "0132 1203 2310 3021"
ORDER_6 = (
    "123456 241635 315264 462513 536142 654321",
    "123456 246135 362514 415263 531642 654321",
)


def square(text):
    return [[int(digit) for digit in row] for row in text.split()]


def neighbours(rows):
    """How often each symbol comes straight after each other one."""
    return Counter(pair for row in rows for pair in pairwise(row))


def balanced(rows):
    """Each symbol once a row, each column equally often, each ordered pair of neighbours equally often."""
    symbols = sorted(rows[0])
    times = len(rows) // len(symbols)
    return (
        all(sorted(row) == symbols for row in rows)
        and all(Counter(column) == dict.fromkeys(symbols, times) for column in zip(*rows, strict=True))
        and neighbours(rows) == dict.fromkeys(permutations(symbols, 2), times)
    )


def test_four_pools_are_the_square_that_crossdes_prints():
    assert williams(4) == square(CROSSDES_4)


@pytest.mark.parametrize("text", ORDER_6)
def test_the_published_squares_of_order_six_are_balanced(text):
    assert balanced(square(text))


@pytest.mark.parametrize("text", ["012 120 201", "0123 1230 2301 3012", "0132 1203 2310 3012"])
def test_squares_that_only_move_one_down_are_not_balanced(text):
    assert not balanced(square(text))


@pytest.mark.parametrize("n", range(2, 13))
def test_every_neighbour_comes_once_for_even_and_twice_for_odd_numbers(n):
    rows = williams(n)
    assert len(rows) == (n if n % 2 == 0 else 2 * n)
    assert balanced(rows)
    assert set(neighbours(rows).values()) == {1 if n % 2 == 0 else 2}
    assert all(sorted(row) == list(range(n)) for row in rows)


def test_one_is_a_square_and_none_is_not():
    assert williams(1) == [[0], [0]]
    with pytest.raises(ValueError, match="at least one row"):
        williams(0)


@pytest.mark.parametrize(("n", "days", "parts"), [(4, 2, 2), (4, 4, 1), (6, 3, 2), (6, 6, 1), (6, 2, 3)])
def test_as_many_rods_as_pools_and_parts_share_all_water_and_all_company(n, days, parts):
    rods = [rod(letter, WEEK[:days]) for letter in "abcdef"[:n]]
    problem = week(rods, "uvwxyz"[:n], ("am", "pm", "eve")[:parts])
    steps = square_rota(problem)
    assert broken(problem, steps) == []
    visits = Counter((step.rod, step.pool) for step in steps)
    assert visits == {(each.key, pool.key): 1 for each in rods for pool in problem.places}
    pairs = permutations([each.key for each in rods], 2)
    assert follows(problem, in_time(problem, steps)) == dict.fromkeys(pairs, 1)


def test_rods_keep_the_square_whatever_the_order_of_the_pools():
    shuffled = [place(letter, number) for number, letter in enumerate("wxyz")]
    random.Random(4).shuffle(shuffled)
    problem = week("abcd", shuffled)
    assert square_rota(problem) == square_rota(week("abcd", "wxyz"))


@pytest.mark.parametrize(
    "problem",
    [
        week("abc", "wxyz"),
        week("abcd", "wxy"),
        week("ab", "xy"),
        week([rod("a"), rod("b", WEEK[:1])], "xy", ("am",)),
    ],
)
def test_without_as_many_rods_pools_and_parts_there_is_no_square(problem):
    assert square_rota(problem) is None
