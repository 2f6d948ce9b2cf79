"""The owner's pages of lets and money: what they show, what they do, and whom they turn away."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import Guest, LedgerEntry, Let, LettingPolicy, RefundStep
from bookings.services.agreed_prices import agree_prices
from tests.bookings.book import next_wednesday_in_may
from tests.factories import (
    BeatClosureFactory,
    GuestFactory,
    LedgerEntryFactory,
    LetFactory,
    OfferFactory,
    RodDayFactory,
    SameWeekFactory,
    TariffFactory,
)
from tests.pages import at

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def typed(beat, booker, **other):
    day = next_wednesday_in_may().isoformat()
    return {"key": "k1", "beat": beat.pk, "booker": booker.pk, "first_on": day, "last_on": day, "rods": 1,
            "kind": "day"} | other  # fmt: skip


def pages_of(beat):
    let = LetFactory(beat=beat)
    return [
        at("house-lets", beat), at("house-new-let", beat), at("house-new-guest", beat),
        at("house-let", beat, let.pk),
        at("house-confirm", beat, let.pk), at("house-cancel", beat, let.pk), at("house-permit", beat, let.pk),
        at("house-takings", beat), at("house-takings-picture", beat), at("house-rights", beat),
    ]  # fmt: skip


def test_opening_a_page_writes_nothing(house, beat):
    def rows():
        return [model.objects.count() for model in (Let, Guest, LedgerEntry, AuditEntry)], list(
            Let.objects.order_by("pk").values_list("status", "version")
        )

    paths = pages_of(beat)
    before = rows()
    assert {house.get(path).status_code for path in paths} == {200}
    assert rows() == before


def test_the_month_shows_who_has_which_day_how_many_are_left_and_what_is_closed(house, beat):
    let = LetFactory(beat=beat, booker=GuestFactory(fishery=beat.fishery, name="Una Mossgrove"), status="held",
                     expires_at=timezone.now() + DAY)  # fmt: skip
    RodDayFactory(let=let, day=dt.date(2026, 5, 5))
    BeatClosureFactory(beat=beat, from_on=dt.date(2026, 5, 20), to_on=dt.date(2026, 5, 20), reason="bridge out")
    page = house.get(at("house-lets", beat), {"month": "2026-05"}).content.decode()
    assert "Una Mossgrove" in page
    assert "held" in page
    assert f"{beat.rods - 1} rod" in page
    assert "bridge out" in page
    assert "Una Mossgrove" not in house.get(at("house-lets", beat), {"month": "2026-06"}).content.decode()


@pytest.mark.parametrize("month", ["2026-13", "soon", "0001-01", "2026-5", "9999-12"])
def test_a_month_that_is_none_is_refused_in_words(house, beat, month):
    answer = house.get(at("house-lets", beat), {"month": month})
    assert answer.status_code == 400
    assert "Give a month from 2015 on" in answer.content.decode()


def test_the_month_asks_as_often_for_thirty_lets_as_for_one(house, beat, django_assert_num_queries):
    def ask():
        with django_assert_num_queries(QUERIES_OF_A_MONTH):
            house.get(at("house-lets", beat), {"month": "2026-05"})

    LetFactory(beat=beat)
    ask()
    for number in range(30):
        RodDayFactory(let=LetFactory(beat=beat), day=dt.date(2026, 5, 1) + DAY * number)
    ask()


QUERIES_OF_A_MONTH = 11
"""Who, their session, the fishery, their parts; grades, rules, rods taken, closures, beats, rod-days, closed."""


def test_rods_are_let_once_however_often_the_button_is_pressed(house, beat):
    form = typed(beat, GuestFactory(fishery=beat.fishery))
    answers = [house.post(at("house-new-let", beat), form) for _ in range(2)]
    let = Let.objects.get()
    assert [answer["Location"] for answer in answers] == [at("house-let", beat, let.pk)] * 2
    assert (let.status, let.rod_days.count()) == ("confirmed", 1)
    assert let.booker.name in house.get(at("house-let", beat, let.pk)).content.decode()


def test_a_hold_is_held(house, beat):
    house.post(at("house-new-let", beat), typed(beat, GuestFactory(fishery=beat.fishery), hold="on"))
    assert Let.objects.get().status == "held"


def test_a_refusal_keeps_what_was_typed(house, beat):
    booker = GuestFactory(fishery=beat.fishery)
    last = (next_wednesday_in_may() - DAY).isoformat()
    answer = house.post(at("house-new-let", beat), typed(beat, booker, last_on=last))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "The last day is before the first. Swap them." in page
    assert f'value="{last}"' in page
    assert re.search(f'<option value="{booker.pk}" selected', page)
    assert not Let.objects.exists()


def test_a_guest_of_another_water_cannot_be_chosen(house, beat):
    assert house.post(at("house-new-let", beat), typed(beat, GuestFactory())).status_code == 422
    assert not Let.objects.exists()


def test_a_guest_is_entered_once(house, beat):
    form = {"key": "g1", "name": "Ruadhán Ó Ceallaigh-Featherstonehaugh", "email": "R@example.org"}
    assert [house.post(at("house-new-guest", beat), form).status_code for _ in range(2)] == [303, 303]
    guest = Guest.objects.get()
    assert (guest.name, guest.email, guest.fishery) == (form["name"], "r@example.org", beat.fishery)


def test_a_hold_is_confirmed_by_hand_and_the_price_charged(house, beat):
    now, day = timezone.now(), next_wednesday_in_may()
    TariffFactory(fishery=beat.fishery, rod_day=Decimal("80.00"), first_on=dt.date(2020, 1, 1))
    let = LetFactory(beat=beat, status="held", expires_at=now + DAY, first_on=day, last_on=day)
    RodDayFactory(let=let, day=day)
    assert "80.00" in house.get(at("house-confirm", beat, let.pk)).content.decode()
    for _ in range(2):
        assert house.post(at("house-confirm", beat, let.pk), {"key": "c1"}).status_code == 303
    let.refresh_from_db()
    assert let.status == "confirmed"
    assert LedgerEntry.objects.get(kind="charge").amount == Decimal("80.00")


def test_a_hold_that_ran_out_cannot_be_confirmed_and_says_so(house, beat):
    let = LetFactory(beat=beat, status="held", expires_at=timezone.now() - DAY)
    page = house.get(at("house-let", beat, let.pk)).content.decode()
    assert "The hold has run out" in page
    assert at("house-confirm", beat, let.pk) not in page
    answer = house.post(at("house-confirm", beat, let.pk), {"key": "c1"})
    assert (answer.status_code, "This hold ran out" in answer.content.decode()) == (422, True)


def test_what_goes_back_is_shown_before_a_let_is_cancelled(house, beat):
    day = next_wednesday_in_may()
    policy = LettingPolicy.objects.create(fishery=beat.fishery)
    RefundStep.objects.create(policy=policy, notice_days=60, percent=75)
    TariffFactory(fishery=beat.fishery, rod_day=Decimal("200.00"))
    let = LetFactory(beat=beat, first_on=day, last_on=day)
    RodDayFactory(let=let, day=day)
    agree_prices(let, by=None, now=timezone.now())
    LedgerEntryFactory(guest=let.booker, let=let, kind="charge", amount=Decimal("30.00"))
    page = house.get(at("house-cancel", beat, let.pk)).content.decode()
    assert "75 % of the price" in page
    assert "That is 150.00 of 200.00 GBP; 50.00 GBP stays charged." in page
    assert "Entered by hand on this let: 30.00 GBP. That stays" in page
    assert "1 rod-day comes free" in page
    assert house.post(at("house-cancel", beat, let.pk), {"key": "x1"}).status_code == 303
    let.refresh_from_db()
    assert (let.status, let.refund_percent, let.rod_days.count()) == ("cancelled", 75, 0)
    assert LedgerEntry.objects.get(kind="credit").amount == Decimal("-150.00")


def test_the_permission_to_fish_is_a_paper_of_its_owner_alone(house, beat):
    let = LetFactory(beat=beat)
    RodDayFactory(let=let)
    answer = house.get(at("house-permit", beat, let.pk))
    assert b"".join(answer).startswith(b"%PDF")
    assert f"permit-{let.pk}-1.pdf" in answer["Content-Disposition"]
    assert "no-store" in answer["Cache-Control"]
    held = LetFactory(beat=beat, status="held")
    assert house.get(at("house-permit", beat, held.pk)).status_code == 404


def test_takings_of_a_year_in_figures_and_as_a_picture(house, beat):
    LedgerEntryFactory(
        guest=GuestFactory(fishery=beat.fishery), amount=Decimal("-50.00"), booked_on=dt.date(2026, 6, 1)
    )
    page = house.get(at("house-takings", beat), {"year": "2026"}).content.decode()
    assert "50.00 GBP taken" in page
    drawn = house.get(at("house-takings-picture", beat), {"year": "2026"})
    assert drawn["Content-Type"] == "image/svg+xml"
    assert "50.00 taken" in drawn.content.decode()
    assert "0.00 GBP taken" in house.get(at("house-takings", beat), {"year": "2025"}).content.decode()
    assert house.get(at("house-takings", beat), {"year": "20x6"}).status_code == 400


def test_rights_are_shown_by_their_dates_and_answered_for_the_tenant(house, beat):
    now = timezone.now()
    late = LetFactory(beat=beat, status="held", expires_at=now + 9 * DAY, booker__name="Aster Finch")
    soon = LetFactory(beat=beat, status="held", expires_at=now + 2 * DAY, booker__name="Briar Wells")
    for let in (late, soon):
        OfferFactory(let=let)
    SameWeekFactory(last_let=LetFactory(beat=beat, booker__name="Clover Hay"), fault="The beat is closed then.")
    page = house.get(at("house-rights", beat)).content.decode()
    assert page.index("Briar Wells") < page.index("Aster Finch")
    assert "The beat is closed then." in page
    assert at("house-confirm", beat, soon.pk) in page
    house.post(at("house-confirm", beat, soon.pk), {"key": "a"})
    house.post(at("house-cancel", beat, late.pk), {"key": "b"})
    assert [Let.objects.get(pk=let.pk).status for let in (soon, late)] == ["confirmed", "cancelled"]
    after = house.get(at("house-rights", beat)).content.decode()
    assert "Nobody has to answer now" in after
    assert "taken" in after
