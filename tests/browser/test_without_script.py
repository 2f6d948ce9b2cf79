"""The day of the three people with JavaScript off: every deed is a plain form."""

import datetime as dt

import pytest
from django.utils import timezone

from beats.models import PoolClosure, Reading
from bookings.models import Let, LettingPolicy
from safety.models import Recall
from sessions.models import Catch, Outing, PhoneNote, Return
from tests.browser.conftest import SIZES, sign_in
from tests.browser.test_guest_day import check_in, guest, hut  # noqa: F401 - a fixture among them
from tests.browser.test_keeper_pages import water  # noqa: F401 - a fixture
from tests.factories import BeatFactory, GuestFactory, keeper
from tests.sessions.season_records import SIGNER, stated

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(params=SIZES)
def plain(request, chromium, live_server):
    width, height = SIZES[request.param]
    context = chromium.new_context(
        viewport={"width": width, "height": height}, base_url=live_server.url, locale="en-GB",
        java_script_enabled=False,
    )  # fmt: skip
    yield context.new_page()
    context.close()


def press(page, name):
    """The button, or the link that looks like one; and the page that follows."""
    with page.expect_navigation():
        page.locator("main").get_by_role("button", name=name).or_(
            page.locator("main").get_by_role("link", name=name)
        ).first.click()


def test_the_guests_day(plain, guest):  # noqa: F811
    sign_in(plain, guest.email, path=hut(guest))
    check_in(plain, guest)
    outing = Outing.objects.get()
    press(plain, "I am fine")
    press(plain, "Off the water by")
    assert list(PhoneNote.objects.order_by("pk").values_list("act", flat=True)) == ["fine", "late"]
    due = outing.due_back_at
    outing.refresh_from_db()
    assert outing.due_back_at > due
    press(plain, "Help")
    press(plain, "No, back to my day")
    plain.get_by_text("I am off the water", exact=True).click()
    press(plain, "Yes, off the water: end the watch")
    plain.get_by_text("The watch has ended").wait_for()
    press(plain, "Record a catch")
    plain.get_by_text("salmon (multi-sea-winter)", exact=True).click()
    plain.get_by_text("Put back").click()
    plain.get_by_label("Fly").fill("a small black one")
    press(plain, "Write it down")
    plain.get_by_text("Written down today").wait_for()
    outing.refresh_from_db()
    assert outing.checked_out_at is not None
    assert Catch.objects.get().fly == "a small black one"
    press(plain, "That was all")
    plain.get_by_text("Check in").first.wait_for()


def test_the_ghillies_day(plain, water):  # noqa: F811
    at = f"/at/{water.fishery.slug}/"
    sign_in(plain, keeper(water.fishery, "ghillie").email, path=at)
    plain.get_by_text("1 rod on the water").wait_for()
    press(plain, "Call rods in")
    press(plain, "Upper: everybody off the water")
    plain.get_by_text("NO ANSWER YET").wait_for()
    press(plain, "End this recall")
    press(plain, "End it")
    assert Recall.objects.get().ended_at is not None
    plain.goto(at)
    press(plain, "River's up")
    plain.locator("main form label", has_text="Kirk Pool").click()
    press(plain, "Close them and mend the rota")
    assert PoolClosure.objects.get().pool.name == "Kirk Pool"
    plain.goto(at)
    press(plain, "Note a level")
    plain.get_by_label("Level in metres, as the board reads").fill("0.71")
    press(plain, "Note it")
    assert Reading.objects.get().level_m == 0.71
    plain.goto(at)
    press(plain, "Add a fish")
    plain.get_by_text("grilse (one sea winter)", exact=True).click()
    plain.get_by_text("put back", exact=True).click()
    press(plain, "Write it down")
    plain.get_by_text("It is in the book").wait_for()
    assert Catch.objects.count() == 1


def test_the_owners_day(plain, emptied_ledger):
    beat, this = BeatFactory(name="Upper"), timezone.now().year
    GuestFactory(fishery=beat.fishery, name="Una")
    house = f"/at/{beat.fishery.slug}/house/"
    sign_in(plain, keeper(beat.fishery).email, path=house)
    press(plain, "Let rods")
    first = dt.date(this + 1, 7, 1)
    first += dt.timedelta(days=-first.weekday() % 7)
    plain.get_by_label("Who books").select_option("Una")
    plain.get_by_label("First day").fill(first.isoformat())
    plain.get_by_label("Last day fished").fill(first.isoformat())
    press(plain, "Let them")
    assert Let.objects.get().status == "confirmed"
    plain.goto(house)
    press(plain, "Policies in plain words")
    press(plain, "Change the letting policy")
    plain.get_by_label("Rods are held unconfirmed for so many").fill("3")
    plain.get_by_label("Held: minutes, hours or days").select_option("days")
    press(plain, "Show what it says")
    plain.get_by_text("Nothing is done yet").wait_for()
    assert LettingPolicy.objects.filter(hold_minutes=3 * 1440).count() == 0
    press(plain, "Set it")
    assert LettingPolicy.objects.get().hold_minutes == 3 * 1440
    plain.goto(house)
    stated(beat, this - 1, range(2, 11))
    press(plain, f"The return {this}")
    press(plain, str(this - 1))
    plain.get_by_label("Name of the person who signs").fill(SIGNER["signer_name"])
    plain.get_by_label("Agent").check()
    plain.get_by_label("Postal address").fill(SIGNER["signer_address"])
    plain.get_by_label("I make this declaration").check()
    press(plain, "Sign these figures")
    plain.get_by_role("heading", name="Signed versions").wait_for()
    assert Return.objects.get().season == this - 1
