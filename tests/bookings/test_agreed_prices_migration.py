"""Lets confirmed before agreed prices were kept get theirs from the ledger, and no sum moves on the way."""

import datetime as dt
from decimal import Decimal
from importlib import import_module

import pytest
from django.apps import apps
from django.db.models import Sum

from bookings import accounts
from bookings.models import AgreedPrice, LedgerEntry
from tests.factories import (
    NOON,
    GuestFactory,
    LedgerEntryFactory,
    LetFactory,
    RodDayFactory,
    TermsFactory,
    client_of,
)

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 5, 11)
DAY = dt.timedelta(days=1)
fill = import_module("bookings.migrations.0009_agreed_prices").agree_as_charged


@pytest.fixture
def let(beat):
    """Four rod-days, charged at two prices before agreed prices were kept; VAT at 20 %."""
    TermsFactory(fishery=beat.fishery)
    made = LetFactory(beat=beat, first_on=MONDAY, last_on=MONDAY + 3 * DAY, confirmed_at=NOON)
    for n in range(4):
        RodDayFactory(let=made, day=MONDAY + n * DAY)
    return made


def charged(let, amount, vat, note, **more):
    kind = "charge" if Decimal(amount) > 0 else "credit"
    facts = {"guest": let.booker, "kind": kind, "amount": Decimal(amount), "vat": Decimal(vat)} | more
    return LedgerEntryFactory(let=let, note=note, **facts)


def agreed(let):
    rows = AgreedPrice.objects.filter(let=let).order_by("day")
    return [(str(row.rod_day), str(row.gross), str(row.vat)) for row in rows]


def filled(let):
    before = list(LedgerEntry.objects.order_by("id").values_list())
    told = accounts.let_money(let, today=NOON.date())
    fill(apps, None)
    assert list(LedgerEntry.objects.order_by("id").values_list()) == before
    after = accounts.let_money(let, today=NOON.date())
    assert all(told[name] == after[name] for name in ("price", "vat", "paid", "balance", "dues", "open_dues"))
    return after


def test_each_day_has_the_price_its_charge_named(let):
    charged(let, "40.00", "6.67", "2 rod-days at 20.00, day")
    charged(let, "600.00", "100.00", "2 rod-days at 300.00, day")
    assert filled(let)["by_hand"] == 0
    assert agreed(let) == [
        ("20.00", "20.00", "3.33"), ("20.00", "20.00", "3.34"), ("300.00", "300.00", "50.00"),
        ("300.00", "300.00", "50.00"),
    ]  # fmt: skip
    assert {row.vat_percent for row in AgreedPrice.objects.all()} == {Decimal("20.00")}


def test_a_let_that_was_changed_shares_its_charge_evenly_to_the_penny(let):
    charged(let, "99.99", "16.67", "3 rod-days at 33.33, day")
    charged(let, "33.34", "5.56", "the let was changed")
    filled(let)
    assert [gross for _, gross, _ in agreed(let)] == ["33.33", "33.34", "33.33", "33.33"]
    sums = AgreedPrice.objects.aggregate(gross=Sum("gross"), vat=Sum("vat"))
    assert (round(sums["gross"], 2), round(sums["vat"], 2)) == (Decimal("133.33"), Decimal("22.23"))


def test_sums_by_hand_stay_beside_the_agreed_price(let):
    charged(let, "340.00", "56.67", "4 rod-days at 85.00, day")
    charged(let, "-100.00", "-16.67", "an old friend")
    assert filled(let)["by_hand"] == Decimal("-100.00")
    assert [price for price, *_ in agreed(let)] == ["85.00"] * 4


def test_a_let_handed_on_has_its_price_once(let):
    una, let.booker = let.booker, GuestFactory(fishery=let.beat.fishery)
    let.save()
    charged(let, "340.00", "56.67", "4 rod-days at 85.00, day", guest=una)
    charged(let, "-340.00", "-56.67", f"let {let.pk} passed to another guest", guest=una)
    charged(let, "340.00", "56.67", f"let {let.pk} passed to another guest")
    filled(let)
    assert [price for price, *_ in agreed(let)] == ["85.00"] * 4


def test_net_prices_stay_net_for_what_is_added_later(let, owner):
    let.beat.fishery.terms.vat_included = False
    let.beat.fishery.terms.save()
    charged(let, "408.00", "68.00", "4 rod-days at 85.00, day")
    filled(let)
    assert agreed(let)[0] == ("85.00", "102.00", "17.00")
    client = client_of(owner)
    answer = client.patch(f"/api/v1/lets/{let.pk}/", {"company": "apart"}, format="json",
                          headers={"If-Match": f'"{let.version}"'})  # fmt: skip
    assert answer.status_code == 200
    assert client.get(f"/api/v1/lets/{let.pk}/money/").json()["price"] == "408.00"


def test_lets_without_a_charge_and_cancelled_lets_get_none(beat):
    fresh, over = LetFactory(beat=beat), LetFactory(beat=beat, status="cancelled", cancelled_at=NOON)
    RodDayFactory(let=fresh)
    charged(over, "50.00", "8.33", "1 rod-days at 50.00, day")
    fill(apps, None)
    assert not AgreedPrice.objects.exists()
