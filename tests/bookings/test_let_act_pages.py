"""What the owner does with a let by page: shown first, done once, refused in words."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import LedgerEntry, Let
from bookings.services.agreed_prices import agree_prices
from tests.bookings.book import next_wednesday_in_may
from tests.factories import GuestFactory, LedgerEntryFactory, LetFactory, RodDayFactory, TariffFactory
from tests.pages import at_let

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
RTL = "\u05e9\u05dc\u05d5\u05dd \u202emorf"
LONG = "Una " + "Featherstonehaugh-" * 5


@pytest.fixture
def first_on():
    return next_wednesday_in_may()


@pytest.fixture
def let(beat, first_on):
    made = LetFactory(beat=beat, booker=GuestFactory(fishery=beat.fishery, name="Una Mossgrove"), rods=2,
                      first_on=first_on, last_on=first_on + DAY, confirmed_at=timezone.now())  # fmt: skip
    for day in (first_on, first_on + DAY):
        for rod in (1, 2):
            RodDayFactory(let=made, day=day, rod=rod)
    TariffFactory(fishery=beat.fishery, rod_day=Decimal("50.00"))
    agree_prices(made, by=None, now=timezone.now())
    return made


def seen(answer):
    """The mark that the page shown first carries."""
    return re.search(r'name="seen" value="(\w+)"', answer.content.decode())[1]


def looked_at(house, path, form):
    answer = house.post(path, form)
    assert answer.status_code == 200
    assert "Nothing is done yet" in answer.content.decode()
    return answer, form | {"seen": seen(answer)}


PAYMENT = {"key": "k1", "kind": "payment", "amount": "60.00", "booked_on": "", "reference": "BACS 7", "note": RTL}


def test_a_payment_is_shown_then_written_once_however_often_it_is_sent(house, let):
    path, before = at_let("house-entry", let), AuditEntry.objects.count()
    page, form = looked_at(house, path, PAYMENT)
    assert "Still to pay: 200.00 → 140.00 GBP" in page.content.decode(), re.findall(
        r"<li>.*", page.content.decode()
    )
    assert not LedgerEntry.objects.filter(kind="payment").exists()
    assert AuditEntry.objects.count() == before
    for _ in range(2):
        assert house.post(path, form)["Location"] == at_let("house-let", let)
    entry = LedgerEntry.objects.get(kind="payment")
    assert (entry.amount, entry.guest, entry.let, entry.note) == (Decimal("-60.00"), let.booker, let, RTL)


def test_what_was_changed_after_it_was_seen_is_shown_anew(house, let):
    path = at_let("house-entry", let)
    _, form = looked_at(house, path, PAYMENT)
    answer, _ = looked_at(house, path, form | {"amount": "61.00"})
    assert "139.00 GBP" in answer.content.decode()
    assert not LedgerEntry.objects.filter(kind="payment").exists()


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"amount": "0"}, "0.01"),
        ({"amount": "12.345"}, "2 decimal places"),
        ({"amount": "a lot"}, "Enter a number"),
        ({"kind": "refund", "amount": "5.00"}, "not paid in excess"),
        ({"kind": "gift"}, "gift"),
        ({"booked_on": "9999-01-01"}, "2200"),
        ({"reference": "x" * 81}, "80 characters"),
        ({"key": ""}, ""),
    ],
)
def test_money_that_cannot_be_is_refused_at_the_first_press_and_stays_typed(wrong, told, house, let):
    form = PAYMENT | wrong
    answer = house.post(at_let("house-entry", let), form)
    assert answer.status_code == 422
    assert told in answer.content.decode()
    assert form["reference"] in answer.content.decode()
    assert LedgerEntry.objects.count() == 1  # the charge of the let


def party_of(let, **more):
    return {"key": "k", "version": let.version, "first_on": let.first_on.isoformat(),
            "last_on": let.last_on.isoformat(), "rod_1": "", "rod_2": ""} | more  # fmt: skip


@pytest.mark.parametrize("name", ["Wolfeschlegelsteinha", LONG[:90]])
def test_the_party_is_named_day_by_day_and_twice_is_once(name, house, let):
    guest = GuestFactory(fishery=let.beat.fishery, name=name)
    form = party_of(let, rod_2=str(guest.pk), last_on=let.first_on.isoformat())
    page, form = looked_at(house, at_let("house-party", let), form)
    assert f"rod 2: no name yet → {name}" in page.content.decode()
    for _ in range(2):
        assert house.post(at_let("house-party", let), form)["Location"] == at_let("house-let", let)
    named = let.rod_days.exclude(guest=None)
    assert [(row.day, row.rod, row.guest) for row in named] == [(let.first_on, 2, guest)]
    assert name in house.get(at_let("house-let", let)).content.decode()


def test_a_name_is_taken_off_again(house, let):
    let.rod_days.filter(rod=1).update(guest=let.booker)
    _, form = looked_at(house, at_let("house-party", let), party_of(let, rod_1="nobody"))
    house.post(at_let("house-party", let), form)
    assert not let.rod_days.exclude(guest=None).exists()


def test_a_party_that_cannot_be_is_refused(house, let, first_on):
    guest, stray = GuestFactory(fishery=let.beat.fishery), GuestFactory()
    wrong = [
        ({"rod_1": str(guest.pk), "rod_2": str(guest.pk)}, "on two rods of one day"),
        ({"rod_1": str(stray.pk)}, "not one of the available"),
        ({}, "Choose somebody for one rod at least"),
        ({"rod_1": str(guest.pk), "version": let.version + 1}, "Read it again"),
        ({"rod_1": str(guest.pk), "last_on": (first_on - DAY).isoformat()}, "before the first day"),
    ]
    for more, told in wrong:
        answer = house.post(at_let("house-party", let), party_of(let, **more))
        assert (answer.status_code, told in answer.content.decode()) == (422, True), told
    assert not let.rod_days.exclude(guest=None).exists()


def test_a_let_is_handed_on_with_its_price(house, let):
    to = GuestFactory(fishery=let.beat.fishery, name="Ian Heronsgate")
    page, form = looked_at(house, at_let("house-hand-on", let), {"key": "k", "to": to.pk})
    assert "Ian Heronsgate is charged 200.00 GBP for it" in page.content.decode()
    assert Let.objects.get(pk=let.pk).booker == let.booker
    for _ in range(2):
        assert house.post(at_let("house-hand-on", let), form)["Location"] == at_let("house-let", let)
    assert Let.objects.get(pk=let.pk).booker == to
    assert LedgerEntry.objects.count() == 3  # the first charge, taken back, charged anew


def test_what_a_former_booker_paid_is_shown_and_paid_back_by_page(house, let):
    una, to = let.booker, GuestFactory(fishery=let.beat.fishery, name="Ian Heronsgate")
    LedgerEntryFactory(guest=una, let=let, amount=Decimal("-60.00"))
    page, form = looked_at(house, at_let("house-hand-on", let), {"key": "k", "to": to.pk})
    assert f"{una.name} paid on it and has 60.00 GBP to get back." in page.content.decode()
    house.post(at_let("house-hand-on", let), form)
    page = house.get(at_let("house-let", let)).content.decode()
    assert f"{una.name} had this let before and paid 60.00 GBP on it." in page
    assert "Still to pay back: 60.00 GBP" in page
    money = {"key": "k2", "guest": una.pk, "kind": "refund", "amount": "60.00", "booked_on": "", "reference": "",
             "note": ""}  # fmt: skip
    _, form = looked_at(house, at_let("house-entry", let), money)
    house.post(at_let("house-entry", let), form)
    assert LedgerEntry.objects.get(kind="refund").guest == una
    assert "Still to pay back" not in house.get(at_let("house-let", let)).content.decode()


def test_a_let_is_split_by_rods_once(house, let):
    to = GuestFactory(fishery=let.beat.fishery, name="Ian Heronsgate")
    form = {"key": "k", "booker": to.pk, "from_on": "", "rods": "1"}
    page, form = looked_at(house, at_let("house-split", let), form)
    assert page.content.decode().count("is charged 100.00 GBP for it") == 2
    assert Let.objects.count() == 1
    places = {house.post(at_let("house-split", let), form)["Location"] for _ in range(2)}
    new = Let.objects.exclude(pk=let.pk).get()
    assert places == {at_let("house-let", new)}
    assert (new.booker, new.rods, new.rod_days.count(), let.rod_days.count()) == (to, 1, 2, 2)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"rods": "", "from_on": ""}, "Split by days or by rods"),
        ({"rods": "2"}, "Give fewer"),
        ({"rods": "1", "from_on": "2200-01-01"}, "Split by days or by rods"),
    ],
)
def test_a_cut_that_makes_no_sense_is_refused(wrong, told, house, let):
    form = {"key": "k", "booker": let.booker_id, "from_on": "", "rods": "1"} | wrong
    answer = house.post(at_let("house-split", let), form)
    assert (answer.status_code, told in answer.content.decode()) == (422, True)
    assert Let.objects.count() == 1


ACTS = ("house-entry", "house-party", "house-change", "house-hand-on", "house-split")


@pytest.mark.parametrize("name", ACTS)
def test_the_let_leads_to_each_act_and_opening_one_writes_nothing(name, house, let):
    before = AuditEntry.objects.count(), LedgerEntry.objects.count()
    assert at_let(name, let) in house.get(at_let("house-let", let)).content.decode()
    assert house.get(at_let(name, let)).status_code == 200
    assert (AuditEntry.objects.count(), LedgerEntry.objects.count()) == before
