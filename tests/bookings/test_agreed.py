"""The arithmetic of agreed prices: dividing to the penny, and which rod-days stay, move or are given up."""

import datetime as dt
from collections import Counter
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bookings.agreed import Agreed, apportion, changes, given_back, prices_for
from bookings.tariff import Vat

MONDAY = dt.date(2026, 5, 11)
DAY = dt.timedelta(days=1)
TWENTY, FIVE = Vat(Decimal(20)), Vat(Decimal(5))
PENNIES = st.integers(0, 500_000).map(lambda pence: Decimal(pence) / 100)
DAYS = st.integers(0, 9).map(lambda n: MONDAY + n * DAY)


def row(key, day, price="85.00", vat=TWENTY, like="85.00"):
    return Agreed(key, day, Decimal(price), vat, like and Decimal(like))


def flat(_day):
    return Decimal("85.00")


@given(total=PENNIES, weights=st.lists(PENNIES, max_size=40))
def test_parts_add_up_and_each_is_within_a_penny_of_its_share(total, weights):
    parts, whole = apportion(total, weights), sum(weights)
    assert sum(parts) == (total if whole else 0)
    for part, weight in zip(parts, weights, strict=True):
        exact = Fraction(total) * Fraction(weight) / Fraction(whole) if whole else 0
        assert abs(Fraction(part) - exact) <= Fraction(1, 100)


@given(sums=st.lists(PENNIES, max_size=40), percent=st.integers(0, 100))
def test_no_more_goes_back_of_a_day_than_its_price(sums, percent):
    back = given_back([(gross, gross / 6) for gross in sums], percent)
    assert all(0 <= one <= gross for (one, _), gross in zip(back, sums, strict=True))
    if percent == 100:
        assert [one for one, _ in back] == sums


@given(
    had=st.lists(st.tuples(DAYS, st.sampled_from(["85.00", "140.00", None])), max_size=15),
    wanted=st.dictionaries(DAYS, st.integers(0, 3)),
)
def test_every_rod_day_is_kept_moved_exchanged_or_given_up_once(had, wanted):
    standing = [row(key, day, like=like) for key, (day, like) in enumerate(had)]
    found = changes(standing, wanted, flat)
    moved = [one for one, _ in found.moved]
    assert Counter(found.kept + moved + found.exchanged + found.given_up) == Counter(standing)
    now = [one.day for one in found.kept] + [day for _, day in found.moved] + found.added
    assert Counter(now) == Counter({day: rods for day, rods in wanted.items() if rods})
    assert len(found.exchanged) <= len(found.added)
    assert not found.given_up or len(found.exchanged) == len(found.added)


def test_a_day_less_and_a_day_more_at_one_price_is_a_move():
    standing = [row(1, MONDAY), row(2, MONDAY), row(3, MONDAY + DAY)]
    found = changes(standing, {MONDAY + DAY: 1, MONDAY + 2 * DAY: 1}, flat)
    assert (found.moved, found.given_up, found.added) == (
        [(standing[0], MONDAY + 2 * DAY)], [standing[1]], [],
    )  # fmt: skip


def test_of_two_rods_on_a_day_the_one_added_last_is_given_up():
    standing = [row(1, MONDAY, "85.00"), row(2, MONDAY, "140.00")]
    assert changes(standing, {MONDAY: 1}, flat).given_up == [standing[1]]


@pytest.mark.parametrize(
    ("asked", "price", "vat"),
    [
        ("100.00", "85.00", TWENTY),  # the tariff has risen for agreed and added days alike
        ("140.00", "140.00", FIVE),  # a day of another price: today's, and today's VAT
    ],
)
def test_an_added_day_costs_what_was_agreed_for_a_day_priced_alike(asked, price, vat):
    standing = [row(1, MONDAY, like="100.00")]
    (made,) = prices_for([MONDAY + DAY], standing=standing, asked=lambda _day: Decimal(asked), vat_now=FIVE)
    assert (made.rod_day, made.vat, made.line.gross) == (Decimal(price), vat, Decimal(price))


def test_the_nearest_day_that_is_alike_names_the_price():
    standing = [row(1, MONDAY, "85.00"), row(2, MONDAY + 5 * DAY, "90.00")]
    added = [MONDAY + DAY, MONDAY + 4 * DAY]
    made = prices_for(added, standing=standing, asked=flat, vat_now=FIVE)
    assert [(one.rod_day, one.days) for one in made] == [
        (Decimal("85.00"), (added[0],)), (Decimal("90.00"), (added[1],)),
    ]  # fmt: skip


def test_a_day_that_nothing_prices_has_no_line():
    (made,) = prices_for([MONDAY], standing=[row(1, MONDAY)], asked=lambda _day: None, vat_now=FIVE)
    assert (made.rod_day, made.line) == (None, None)
