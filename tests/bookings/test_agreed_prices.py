"""The price agreed for a let stays through later changes; only what is changed is priced or credited.

VAT Notice 700, paragraphs 18.2 and 30.7 (from memory): what was supplied at one rate is credited at that rate,
and a new rate is for supplies after the change. What goes back of days given up is each fishery's own policy.
"""

import datetime as dt
from decimal import Decimal

import pytest

from bookings.models import AgreedPrice, LedgerEntry
from bookings.services.holds import cancel_let
from bookings.services.lets import let_rods
from tests.bookings.owner_book import Book
from tests.factories import NOON, BeatFactory, TariffFactory, client_of

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
LONG_AGO = dt.date(2026, 1, 1)


@pytest.fixture
def beat():
    return BeatFactory(rods=3)


@pytest.fixture
def book(beat, owner):
    """A fishery with one price of 85.00, asked and changed over HTTP as its owner does."""
    TariffFactory(fishery=beat.fishery, first_on=LONG_AGO, rod_day=Decimal("85.00"))
    return Book(beat, client_of(owner))


def notes(guest, book):
    return [(row["amount"], row["note"]) for row in book.statement(guest)["entries"]]


class TestAgreedPricesStay:
    def test_credits_and_charges_by_hand_survive_a_change_of_company(self, book):
        una = book.guest()
        let = book.let(una, rods=2)
        book.enter(una, let, "credit", "100.00")
        book.enter(una, let, "charge", "60.00")
        count = LedgerEntry.objects.count()
        book.change(let, company="together")
        told = book.money(let)
        assert (told["price"], told["by_hand"], LedgerEntry.objects.count()) == ("980.00", "-40.00", count)

    @pytest.mark.parametrize("change", [{"company": "apart"}, {"kind": "week"}, {"rods": 1}])
    def test_a_later_price_does_not_touch_a_let_that_is_sold(self, book, change):
        let = book.let(book.guest())
        book.tariff("100.00", beat=book.beat)
        count = LedgerEntry.objects.count()
        book.change(let, **change)
        assert (book.price(let)[0], LedgerEntry.objects.count()) == ("510.00", count)

    def test_a_change_of_days_leaves_sums_by_hand_and_other_days_alone(self, book):
        una = book.guest()
        let = book.let(una, days=2)
        book.enter(una, let, "credit", "100.00")
        book.change(let, last_on=str(book.monday + 2 * DAY))
        assert [amount for amount, _ in notes(una, book)] == ["170.00", "-100.00", "85.00"]

    def test_a_day_added_costs_what_the_let_agreed_for_such_a_day(self, book):
        let = book.let(book.guest(), days=5)
        book.tariff("100.00", beat=book.beat)
        book.change(let, last_on=str(book.monday + 5 * DAY))
        book.change(let, rods=2)
        assert book.price(let)[0] == "1020.00"  # twelve at 85.00

    def test_a_day_of_another_price_costs_what_the_tariff_asks_now(self, book):
        let = book.let(book.guest(), days=5)
        saturday = book.monday + 5 * DAY
        book.tariff("140.00", beat=book.beat, first_on=saturday, last_on=saturday)
        book.change(let, last_on=str(saturday))
        assert book.price(let)[0] == "565.00"  # five at 85.00, one at 140.00

    def test_a_beat_of_another_price_is_priced_and_one_of_the_same_is_not(self, book):
        same, dearer = (BeatFactory(fishery=book.beat.fishery, rods=3) for _ in range(2))
        let = book.let(book.guest(), days=2)
        book.tariff("120.00", first_on=LONG_AGO + DAY)  # for every beat, after the let was made
        book.tariff("200.00", beat=dearer)
        count = LedgerEntry.objects.count()
        book.change(let, beat=same.pk)
        assert (book.price(let)[0], LedgerEntry.objects.count()) == ("170.00", count)
        book.change(let, beat=dearer.pk)
        assert book.price(let)[0] == "400.00"

    def test_other_days_of_the_same_price_cost_nothing(self, book):
        let = book.let(book.guest(), days=2)
        count = LedgerEntry.objects.count()
        book.change(let, first_on=str(book.monday + 7 * DAY), last_on=str(book.monday + 8 * DAY))
        assert (book.price(let)[0], LedgerEntry.objects.count()) == ("170.00", count)

    def test_a_let_without_a_price_is_not_charged_by_a_change_of_company(self, beat, owner):
        book = Book(beat, client_of(owner))
        let = book.let(book.guest())
        book.tariff("85.00")
        book.change(let, company="apart")
        told = book.money(let)
        assert (told["price"], len(told["unpriced_days"])) == ("0.00", 6)
        book.change(let, rods=2)
        told = book.money(let)
        assert (told["price"], told["unpriced_days"]) == ("1020.00", [])

    def test_a_day_added_that_nothing_prices_is_named_and_not_charged(self, beat, owner):
        book = Book(beat, client_of(owner))
        saturday = book.monday + 5 * DAY
        book.tariff("85.00", last_on=saturday - DAY)
        let = book.let(book.guest(), days=5)
        book.change(let, last_on=str(saturday))
        told = book.money(let)
        assert (told["price"], told["unpriced_days"]) == ("425.00", [str(saturday)])
        book.tariff("85.00", first_on=saturday)
        book.change(let, company="apart")
        assert book.price(let)[0] == "425.00"

    def test_a_let_priced_by_hand_is_not_priced_again(self, beat, owner):
        book = Book(beat, client_of(owner))
        una = book.guest()
        let = book.let(una, days=4)
        book.enter(una, let, "charge", "600.00")
        book.tariff("85.00")
        book.change(let, last_on=str(book.monday + 4 * DAY))
        part = book.act(f"lets/{let}/split/", booker=book.guest("Ian").pk, from_on=str(book.monday + 2 * DAY))
        assert (book.price(let)[0], book.price(part["id"])[0]) == ("600.00", "0.00")

    def test_a_hold_is_priced_when_it_is_confirmed(self, book):
        let = book.let(book.guest(), hold=True)
        book.change(let, rods=2)
        assert not AgreedPrice.objects.exists()
        book.act(f"lets/{let}/confirm/")
        assert book.price(let)[0] == "1020.00"


