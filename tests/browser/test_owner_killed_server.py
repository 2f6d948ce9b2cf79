"""The owner's day against a real process that is killed while a form is seen first."""

import datetime as dt

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from beats.models import AccessToken
from bookings.models import LedgerEntry
from sessions.models import Return
from tests.browser.conftest import sign_in
from tests.browser.test_url_map import let_in
from tests.factories import BeatFactory, LetFactory, OfferFactory, keeper
from tests.sessions.season_records import SIGNER, stated

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NOTHING_SENT = "Nothing was sent"


@pytest.fixture
def house(real, web, emptied_ledger):
    """The owner's desk, with a let of this week and a right to answer."""
    beat = BeatFactory()
    today = timezone.now().date()
    real.let = LetFactory(beat=beat, first_on=today, last_on=today + dt.timedelta(days=2), status="confirmed")
    later = today + dt.timedelta(days=200)
    real.right = LetFactory(
        beat=beat, first_on=later, last_on=later, status="held", expires_at=timezone.now() + dt.timedelta(days=9)
    )
    OfferFactory(let=real.right)
    real.owner = keeper(beat.fishery)
    let_in(real, real.owner, web)
    return f"/at/{beat.fishery.slug}/house/"


def test_a_payment_with_the_server_killed_between_seeing_and_doing(real, web, house):
    real.goto(f"{house}lets/")
    real.goto(f"{house}lets/{real.let.pk}/money/")
    real.locator("input[name=amount]").fill("120.00")
    real.get_by_label("What the bank calls it").fill("LET " + "7" * 40)
    real.get_by_role("button", name="Show what it does").click()
    button = real.get_by_role("button", name="Write it into the book")
    button.wait_for()
    assert LedgerEntry.objects.count() == 0
    web.dies()
    button.click()
    real.get_by_text(NOTHING_SENT).wait_for()
    assert real.locator("input[name=amount]").input_value() == "120.00"  # what was typed stands
    web.up()
    button.dblclick(no_wait_after=True)
    real.wait_for_url(lambda url: "/money/" not in url)
    assert LedgerEntry.objects.count() == 1
    real.go_back()
    real.get_by_role("button", name="Show what it does").wait_for()  # a new form, nothing seen yet
    assert real.get_by_role("button", name="Write it into the book").count() == 0
    assert LedgerEntry.objects.count() == 1
    real.goto(f"{house}takings/")
    real.get_by_text("120").first.wait_for()


def test_a_payment_signed_out_is_kept_and_written_once(real, house):
    real.goto(f"{house}lets/{real.let.pk}/money/")
    real.locator("input[name=amount]").fill("55.00")
    real.get_by_role("button", name="Show what it does").click()
    button = real.get_by_role("button", name="Write it into the book")
    button.wait_for()
    Session.objects.all().delete()
    button.click()
    real.get_by_label("Your e-mail address").wait_for()
    sign_in(real, real.owner.email, path=real.url)
    real.get_by_role("button", name="Send it").dblclick(no_wait_after=True)
    real.wait_for_url(lambda url: "/kept/" not in url)
    assert LedgerEntry.objects.count() == 1


def test_a_right_is_taken_a_return_signed_and_a_token_made_once_each(real, house):
    real.goto(f"{house}rights/")
    real.get_by_role("link", name="They take it").click()
    real.locator("main form button").last.dblclick(no_wait_after=True)
    real.wait_for_url(lambda url: "/confirm/" not in url)
    real.right.refresh_from_db()
    assert real.right.status == "confirmed"
    stated(real.let.beat, timezone.now().year - 1, range(2, 11))
    real.goto(f"{house}return/{timezone.now().year - 1}/")
    real.get_by_label("Name of the person who signs").fill(SIGNER["signer_name"])
    real.get_by_label("Agent").check()
    real.get_by_label("Postal address").fill(SIGNER["signer_address"])
    real.get_by_label("I make this declaration").check()
    real.get_by_role("button", name="Sign these figures").dblclick(no_wait_after=True)
    real.get_by_role("heading", name="Signed versions").wait_for()
    assert Return.objects.count() == 1
    real.goto(f"{house}policies/")
    real.goto(f"{house}people/tokens/new/")
    real.get_by_label("What it is for").fill("Office")
    real.get_by_role("button", name="Make it").dblclick(no_wait_after=True)
    real.get_by_text("Office").first.wait_for()
    assert AccessToken.objects.filter(label="Office").count() == 1
