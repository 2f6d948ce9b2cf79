"""What goes back, by the notice given. The steps are the owner's own; no published source sets them."""

import datetime as dt

import pytest

from bookings.refunds import refund_percent

FIRST = dt.date(2026, 5, 11)
STEPS = [(0, 10), (56, 100), (28, 50)]


@pytest.mark.parametrize(
    ("notice", "percent"), [(57, 100), (56, 100), (55, 50), (28, 50), (27, 10), (0, 10), (-1, 0)]
)
def test_the_longest_notice_kept_decides(notice, percent):
    assert refund_percent(STEPS, first_on=FIRST, today=FIRST - dt.timedelta(days=notice)) == percent


def test_without_steps_nothing_goes_back():
    assert refund_percent([], first_on=FIRST, today=dt.date(2025, 1, 1)) == 0
