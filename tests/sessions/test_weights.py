"""Weight from length, against published figures.

Sources: Fulton's K, ulnits.dk ("The K-factor") and hooked.no: 25 cm and 156 g are K 1.00, 20 cm and 80 g
are 1.00, 29 cm and 195 g are 0.80, 40 cm and 700 g are 1.1 (exactly 1.094); walter-lystfisker.dk, "En ful
fisk": 5.5 kg at 77 cm is K 1.205. The table of kilograms is worked out from K = 0.9, 1.0 and 1.1.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.weights import condition, from_length

LENGTHS = st.decimals("0.1", "200", places=1)


@pytest.mark.parametrize(
    ("length", "low", "middle", "high"),
    [
        ("50", "1.13", "1.25", "1.38"),
        ("60", "1.94", "2.16", "2.38"),
        ("70", "3.09", "3.43", "3.77"),
        ("80", "4.61", "5.12", "5.63"),
        ("90", "6.56", "7.29", "8.02"),
        ("100", "9.00", "10.00", "11.00"),
        ("120", "15.55", "17.28", "19.01"),
    ],
)
def test_the_range_is_that_of_the_condition_factor(length, low, middle, high):
    made = from_length(Decimal(length))
    assert (made.low, made.middle, made.high) == (Decimal(low), Decimal(middle), Decimal(high))


@pytest.mark.parametrize(
    ("grams", "length", "published", "places"),
    [(156, 25, "1.00", 2), (80, 20, "1.00", 2), (195, 29, "0.80", 2), (700, 40, "1.1", 1), (5500, 77, "1.205", 3)],
)
def test_the_condition_of_published_fish(grams, length, published, places):
    assert round(condition(Decimal(grams) / 1000, Decimal(length)), places) == Decimal(published)


def test_an_estimate_never_reads_like_a_weighing():
    assert from_length(Decimal(80)).words == "estimated from its length at 4.6 to 5.6 kg; not weighed"


@given(LENGTHS, LENGTHS)
def test_a_longer_fish_is_no_lighter_and_the_range_holds_its_middle(one, other):
    short, long = (from_length(each) for each in sorted((one, other)))
    assert short.low <= short.middle <= short.high
    assert (short.low, short.middle, short.high) <= (long.low, long.middle, long.high)
