"""Each deed of the owner by the keys alone, from the desk on: Tab, the space bar, letters and Enter."""

import datetime as dt

import pytest
from django.utils import timezone

from beats.models import AccessToken
from bookings.models import Guest, LedgerEntry, Let, LettingPolicy, Tariff, Terms
from sessions.models import BoardKey, Return
from tests.browser.keys import fill, fill_day, mark, press
from tests.browser.test_url_map import let_in
from tests.factories import BeatFactory, GuestFactory, LetFactory, OfferFactory, PoolFactory, keeper
from tests.sessions.season_records import SIGNER, stated

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def desk(screen, live_server, emptied_ledger):
    """A fishery with one beat and two guests; the browser is its owner's, at the desk."""
    beat = BeatFactory(name="Upper")
    PoolFactory(beat=beat)
    for name in ("Una", "Bel"):
        GuestFactory(fishery=beat.fishery, name=name)
    let_in(screen, keeper(beat.fishery), live_server)
    screen.goto(f"/at/{beat.fishery.slug}/house/")
    screen.desk = screen.url
    return beat


def july(day: int) -> dt.date:
    """A weekday of next July, when rods may be let: Mondays are the first days of weeks in every district."""
    first = dt.date(timezone.now().year + 1, 7, 1)
    return first + dt.timedelta(days=-first.weekday() % 7 + day)


def see_and(page, go: str, *, look: str = "Show what it does") -> None:
    """The two presses of a deed that is seen first."""
    press(page, look)
    page.get_by_text("Nothing is done yet").wait_for()
    press(page, go)


def test_rods_are_let_confirmed_paid_named_split_handed_on_and_given_up(screen, desk):
    press(screen, "Let rods")
    fill(screen, "Who books", "Una")
    fill_day(screen, "First day", july(0))
    fill_day(screen, "Last day fished", july(1))
    fill(screen, "Rods", "2")
    mark(screen, "Only hold them")
    press(screen, "Let them")
    let = Let.objects.get()
    assert (let.status, let.booker.name, let.first_on, let.last_on, let.rods) == (
        "held",
        "Una",
        july(0),
        july(1),
        2,
    )
    press(screen, "Confirm")
    press(screen, "Confirm it")
    press(screen, "Note money")
    fill(screen, "How much", "75.50")
    see_and(screen, "Write it into the book")
    assert str(LedgerEntry.objects.get(kind="payment").amount) == "-75.50"
    press(screen, "Name who fishes")
    fill(screen, "Rod 1", "Bel")
    see_and(screen, "Name them")
    assert set(let.rod_days.values_list("rod", "guest__name")) == {(1, "Bel"), (2, None)}
    press(screen, "Split it")
    fill(screen, "Who gets the part", "Bel")
    fill_day(screen, "All days from this one on", july(1))
    see_and(screen, "Split it")
    assert Let.objects.get(booker__name="Bel").first_on == july(1)
    press(screen, "Hand it on")
    fill(screen, "Who has it from now on", "Una")
    see_and(screen, "Hand it on")
    assert Let.objects.filter(booker__name="Una").count() == 2
    press(screen, "Cancel it")
    press(screen, "Cancel it")
    assert sorted(Let.objects.values_list("status", flat=True)) == ["cancelled", "confirmed"]


def test_prices_terms_and_policies_are_changed(screen, desk):
    press(screen, "Tariff")
    press(screen, "Add a price")
    fill(screen, "One rod on one day", "120.00")
    fill_day(screen, "From this day of fishing on", july(0))
    see_and(screen, "Add the price", look="Show what it prices")
    assert str(Tariff.objects.get().rod_day) == "120.00"
    press(screen, "Say its last day")
    fill_day(screen, "The last day it holds", july(30))
    see_and(screen, "End it", look="Show what it prices")
    assert Tariff.objects.get().last_on == july(30)
    screen.goto(screen.desk)
    press(screen, "Policies in plain words")
    press(screen, "Change the terms")
    fill(screen, "Deposit, in percent", "35")
    see_and(screen, "Change the terms", look="Show what changes")
    assert Terms.objects.get().deposit_percent == 35
    press(screen, "Change the letting policy")
    fill(screen, "Rods are held unconfirmed", "3")
    fill(screen, "Held: minutes, hours or days", "days")
    see_and(screen, "Set it", look="Show what it says")
    assert LettingPolicy.objects.get().hold_minutes == 3 * 1440
    press(screen, "Change the watch of Upper")
    mark(screen, "the owner")
    fill(screen, "Minutes to answer a call in", "7")
    see_and(screen, "Set it", look="Show what anglers are told")
    desk.refresh_from_db()
    assert desk.watch_policy["recall_answer_minutes"] == 7


def test_a_guest_is_entered_and_programs_and_boards_get_keys_and_lose_them(screen, desk):
    press(screen, "Let rods")
    press(screen, "Enter them first")
    fill(screen, "Name", "Cal")
    fill(screen, "E-mail address", "cal@example.org")
    press(screen, "Enter them")
    cal = Guest.objects.get(name="Cal")
    assert (cal.email, cal.user_id) == ("cal@example.org", None)  # until they accept
    for page, make, model in (
        ("People and tokens", "Make a token", AccessToken), ("Keys of district boards", "Make a key", BoardKey),
    ):  # fmt: skip
        screen.goto(screen.desk)
        press(screen, page)
        press(screen, make)
        fill(screen, "What it is for", "Office")
        press(screen, "Make it")
        assert model.objects.get().label == "Office"
        press(screen, "I have it")
        press(screen, "Withdraw")
        press(screen, "Withdraw it")
        screen.get_by_text("Office").wait_for(state="detached")


def test_a_right_is_answered_a_season_opened_and_a_return_signed(screen, desk):
    this = timezone.now().year
    held = LetFactory(beat=desk, first_on=july(7), last_on=july(8), status="held",
                      expires_at=timezone.now() + dt.timedelta(days=9))  # fmt: skip
    OfferFactory(let=held)
    press(screen, "Tenants' rights")
    press(screen, "They take it")
    press(screen, "Confirm it")
    held.refresh_from_db()
    assert held.status == "confirmed"
    screen.goto(screen.desk)
    stated(desk, this - 1, range(2, 11))
    press(screen, f"The return {this}")
    press(screen, str(this - 1))
    fill(screen, "Name of the person who signs", SIGNER["signer_name"])
    mark(screen, "Owner")
    fill(screen, "Postal address", SIGNER["signer_address"])
    mark(screen, "I make this declaration")
    press(screen, "Sign these figures")
    assert Return.objects.get().season == this - 1