class TestGivingUpDays:
    def test_shortening_gives_back_what_cancelling_these_days_would(self, book):
        book.refunds((0, 67))
        una = book.guest()
        let = book.let(una, rods=2)
        book.change(let, last_on=str(book.monday))
        assert book.price(let)[0] == "450.50"  # 170.00, and 33 % of 850.00
        (line,) = [line for line in book.money(let)["agreed"] if line["given_up_on"]]
        assert (line["refund_percent"], line["gross"], line["credited"], line["kept"]) == (
            67, "850.00", "569.50", "280.50",
        )  # fmt: skip
        assert "67 % of 850.00 goes back, 280.50 is kept" in notes(una, book)[-1][1]

    def test_without_a_refund_all_is_kept_and_the_statement_says_so(self, book):
        una = book.guest()
        let = book.let(una, rods=2)
        book.change(let, rods=1)
        assert book.price(let)[0] == "1020.00"
        (given_up,) = book.statement(una)["given_up"]
        assert (given_up["let"], given_up["line"]["kept"], given_up["line"]["refund_percent"]) == (
            let,
            "510.00",
            0,
        )

    def test_notice_counts_from_the_first_day_given_up(self, book):
        first_given_up = book.monday + 3 * DAY
        notice = (first_given_up - dt.datetime.now(dt.UTC).date()).days
        book.refunds((notice - 1, 100), (notice + 2, 0))
        # A longer notice with a smaller refund is refused by the service; here it shows which step was taken.
        let = book.let(book.guest())
        book.change(let, last_on=str(first_given_up - DAY))
        assert book.price(let)[0] == "255.00"

    def test_each_day_goes_back_at_its_own_price(self, book):
        """One weekday, sixteen weeks: eight at 20.00, then at 300.00; the dear ones are given up."""
        book.refunds((0, 100))
        dear_from = book.monday + 8 * 7 * DAY
        book.tariff("20.00", kind="season", last_on=dear_from - DAY)
        book.tariff("300.00", kind="season", first_on=dear_from)
        let = book.let(book.guest(), days=16 * 7, kind="season", weekday=0)
        assert book.price(let)[0] == "2560.00"
        book.change(let, last_on=str(dear_from))
        assert book.price(let)[0] == "460.00"  # eight at 20.00, one at 300.00

    def test_cancelled_half_way_the_dear_days_go_back_whole(self, book, beat, owner):
        book.refunds((0, 100))
        first = dt.date(2026, 5, 4)
        book.tariff("20.00", kind="season", last_on=dt.date(2026, 5, 31))
        book.tariff("300.00", kind="season", first_on=dt.date(2026, 6, 1))
        let, _ = let_rods(
            beat, booker=book.guest(), first_on=first, last_on=dt.date(2026, 7, 31), rods=1, kind="season",
            weekday=0, by=owner, now=NOON,
        )  # fmt: skip
        cancel_let(let, by=owner, now=dt.datetime(2026, 6, 1, 9, tzinfo=dt.UTC))
        assert book.price(let.pk)[0] == "80.00"  # four Mondays in May were fished
        let.refresh_from_db()
        assert let.refund_percent == 100

    def test_no_penny_is_lost_on_the_way(self, book):
        """Three prices that do not divide, 33 %, one rod-day at a time."""
        book.refunds((0, 33))
        book.tariff("33.33", beat=book.beat)
        let = book.let(book.guest(), days=3, rods=3)
        vat = Decimal(book.money(let)["vat"])
        for rods in (2, 1):
            book.change(let, rods=rods)
        told = book.money(let)
        assert sum(Decimal(line["kept"]) for line in told["agreed"]) == Decimal(told["price"])
        book.act(f"lets/{let}/cancel/")
        told = book.money(let)
        assert sum(Decimal(line["gross"]) for line in told["agreed"]) == Decimal("299.97")
        assert sum(Decimal(line["vat"]) for line in told["agreed"]) == vat
        assert Decimal(told["price"]) == 3 * (Decimal("99.99") - Decimal("33.00"))

    def test_a_split_takes_the_own_prices_of_its_days_along_though_the_tariff_rose(self, book):
        dear = book.monday + 3 * DAY
        book.tariff("300.00", beat=book.beat, first_on=dear, last_on=dear + 2 * DAY)
        una, ian = book.guest(), book.guest("Ian")
        let = book.let(una)
        book.tariff("999.00", beat=book.beat, kind="day")
        part = book.act(f"lets/{let}/split/", booker=ian.pk, from_on=str(dear))["id"]
        assert (book.price(let)[0], book.price(part)[0]) == ("255.00", "900.00")
        assert (book.statement(una)["balance"], book.statement(ian)["balance"]) == ("255.00", "900.00")


