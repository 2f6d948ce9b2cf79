"""Money under many hands: a message that comes many times at once is one payment; no sum is paid back twice."""

from decimal import Decimal

import pytest

from bookings import reckoning
from bookings.models import LedgerEntry
from bookings.services.ledger import NothingToRepay, enter, paid_by_message
from tests.factories import NOON, GuestFactory, LedgerEntryFactory, LetFactory, PaymentKeyFactory
from tests.races.together import at_once

pytestmark = [
    pytest.mark.races,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("emptied_ledger"),
]


def test_one_message_that_comes_many_times_at_once_is_one_payment(beat):
    key, let = PaymentKeyFactory(fishery=beat.fishery), LetFactory(beat=beat)
    facts = {"amount": Decimal("250.00"), "currency": "GBP", "reference": ""}

    def report():
        return paid_by_message(key, hook_id="msg_1", body=b'{"data": 1}', let=let, facts=facts, now=NOON)

    answers = at_once([report] * 8)
    assert sorted(made for _, made in answers) == [False] * 7 + [True]
    assert {entry.pk for entry, _ in answers} == {LedgerEntry.objects.get().pk}


def test_what_was_paid_too_much_is_paid_back_once(beat, owner):
    guest = GuestFactory(fishery=beat.fishery)
    LedgerEntryFactory(guest=guest, amount=Decimal("-100.00"))

    def repay():
        try:
            enter(
                guest, let=None, kind="refund", amount=Decimal("60.00"), currency="GBP", reference="", note="",
                booked_on=None, by=owner, now=NOON,
            )  # fmt: skip
        except NothingToRepay:
            return False
        return True

    assert sorted(at_once([repay] * 6)) == [False] * 5 + [True]
    assert reckoning.balance_of(guest) == Decimal("-40.00")
