"""Other days or rods of a let by page: what moves is shown first, done once, refused in words."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import LedgerEntry, Let, LettingPolicy, RefundStep
from bookings.services.agreed_prices import agree_prices
from tests.bookings.book import next_wednesday_in_may
from tests.factories import BeatFactory, GuestFactory, LetFactory, RodDayFactory, TariffFactory
from tests.pages import at_let

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def let(beat):
    """Two rods on a Wednesday and a Thursday, both named, 50.00 a rod and day."""
    first = next_wednesday_in_may()
    TariffFactory(fishery=beat.fishery, rod_day=Decimal("50.00"))
    made = LetFactory(beat=beat, rods=2, first_on=first, last_on=first + DAY, confirmed_at=timezone.now())
    names = [GuestFactory(fishery=beat.fishery, name=name) for name in ("Una Mossgrove", "Ian Heronsgate")]
    for day in (first, first + DAY):
        for rod, guest in enumerate(names, start=1):
            RodDayFactory(let=made, day=day, rod=rod, guest=guest)
    agree_prices(made, by=None, now=timezone.now())
    return made


def path_of(let):
    return at_let("house-change", let)


def typed(let, **other):
    return {"key": "k", "version": let.version, "beat": let.beat_id, "first_on": let.first_on.isoformat(),
            "last_on": let.last_on.isoformat(), "rods": let.rods, "kind": let.kind, "weekday": "",
            "company": let.company} | other  # fmt: skip


def looked_at(house, let, form):
    """The page that tells what it does, and the form that does it."""
    answer = house.post(path_of(let), form)
    page = answer.content.decode()
    assert (answer.status_code, "Nothing is done yet" in page) == (200, True), page
    return page, form | {"seen": re.search(r'name="seen" value="(\w+)"', page)[1]}


def test_the_form_opens_with_the_let_as_it_is(house, let):
    page = house.get(path_of(let)).content.decode()
    for value in (let.first_on.isoformat(), let.last_on.isoformat()):
        assert f'value="{value}"' in page
    assert 'name="rods" value="2"' in page
    assert f'name="version" value="{let.version}"' in page
    assert '<option value="day" selected' in page


def test_days_and_rods_move_once_with_the_price_and_whoever_falls_out_is_named_first(house, let):
    last = let.last_on + DAY
    policy = LettingPolicy.objects.create(fishery=let.beat.fishery)
    RefundStep.objects.create(policy=policy, notice_days=0, percent=60)
    page, form = looked_at(house, let, typed(let, last_on=last.isoformat(), rods=1))
    assert "1 rod-day given up: 60 % of 50.00 goes back; 20.00 GBP is kept." in page
    assert f"Last day fished: {let.last_on.day} May {last.year} → {last.day} May {last.year}" in page
    assert "Rods: 2 → 1" in page
    assert "Ian Heronsgate fishes no rod of it any more." in page
    assert "Una Mossgrove fishes no rod" not in page
    assert "Price: 200.00 → 170.00 GBP" in page
    assert "First day:" not in page
    assert Let.objects.get(pk=let.pk).last_on == let.last_on
    for _ in range(2):
        assert house.post(path_of(let), form)["Location"] == at_let("house-let", let)
    made = Let.objects.get(pk=let.pk)
    assert (made.last_on, made.rods, made.version, made.edition) == (last, 1, let.version + 1, let.edition + 1)
    assert made.rod_days.count() == 3
    assert AuditEntry.objects.filter(verb="change let").count() == 1
    assert sum(entry.amount for entry in LedgerEntry.objects.all()) == Decimal("170.00")


def test_another_beat_and_company_are_told_by_their_names(house, let):
    lower = BeatFactory(fishery=let.beat.fishery, name="Lower")
    page, form = looked_at(house, let, typed(let, beat=lower.pk, company="together"))
    assert f"Beat: {let.beat.name} → Lower" in page
    assert "On the rota its rods fish: as it comes → together" in page
    assert "The let&#x27;s account stays as it is." in page
    house.post(path_of(let), form)
    made = Let.objects.get(pk=let.pk)
    assert (made.beat, made.company) == (lower, "together")


def test_a_let_asked_for_as_it_is_stays_and_nobody_is_written_to(house, let):
    page, form = looked_at(house, let, typed(let))
    assert "Nothing: it is so already." in page
    assert house.post(path_of(let), form).status_code == 303
    made = Let.objects.get(pk=let.pk)
    assert (made.version, made.edition) == (let.version, let.edition)
    assert not AuditEntry.objects.filter(verb="change let").exists()


def test_what_cannot_be_is_refused_at_the_first_press_and_stays_typed(house, let):
    taken = let.last_on + 7 * DAY
    RodDayFactory(let=LetFactory(beat=let.beat), day=taken, rod=1)
    sunday = let.last_on + 3 * DAY
    wrong = [
        ({"rods": let.beat.rods + 1}, f"{let.beat.name} has {let.beat.rods} rods."),
        ({"first_on": taken.isoformat(), "last_on": taken.isoformat(), "rods": let.beat.rods}, "rods"),
        ({"first_on": sunday.isoformat(), "last_on": sunday.isoformat()}, "Sunday"),
        ({"last_on": (let.first_on - DAY).isoformat()}, "The last day is before the first. Swap them."),
        ({"weekday": "2"}, "Only season rods have a weekday."),
        ({"beat": BeatFactory().pk}, "not one of the available"),
        ({"version": let.version + 1, "rods": 1}, "Somebody changed this let since you read it."),
    ]
    for more, told in wrong:
        form = typed(let, **more)
        answer = house.post(path_of(let), form)
        page = answer.content.decode()
        assert (answer.status_code, told in page) == (422, True), told
        assert f'value="{form["last_on"]}"' in page
    made = Let.objects.get(pk=let.pk)
    assert (made.version, made.rod_days.count()) == (let.version, 4)
    assert not AuditEntry.objects.filter(verb="change let").exists()


def test_what_was_changed_by_another_hand_after_it_was_seen_is_refused(house, let):
    _, form = looked_at(house, let, typed(let, rods=1))
    Let.objects.filter(pk=let.pk).update(version=let.version + 1)
    answer = house.post(path_of(let), form)
    assert (answer.status_code, "Read it again" in answer.content.decode()) == (422, True)
    assert let.rod_days.count() == 4


def test_a_cancelled_let_is_not_changed(house, let):
    Let.objects.filter(pk=let.pk).update(status="cancelled", cancelled_at=timezone.now())
    assert house.post(path_of(let), typed(let, rods=1)).status_code == 422
    assert path_of(let) not in house.get(at_let("house-let", let)).content.decode()