class TestVat:
    def test_a_new_rate_is_for_what_is_added_from_todays_tariff_alone(self, book):
        una = book.guest()
        let = book.let(una, days=4)
        assert book.price(let) == ("340.00", "56.67")
        book.terms(vat_percent="5.00")
        book.change(let, last_on=str(book.monday + 4 * DAY))  # a day as agreed, with the VAT agreed
        assert book.price(let) == ("425.00", "70.84")
        saturday = book.monday + 5 * DAY
        book.tariff("105.00", beat=book.beat, first_on=saturday, last_on=saturday)
        book.change(let, last_on=str(saturday))
        assert book.price(let) == ("530.00", "75.84")  # 5.00 is held in 105.00 at 5 %

    def test_vat_on_top_or_within_is_as_it_was_agreed(self, book):
        book.terms(vat_included=False)
        let = book.let(book.guest(), days=3)
        assert book.price(let) == ("306.00", "51.00")
        book.terms(vat_included=True, vat_percent="0")
        book.change(let, company="apart")
        book.change(let, rods=2)
        assert book.price(let) == ("612.00", "102.00")

    def test_a_credit_is_at_the_rate_of_what_it_takes_back(self, book):
        book.refunds((0, 100))
        una = book.guest()
        let = book.let(una, days=2)
        book.terms(vat_percent="5.00")
        book.enter(una, let, "credit", "60.00")
        book.act(f"lets/{let}/cancel/")
        vats = [row["vat"] for row in book.statement(una)["entries"]]
        assert vats == ["28.33", "-10.00", "-28.33"]


class TestHandedOn:
    def test_what_was_paid_stays_with_who_paid_it_and_all_accounts_agree(self, book):
        una, ian = book.guest(), book.guest("Ian")
        let = book.let(una)
        book.enter(una, let, "payment", "127.50")
        assert (book.money(let)["balance"], book.to_come()) == ("382.50", Decimal("382.50"))
        book.act(f"lets/{let}/transfer/", to=ian.pk)
        told = book.money(let)
        assert (told["price"], told["paid"], told["balance"]) == ("510.00", "0.00", "510.00")
        assert sum(Decimal(due["amount"]) for due in told["open_dues"]) == Decimal("510.00") == book.to_come()
        assert [book.statement(guest)["balance"] for guest in (una, ian)] == ["-127.50", "510.00"]
        assert [(row["guest"], row["paid"], row["balance"], row["has_let"]) for row in told["payers"]] == [
            (una.pk, "127.50", "-127.50", False), (ian.pk, "0.00", "510.00", True),
        ]  # fmt: skip

    def test_the_former_booker_gets_back_what_they_paid_and_no_more(self, book):
        una, ian = book.guest(), book.guest("Ian")
        let = book.let(una)
        book.enter(una, let, "payment", "127.50")
        book.act(f"lets/{let}/transfer/", to=ian.pk)
        refused = book.enter(una, let, "refund", "127.51", status=409)
        assert refused["type"].endswith("nothing-to-repay")
        assert book.enter(una, let, "payment", "5.00", status=409)["type"].endswith("not-their-let")
        book.enter(una, let, "refund", "127.50")
        book.enter(ian, let, "payment", "510.00")
        told = book.money(let)
        assert (told["paid"], told["balance"], told["open_dues"], book.to_come()) == ("510.00", "0.00", [], 0)
        assert [book.statement(guest)["balance"] for guest in (una, ian)] == ["0.00", "0.00"]

    def test_what_was_entered_by_hand_on_a_hold_goes_along_too(self, book):
        una, ian = book.guest(), book.guest("Ian")
        let = book.let(una, hold=True)
        book.enter(una, let, "credit", "10.00")
        book.act(f"lets/{let}/transfer/", to=ian.pk)
        assert [book.statement(guest)["balance"] for guest in (una, ian)] == ["0.00", "-10.00"]
        assert book.price(let)[0] == "-10.00"

    def test_a_refund_on_a_let_is_held_to_what_is_over_on_that_let(self, book):
        una = book.guest()
        first, second = book.let(una), book.let(una)
        book.enter(una, first, "payment", "1100.00")
        refused = book.enter(una, second, "refund", "50.00", status=409)
        assert refused["type"].endswith("nothing-to-repay")
        book.enter(una, first, "refund", "50.00")
        assert book.statement(una)["balance"] == "-30.00"
