"""The ledger: charges of lets, payments, refunds; added to and never changed."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from beats.models import AuditEntry
from beats.shared.once import Once
from beats.shared.refusals import KeyReused, NotYours
from bookings import accounts, reckoning
from bookings.models import LedgerEntry, LettingPolicy, RefundStep, Terms
from bookings.models.money import Unchangeable
from bookings.services.after import let_changed
from bookings.services.ledger import NothingToRepay, NotTheirLet, enter
from bookings.services.lets import cancel_let, let_rods
from bookings.services.terms import BadPrice, PriceKnown, add_price, change_terms, end_price
from bookings.tariff import BadMoney, CurrencyMix
from tests.factories import NOON, GuestFactory, LedgerEntryFactory, LetFactory, TariffFactory, client_of, keeper

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 5, 11)
TUESDAY = MONDAY + dt.timedelta(days=1)


@pytest.fixture
def guest(beat):
    return GuestFactory(fishery=beat.fishery, name="Una")


def entered(guest, owner, **other):
    facts = {
        "let": None, "kind": "payment", "amount": Decimal("100.00"), "currency": "GBP", "reference": "ABC",
        "note": "", "booked_on": None, "by": owner, "now": NOON,
    }  # fmt: skip
    return enter(guest, **(facts | other))


def let_of(beat, guest, owner, *, first_on=MONDAY, last_on=TUESDAY, rods=2, now=NOON):
    let, _ = let_rods(beat, booker=guest, first_on=first_on, last_on=last_on, rods=rods, by=owner, now=now)
    return let


def goes_back(beat, *steps):
    policy = LettingPolicy.objects.create(fishery=beat.fishery)
    for days, percent in steps:
        RefundStep.objects.create(policy=policy, notice_days=days, percent=percent)


def sums(**facts):
    return [(row.kind, str(row.amount)) for row in LedgerEntry.objects.filter(**facts).order_by("id")]


class TestCharging:
    def test_a_let_is_charged_when_it_is_made_with_the_vat_within(self, beat, guest, owner):
        TariffFactory(fishery=beat.fishery, rod_day=Decimal("85.00"))
        let = let_of(beat, guest, owner)
        (entry,) = LedgerEntry.objects.all()
        assert (entry.kind, entry.amount, entry.vat, entry.let) == ("charge", Decimal(340), Decimal("56.67"), let)
        assert reckoning.balance_of(guest) == Decimal("340.00")

    def test_a_let_with_a_day_no_price_covers_is_not_charged_by_guess(self, beat, guest, owner):
        TariffFactory(fishery=beat.fishery, first_on=TUESDAY)
        let = let_of(beat, guest, owner)
        assert sums() == []
        told = accounts.let_money(let, today=NOON.date())
        assert (told["unpriced_days"], told["balance"]) == ((MONDAY,), Decimal("0.00"))

    def test_a_refused_let_charges_nothing(self, beat, guest, owner):
        TariffFactory(fishery=beat.fishery)
        let_of(beat, guest, owner, rods=4)
        with pytest.raises(Exception, match="too few rods free"):
            let_of(beat, guest, owner, rods=1)
        assert sums() == [("charge", "800.00")]

    @pytest.mark.parametrize(("days_before", "back"), [(60, "-400.00"), (30, "-200.00"), (5, None)])
    def test_what_comes_back_goes_by_notice(self, beat, guest, owner, days_before, back):
        TariffFactory(fishery=beat.fishery, first_on=dt.date(2026, 1, 1))
        goes_back(beat, (56, 100), (28, 50))
        let = let_of(beat, guest, owner, now=NOON - dt.timedelta(days=200))
        when = dt.datetime.combine(MONDAY - dt.timedelta(days=days_before), dt.time(12), dt.UTC)
        cancel_let(let, by=owner, now=when)
        cancel_let(let, by=owner, now=when)
        assert sums() == [("charge", "400.00")] + ([("credit", back)] if back else [])

    def test_a_let_that_passes_to_another_guest_takes_its_charge_along(self, beat, guest, owner):
        TariffFactory(fishery=beat.fishery, rod_day=Decimal("85.00"))
        let = let_of(beat, guest, owner)
        let.booker = GuestFactory(fishery=beat.fishery)
        let.save()
        for _ in range(2):
            let_changed(let, by=owner, now=NOON)
        assert (sums(guest=guest), sums(guest=let.booker)) == (
            [("charge", "340.00"), ("credit", "-340.00")], [("charge", "340.00")],
        )  # fmt: skip

    def test_a_let_of_other_days_is_charged_the_difference(self, beat, guest, owner):
        TariffFactory(fishery=beat.fishery, rod_day=Decimal("85.00"))
        goes_back(beat, (0, 100))
        let = let_of(beat, guest, owner)
        let.rod_days.filter(day=TUESDAY).delete()
        let_changed(let, by=owner, now=NOON)
        (charge, credit) = LedgerEntry.objects.order_by("id")
        assert (credit.kind, credit.amount, charge.vat + credit.vat) == (
            "credit", Decimal("-170.00"), Decimal("28.34"),
        )  # fmt: skip

    def test_days_already_fished_stay_charged(self, beat, guest, owner):
        TariffFactory(fishery=beat.fishery, first_on=dt.date(2026, 1, 1))
        terms = Terms.objects.create(fishery=beat.fishery)
        goes_back(beat, (0, 100))
        let = let_of(beat, guest, owner, last_on=MONDAY + dt.timedelta(days=3))
        cancel_let(let, by=owner, now=dt.datetime(2026, 5, 13, 9, tzinfo=dt.UTC))
        account = reckoning.account_of(let, terms=terms, today=dt.date(2026, 5, 13))
        assert (sums()[-1], account.price, account.vat) == (("credit", "-400.00"), Decimal(400), Decimal("66.67"))


class TestEntering:
    def test_a_payment_lowers_what_is_owed_and_a_refund_raises_it(self, guest, owner):
        entered(guest, owner)
        entered(guest, owner, kind="refund", amount=Decimal("30.00"))
        assert sums() == [("payment", "-100.00"), ("refund", "30.00")]
        assert reckoning.balance_of(guest) == Decimal("-70.00")

    def test_only_the_owner_enters(self, beat, guest):
        for role in ("ghillie", "guest"):
            with pytest.raises(NotYours):
                entered(guest, keeper(beat.fishery, role))
        assert sums() == []

    def test_a_retry_is_the_same_entry_and_a_key_used_again_is_refused(self, guest, owner):
        once = Once.of("payment-key-1", {"amount": "100.00"})
        first, made = entered(guest, owner, once=once)
        assert (made, entered(guest, owner, once=once)) == (True, (first, False))
        with pytest.raises(KeyReused):
            entered(guest, owner, once=Once.of("payment-key-1", {"amount": "200.00"}))
        assert len(sums()) == 1

    @pytest.mark.parametrize("amount", ["0.005", "0", "-5", "NaN"])
    def test_an_amount_that_is_none_is_refused(self, guest, owner, amount):
        with pytest.raises(BadMoney):
            entered(guest, owner, amount=Decimal(amount))
        assert sums() == []

    def test_more_than_was_paid_is_not_paid_back(self, guest, owner):
        entered(guest, owner)
        with pytest.raises(NothingToRepay):
            entered(guest, owner, kind="refund", amount=Decimal("100.01"))
        assert len(sums()) == 1

    def test_another_guest_s_let_is_refused(self, beat, guest, owner):
        with pytest.raises(NotTheirLet):
            entered(guest, owner, let=LetFactory(beat=beat))

    @pytest.mark.parametrize(
        ("amount", "said"),
        [("0.005", "whole pennies"), (0.1, "as text"), (True, "amount of money"), ("NaN", "amount of money"),
         ("\N{FISH}", "amount of money"), ("-1.00", "greater than or equal"), ("0.00", "greater than or equal")],
    )  # fmt: skip
    def test_the_wire_says_what_to_do_about_a_bad_amount(self, guest, owner, amount, said):
        body = {"guest": guest.pk, "kind": "payment", "amount": amount, "currency": "GBP"}
        response = client_of(owner).post("/api/v1/ledger/", body, format="json")
        assert (response.status_code, list(response.json()["errors"])) == (400, ["amount"])
        assert said in response.json()["errors"]["amount"][0]


class TestOneCurrency:
    def test_a_payment_in_another_currency_is_refused(self, guest, owner):
        with pytest.raises(CurrencyMix, match="GBP"):
            entered(guest, owner, currency="EUR")

    def test_the_currency_cannot_change_under_the_book(self, guest, owner):
        entered(guest, owner)
        with pytest.raises(CurrencyMix):
            change_terms(guest.fishery, facts={"currency": "EUR"}, version=1, by=owner, now=NOON)
        assert Terms.objects.get().currency == "GBP"

    def test_an_empty_book_may_change_it(self, guest, owner):
        change_terms(guest.fishery, facts={"currency": "EUR"}, version=1, by=owner, now=NOON)
        entry, _ = entered(guest, owner, currency="EUR")
        assert (entry.currency, reckoning.terms_of(guest.fishery).currency) == ("EUR", "EUR")

    def test_the_database_itself_refuses_a_mix(self, guest):
        Terms.objects.create(fishery=guest.fishery)
        with pytest.raises(IntegrityError, match="one currency"):
            LedgerEntryFactory(guest=guest, currency="EUR")


class TestNeverChanged:
    @pytest.fixture
    def entry(self, guest):
        return LedgerEntryFactory(guest=guest)

    def test_no_code_of_ours_can_change_or_take_out_an_entry(self, entry):
        for act in (entry.save, entry.delete, LedgerEntry.objects.all().delete,
                    lambda: LedgerEntry.objects.update(amount=1),
                    lambda: LedgerEntry.objects.bulk_update([entry], ["note"])):  # fmt: skip
            with pytest.raises(Unchangeable):
                act()

    @pytest.mark.parametrize(
        "sql", ["UPDATE bookings_ledgerentry SET amount = -1", "DELETE FROM bookings_ledgerentry"]
    )
    def test_nor_can_a_hand_at_the_database(self, entry, sql):
        with (
            pytest.raises(IntegrityError, match="never changed"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(sql)
        assert LedgerEntry.objects.get() == entry

    def test_a_sum_must_point_the_way_of_its_kind(self, guest):
        with pytest.raises(IntegrityError):
            LedgerEntryFactory(guest=guest, amount=Decimal("50.00"))


class TestTariff:
    SPAN = {"first_on": MONDAY, "last_on": None, "first_week": 1, "last_week": 53, "kind": ""}

    def added(self, beat, owner, *, of=None, **other):
        facts = {"rod_day": Decimal("85.00"), "currency": "GBP", "by": owner, "now": NOON} | self.SPAN
        return add_price(beat.fishery, beat=of, **(facts | other))

    def test_the_same_span_is_priced_once_for_a_beat_and_for_all_beats(self, beat, owner):
        for of in (None, beat):
            self.added(beat, owner, of=of)
            with pytest.raises(PriceKnown):
                self.added(beat, owner, of=of, rod_day=Decimal("90.00"))

    @pytest.mark.parametrize(
        ("other", "refusal"),
        [
            ({"rod_day": Decimal("0.005")}, BadMoney), ({"rod_day": Decimal("-1.00")}, BadPrice),
            ({"rod_day": Decimal("NaN")}, BadMoney), ({"currency": "EUR"}, CurrencyMix),
            ({"first_week": 9, "last_week": 8}, BadPrice), ({"last_on": MONDAY - dt.timedelta(days=1)}, BadPrice),
        ],
    )  # fmt: skip
    def test_a_price_that_makes_no_sense_is_refused(self, beat, owner, other, refusal):
        with pytest.raises(refusal):
            self.added(beat, owner, **other)

    def test_a_row_is_ended_and_what_was_charged_by_it_stays(self, beat, guest, owner):
        row, _ = self.added(beat, owner)
        let_of(beat, guest, owner)
        end_price(row, last_on=MONDAY, by=owner, now=NOON)
        assert sums() == [("charge", "340.00")]
        assert AuditEntry.objects.get(verb="end price").after == {"last_on": "2026-05-11"}
