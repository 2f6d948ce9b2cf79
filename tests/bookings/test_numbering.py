"""Choosing rod numbers, as pure arithmetic."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from bookings.numbering import choose, full_days

FIRST = dt.date(2026, 5, 4)
THREE = [FIRST + dt.timedelta(days=n) for n in range(3)]


def test_numbers_free_on_every_day_come_first_then_the_lowest():
    taken = {THREE[0]: {1}, THREE[2]: {2}}
    assert choose(THREE, taken=taken, on_beat=4, wanted=2) == {day: [3, 4] for day in THREE}
    assert choose(THREE, taken=taken, on_beat=3, wanted=2) == {
        THREE[0]: [3, 2], THREE[1]: [3, 1], THREE[2]: [3, 1],
    }  # fmt: skip


def test_one_full_day_is_enough_for_none():
    taken = {THREE[1]: {1, 2, 3}}
    asked = {"taken": taken, "on_beat": 4, "wanted": 2}
    assert choose(THREE, **asked) is None
    assert full_days(THREE, **asked) == [(THREE[1], 1)]


def test_rods_above_the_beat_s_count_leave_nothing_below_zero():
    taken = {FIRST: {1, 2, 3}}
    assert full_days([FIRST], taken=taken, on_beat=2, wanted=1) == [(FIRST, 0)]


@st.composite
def weeks(draw):
    on_beat = draw(st.integers(1, 8))
    days = [FIRST + dt.timedelta(days=n) for n in range(draw(st.integers(1, 7)))]
    taken = {day: draw(st.sets(st.integers(1, on_beat))) for day in days if draw(st.booleans())}
    return days, taken, on_beat, draw(st.integers(1, 8))


@given(weeks())
def test_a_choice_takes_only_free_numbers_and_fails_only_on_a_full_day(week):
    days, taken, on_beat, wanted = week
    chosen = choose(days, taken=taken, on_beat=on_beat, wanted=wanted)
    full = [day for day in days if on_beat - len(taken.get(day, ())) < wanted]
    assert [day for day, _ in full_days(days, taken=taken, on_beat=on_beat, wanted=wanted)] == full
    assert (chosen is None) == bool(full)
    for day, rods in (chosen or {}).items():
        assert len(rods) == len(set(rods)) == wanted
        assert set(rods) <= set(range(1, on_beat + 1)) - taken.get(day, set())


@given(weeks())
def test_a_party_keeps_as_many_numbers_as_any_choice_could(week):
    days, taken, on_beat, wanted = week
    chosen = choose(days, taken=taken, on_beat=on_beat, wanted=wanted)
    if chosen is not None:
        always = set(range(1, on_beat + 1)).difference(*taken.values())
        kept = set.intersection(*(set(rods) for rods in chosen.values()))
        assert len(kept & always) == min(wanted, len(always))
