"""What somebody on the water must hear of: true or not at each look, and what began and ended between two."""

import datetime as dt

import pytest

from beats.water.changes import AHEAD, Kind, true_of
from tests.beats.water.days import BEAT, HALF_TIDE, MINUTE, NOON, facts, levels, tides

RISING = levels(*[0.4 + n * 0.05 for n in range(5)])


def kinds(**known):
    return [warning.kind for warning in true_of(facts(**known))]


def test_on_an_ordinary_noon_nothing_is_to_be_told():
    assert kinds() == []


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        ((), [Kind.SILENT]),
        (levels(0.6, until=NOON - 61 * MINUTE), [Kind.SILENT]),
        (levels(0.6, 0.6, 10.6), [Kind.JUMPED]),
        (RISING, [Kind.RISING]),
        (levels(0.95, 0.95, 0.95), [Kind.WINDOW_LEFT]),
        (levels(0.2, 0.2, 0.2), [Kind.WINDOW_LEFT]),
    ],
)
def test_the_gauge_and_the_window_of_a_pool(readings, expected):
    assert kinds(readings=readings) == expected


def test_a_warning_carries_its_figure_its_threshold_and_its_pool():
    (rising,) = true_of(facts(readings=RISING))
    assert (round(rising.value, 6), rising.threshold, rising.unit, rising.pool) == (0.2, 0.2, "m/h", None)
    (left,) = true_of(facts(readings=levels(0.95, 0.95, 0.95)))
    assert (left.value, left.threshold, left.pool) == (0.95, 0.9, 1)


@pytest.mark.parametrize(("minutes", "told"), [(-1, False), (0, True), (31, True)])
def test_dark_is_told_from_the_margin_before_last_light_on(minutes, told):
    last = facts().light.last_light_at
    now = last - BEAT.dark_margin + minutes * MINUTE
    found = true_of(facts(now=now, gauge=None, pools=()))
    assert ([warning.kind for warning in found] == [Kind.DARK]) == told
    if told:
        assert (found[0].at, found[0].value) == (last, max(30 - minutes, 0))


def test_before_first_light_it_is_dark():
    now = facts().light.first_light_at - MINUTE
    assert [warning.kind for warning in true_of(facts(now=now, gauge=None, pools=()))] == [Kind.DARK]


def test_the_tide_is_told_an_hour_before_it_cuts_off_and_while_it_does():
    # Low at noon, high 4 m six hours on: 3.5 m is passed some four hours on.
    cut = next(
        NOON + n * MINUTE
        for n in range(360)
        if [w for w in true_of(facts(now=NOON + n * MINUTE, gauge=None)) if w.kind is Kind.CUTTING_OFF]
    )
    (soon,) = true_of(facts(now=cut, gauge=None))
    assert AHEAD - MINUTE <= soon.at - cut <= AHEAD
    (under,) = true_of(facts(now=NOON + HALF_TIDE, gauge=None))
    assert (under.kind, under.value) == (Kind.CUTTING_OFF, 0)


@pytest.mark.parametrize("table", [None, tides(first=NOON - 3 * HALF_TIDE, count=3)])
def test_a_pool_the_tide_cuts_off_is_told_of_when_no_table_tells(table):
    (warning,) = true_of(facts(tides=table))
    assert (warning.kind, warning.pool) == (Kind.TIDE_NOT_KNOWN, 1)


def test_a_pool_no_tide_reaches_is_never_cut_off():
    assert kinds(tides=None, pool={"cut_off_above_m": None}) == []
    assert kinds(tides=None, beat={"tidal": False}) == []


def test_asking_again_gives_the_same_answer():
    known = facts(readings=RISING, now=NOON + dt.timedelta(seconds=1))
    assert true_of(known) == true_of(known)
