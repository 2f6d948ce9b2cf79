"""What a let costs, when it is due, what goes back: the house's own rules, in exact decimals."""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bookings import tariff
from bookings.tariff import BadMoney, CurrencyMix, Due, Price, Vat

MONDAY = dt.date(2026, 5, 4)
WEEK = [MONDAY + dt.timedelta(days=n) for n in range(6)]
SEASON = {2026: dt.date(2026, 2, 11)}
EVER = dt.date(2026, 1, 1)
VAT = Vat(Decimal(20))
SUMS = st.decimals(min_value=0, max_value=100_000, places=2)


def quoted(days, *prices, rods=1, beat=1, kind="day", vat=VAT):
    return tariff.quote(
        dict.fromkeys(days, rods), beat=beat, kind=kind, prices=prices, season_starts=SEASON, vat=vat
    )


def price(rod_day, **facts):
    return Price(Decimal(rod_day), **({"first_on": EVER} | facts))


class TestPrices:
    def test_a_let_is_charged_for_each_rod_on_each_day(self):
        told = quoted(WEEK, price("85.00"), rods=3)
        assert [(line.rod_days, line.gross) for line in told.lines] == [(18, Decimal("1530.00"))]

    @pytest.mark.parametrize(
        ("more", "less"),
        [
            ({"beat": 1}, {"kind": "day"}),
            ({"kind": "day"}, {"first_week": 10, "last_week": 14}),
            ({"first_week": 12, "last_week": 14}, {"first_week": 10, "last_week": 20}),
            ({"first_on": dt.date(2026, 4, 1)}, {"first_on": dt.date(2026, 3, 1)}),
        ],
    )
    def test_the_row_that_says_most_decides_in_whatever_order_they_stand(self, more, less):
        rows = [price("200.00", **more), price("100.00", **less)]
        for prices in (rows, rows[::-1]):
            assert quoted([MONDAY], *prices).gross == Decimal("200.00")

    @pytest.mark.parametrize(
        "elsewhere",
        [
            {"beat": 2}, {"kind": "week"}, {"first_week": 1, "last_week": 12}, {"first_week": 14},
            {"first_on": MONDAY + dt.timedelta(days=1)}, {"last_on": MONDAY - dt.timedelta(days=1)},
        ],
    )  # fmt: skip
    def test_a_day_no_row_fits_is_named_and_costs_nothing_unseen(self, elsewhere):
        told = quoted([MONDAY], price("85.00", **elsewhere))
        assert (told.unpriced, told.lines) == ((MONDAY,), ())

    def test_a_let_over_a_change_of_price_has_a_line_for_each(self):
        old, new = price("80.00", last_on=WEEK[2]), price("90.00", first_on=WEEK[3])
        told = quoted(WEEK, old, new)
        assert [(line.first_on, line.last_on, line.gross) for line in told.lines] == [
            (WEEK[0], WEEK[2], Decimal("240.00")), (WEEK[3], WEEK[5], Decimal("270.00")),
        ]  # fmt: skip

    def test_vat_laid_on_top_makes_the_price_dearer_and_vat_within_does_not(self):
        within, on_top = (
            quoted([MONDAY], price("85.00")),
            quoted([MONDAY], price("85.00"), vat=Vat(Decimal(20), False)),
        )
        assert (within.gross, within.vat, within.lines[0].net) == (
            Decimal("85.00"), Decimal("14.17"), Decimal("70.83"),
        )  # fmt: skip
        assert (on_top.gross, on_top.vat) == (Decimal("102.00"), Decimal("17.00"))


class TestDues:
    def parts(self, total="1000.00", made_on=dt.date(2026, 1, 10), **terms):
        usual = {"deposit_percent": 25, "deposit_days": 14, "balance_days": 56}
        return tariff.dues(Decimal(total), made_on=made_on, first_on=MONDAY, **(usual | terms))

    def test_a_deposit_and_then_the_rest(self):
        assert self.parts() == [
            Due(dt.date(2026, 1, 24), Decimal("250.00"), "deposit"),
            Due(dt.date(2026, 3, 9), Decimal("750.00"), "the rest"),
        ]

    def test_a_let_made_late_is_due_whole_and_at_once(self):
        made_on = dt.date(2026, 4, 30)
        assert self.parts(made_on=made_on) == [Due(made_on, Decimal("1000.00"), "the whole price")]

    @given(total=SUMS, percent=st.integers(0, 100), days=st.integers(0, 400), rest=st.integers(0, 400))
    def test_the_parts_are_the_price_to_the_penny_and_never_after_fishing(self, total, percent, days, rest):
        parts = self.parts(total, deposit_percent=percent, deposit_days=days, balance_days=rest)
        assert sum(part.amount for part in parts) == total
        assert all(part.due_on <= MONDAY for part in parts)

    @pytest.mark.parametrize(
        ("paid", "left"),
        [("0.00", ["250.00", "750.00"]), ("100.00", ["150.00", "750.00"]), ("250.00", ["750.00"]),
         ("300.00", ["700.00"]), ("1000.00", []), ("1200.00", []), ("-10.00", ["250.00", "750.00"])],
    )  # fmt: skip
    def test_part_payments_fill_the_earliest_part_first(self, paid, left):
        assert [str(due.amount) for due in tariff.still_due(self.parts(), Decimal(paid))] == left


class TestRefunds:
    @pytest.mark.parametrize(("percent", "back"), [(100, "99.99"), (50, "50.00"), (0, "0.00")])
    def test_a_half_penny_that_goes_back_is_rounded_up(self, percent, back):
        assert tariff.part_back(Decimal("99.99"), percent) == Decimal(back)


class TestMoney:
    @pytest.mark.parametrize(
        "text", ["0.005", "85.001", "NaN", "Infinity", "-Infinity", "sNaN", "1e30", "10000000"]
    )
    def test_what_cannot_be_paid_in_coin_is_refused_with_what_to_do(self, text):
        with pytest.raises(BadMoney, match=r"whole pennies|Write an amount"):
            tariff.money(Decimal(text))

    def test_whole_pennies_come_out_as_they_went_in(self):
        assert str(tariff.money(Decimal("85.1"))) == "85.10"

    def test_another_currency_is_refused_and_the_right_one_named(self):
        with pytest.raises(CurrencyMix, match="keeps its book in GBP"):
            tariff.one_currency("GBP", "EUR")
