"""VAT rounding against what HMRC publishes.

VATREC12030 (HMRC internal manual, VAT Trader's Records, "What do we mean by rounding up and down?"):
less than 0.5 of a penny is rounded down, 0.5 of a penny or more is rounded up.
VAT Notice 700, "The VAT guide", paragraph 17.5.1: its worked example rounds 86.76p to 87p at the
nearest penny. The paragraph's figures are from memory; the rule was read in VATREC12010 and 12030.
VAT fraction: at 20 percent, one sixth of the price (VAT Notice 700; from memory).
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bookings.tariff import to_penny, vat_on, vat_within

TWENTY = Decimal(20)


def test_the_worked_example_of_the_vat_guide():
    assert to_penny(Decimal("0.8676")) == Decimal("0.87")


@pytest.mark.parametrize(
    ("net", "vat"),
    [
        ("4.3380", "0.87"),  # 86.76p of tax
        ("0.02", "0.00"),  # 0.4p
        ("0.025", "0.01"),  # exactly 0.5p
        ("0.03", "0.01"),  # 0.6p
        ("704.88", "140.98"),  # 140.976
    ],
)
def test_less_than_half_a_penny_goes_down_and_half_a_penny_up(net, vat):
    assert vat_on(Decimal(net), TWENTY) == Decimal(vat)


@given(st.decimals(min_value=0, max_value=100_000, places=2))
def test_the_tax_within_a_price_is_one_sixth_to_the_nearest_penny(gross):
    exact = Fraction(gross) / 6
    assert abs(Fraction(vat_within(gross, TWENTY)) - exact) <= Fraction(1, 200)


@pytest.mark.parametrize(("gross", "vat"), [("120.00", "20.00"), ("85.00", "14.17"), ("0.03", "0.01")])
def test_the_vat_fraction(gross, vat):
    assert vat_within(Decimal(gross), TWENTY) == Decimal(vat)
