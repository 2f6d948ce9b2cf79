"""A telephone asks for pushes after a tap, and the page says in words where it cannot.

What the browser's own push service would answer is played here: a headless one has none.
"""

import pytest
from django.conf import settings as real

from beats.models import Reading
from safety.models import PushAddress
from tests.browser.conftest import sign_in
from tests.browser.test_guest_day import seen
from tests.browser.test_keeper_pages import water  # noqa: F401 - a fixture
from tests.config.test_roles import PUSH, PUSH_KEY
from tests.factories import keeper

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
BUTTON = "Tell me on this telephone"
ALLOWED = """Notification.requestPermission = async () => '%s';
PushManager.prototype.getSubscription = async () => null;
PushManager.prototype.subscribe = async (asked) => {
  if (!asked.userVisibleOnly || asked.applicationServerKey.length !== 65) throw new Error('not as it should be');
  return { toJSON: () => (%s) };
};"""


@pytest.fixture
def phones(screen, water, settings):  # noqa: F811
    settings.WEB_PUSH_KEY = PUSH_KEY
    ghillie = keeper(water.fishery, "ghillie")

    def opened(answer):
        screen.add_init_script(ALLOWED % (answer, str(PUSH)))
        sign_in(screen, ghillie.email, path="/phones/")
        screen.goto("/phones/")
        screen.get_by_role("button", name=BUTTON).wait_for()
        return screen

    opened.of = ghillie
    return opened


def test_a_tap_brings_the_telephone_into_the_list_and_another_takes_it_off(phones):
    page = phones("granted")
    assert PushAddress.objects.count() == 0  # nothing was asked before the tap
    page.get_by_role("button", name=BUTTON).click()
    page.get_by_role("heading", name="Yours so far").wait_for()
    address = PushAddress.objects.get()
    assert (address.user, address.endpoint) == (phones.of, PUSH["endpoint"])
    page.get_by_role("link", name="Take off").click()
    page.get_by_role("button", name="Push no more").click()
    page.get_by_role("button", name=BUTTON).wait_for()
    assert PushAddress.objects.count() == 0


def test_who_does_not_allow_it_is_told_what_to_do_and_nothing_is_kept(phones):
    page = phones("denied")
    page.get_by_role("button", name=BUTTON).click()
    page.get_by_text("Allow them in the browser's settings").wait_for()
    assert PushAddress.objects.count() == 0


def test_where_nothing_is_pushed_the_page_says_so(screen, water):  # noqa: F811
    assert real.WEB_PUSH_KEY == ""
    sign_in(screen, keeper(water.fishery, "ghillie").email, path="/phones/")
    screen.goto("/phones/")
    screen.get_by_text("This service sends no pushes.").wait_for()
    assert screen.get_by_role("button", name=BUTTON).count() == 0


def test_a_browser_that_keeps_nothing_says_so_and_sends_the_plain_way(screen, water):  # noqa: F811
    """As in a private window: the store will not open."""
    screen.add_init_script("IDBFactory.prototype.open = () => { throw new Error('private'); };")
    sign_in(screen, keeper(water.fishery, "ghillie").email)
    screen.goto(f"/at/{water.fishery.slug}/level/")
    screen.get_by_text("This browser keeps nothing for later").wait_for()
    screen.get_by_label("Level in metres, as the board reads").fill("0.66")
    screen.get_by_role("button", name="Note it").click()
    assert seen(Reading)
    assert [reading.level_m for reading in Reading.objects.all()] == [0.66]
