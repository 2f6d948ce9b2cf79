"""Limits, rates and averages against published figures and a second library.

Sources: Garwood limits, graphpad.com ("How QuickCalcs computes the confidence interval of a count": 25
is 16.18 to 36.90 at 95 %, 17.38 to 34.92 at 90 %, 14.00 to 41.00 at 99 %) and calculatorhub.com (0 to 3.689;
10 is 4.80 to 18.39); the rest of the table worked out with scipy. National rod figures of 2024: "Statistics
updated for the 2024 season", wired-gov.net, 14 May 2025. Ratio of totals: IASRI e-course (820/75 = 10.933).
"""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from sessions.statistics.groups import Fish, band, best, grouped, last, week_of
from sessions.statistics.poisson import gamma_quantile, limits
from sessions.statistics.rates import FEW, NOT_A_PROMISE, average, expected, rate, share

TABLE = {
    0: (0, 3.6889), 1: (0.0253, 5.5716), 2: (0.2422, 7.2247), 3: (0.6187, 8.7673), 4: (1.0899, 10.2416),
    5: (1.6235, 11.6683), 6: (2.2019, 13.0595), 8: (3.4538, 15.7632), 9: (4.1154, 17.0848),
    10: (4.7954, 18.3904), 15: (8.3954, 24.7402), 20: (12.2165, 30.8884), 50: (37.1110, 65.9188),
    100: (81.3640, 121.6268),
}  # fmt: skip
DAY = dt.date(2026, 5, 6)


@pytest.mark.parametrize("fish", TABLE)
def test_the_limits_are_those_of_the_table(fish):
    assert tuple(round(end, 4) for end in limits(fish)) == TABLE[fish]


@pytest.mark.parametrize(
    ("level", "low", "high"), [(0.95, 16.18, 36.90), (0.90, 17.38, 34.92), (0.99, 14.00, 41.00)]
)
def test_the_published_limits_of_twenty_five(level, low, high):
    assert tuple(round(end, 2) for end in limits(25, level=level)) == (low, high)


@settings(deadline=None)
@given(st.floats(0.0005, 0.9995), st.floats(0.5, 5000))
def test_the_quantile_is_scipy_s(part, shape):
    assert gamma_quantile(part, shape) == pytest.approx(stats.gamma.ppf(part, shape), rel=1e-9)


@pytest.mark.parametrize("fish", [1, 7, 300, 46_978])
def test_great_counts_have_scipy_s_limits_too(fish):
    low, high = stats.chi2.ppf(0.025, 2 * fish) / 2, stats.chi2.ppf(0.975, 2 * fish + 2) / 2
    assert limits(fish) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.parametrize("asked", [(-1, 0.95), (float("nan"), 0.95), (1, 0), (1, 1)])
def test_no_count_has_such_limits(asked):
    with pytest.raises(ValueError, match="a count is 0 or more"):
        limits(asked[0], level=asked[1])


def test_the_national_figures_of_2024():
    assert 45_872 + 1_106 == 2_593 + 44_385 == 46_978
    assert round(rate(46_978, 201_498).rate, 3) == 0.233
    assert round(100 * share(45_872, 46_978).share, 1) == 97.6


def test_a_rate_is_the_ratio_of_totals():
    assert round(rate(70 + 200 + 300 + 250, 5 + 20 + 40 + 10).rate, 3) == 10.933


def test_a_rate_s_limits_are_the_count_s_over_the_rod_days():
    made = rate(10, 50)
    assert (round(made.low, 4), round(made.high, 4), made.note) == (0.0959, 0.3678, "")


@pytest.mark.parametrize(("fish", "days"), [(4, 100), (10, 19)])
def test_small_numbers_say_so(fish, days):
    assert rate(fish, days).note == FEW


def test_without_rod_days_there_is_no_rate():
    assert (rate(3, 0).rate, rate(3, 0).note) == (None, "No rod-days are known, so there is no rate.")


def test_a_share_of_nothing_is_not_known_and_of_everything_has_a_lower_limit():
    assert share(0, 0).share is None
    every = share(10, 10)
    assert (every.share, round(every.low, 3), round(every.high, 3)) == (1.0, 0.722, 1.0)


def test_a_missing_season_is_missing_and_not_nought():
    made = average({2021: 10, 2023: 0, 2024: 20, 2019: 99}, range(2020, 2025))
    assert (made.years, made.missing) == ((2021, 2023, 2024), (2020, 2022))
    assert (made.mean, made.lowest, made.highest) == (10.0, 0, 20)
    assert average({}, [2024]).mean is None


def test_like_seasons_have_the_exact_limits_and_unlike_ones_wider():
    alike, unlike = expected([(10, 50)] * 4), expected([(0, 50), (20, 50), (0, 50), (20, 50)])
    assert (alike.rate, alike.spread, unlike.rate) == (0.2, 1.0, 0.2)
    assert (round(alike.low * 200, 3), round(alike.high * 200, 3)) == tuple(round(x, 3) for x in limits(40))
    assert unlike.low < alike.low < alike.high < unlike.high


def test_what_is_expected_is_never_a_promise():
    for past in ([], [(0, 0)], [(1, 5)], [(30, 100)]):
        assert expected(past).words.endswith(NOT_A_PROMISE)
    assert FEW in expected([(1, 5)]).words


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 90)), max_size=6))
def test_the_rate_lies_within_its_limits(past):
    made = expected(past)
    assert made.rate is None or 0 <= made.low <= made.rate <= made.high


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (0.4, "0.40 to 0.60 m"),
        (0.59, "0.40 to 0.60 m"),
        (0.6, "0.60 to 0.80 m"),
        (-0.1, "-0.20 to 0.00 m"),
        (None, "not said"),
    ],
)  # fmt: skip
def test_bands_hold_their_lower_edge(value, told):
    assert band(value, 0.2, "m") == told


def test_groups_come_with_most_fish_first_and_the_silent_last():
    fish = [Fish(DAY, "kept", pool=name) for name in ("", "", "", "tail", "head", "head")]
    told = [(group.name, group.fish) for group in grouped(fish, lambda one: one.pool)]
    assert told == [("head", 2), ("tail", 1), ("not said", 3)]


def test_the_best_fish_has_a_weight_and_the_last_a_date():
    fish = [Fish(DAY, "kept", id=n, weight_kg=weight) for n, weight in enumerate((None, Decimal(5), Decimal(5)))]
    assert (best(fish).id, last(fish).id, best([]), last([])) == (1, 2, None, None)


@pytest.mark.parametrize(
    ("day", "week"),
    [((2026, 1, 1), 1), ((2027, 1, 1), 1), ((2026, 12, 31), 52), ((2024, 12, 30), 52), ((2026, 5, 4), 19)],
)
def test_every_day_has_a_week_of_its_own_year(day, week):
    assert week_of(dt.date(*day)) == week
