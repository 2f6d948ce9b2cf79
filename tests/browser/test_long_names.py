"""Surnames of 20 letters without a break and of 90: no page is wider than the telephone, no letter is cut off."""

import io

import pytest
from pypdf import PdfReader

from beats.models import Membership, User
from bookings.models import Guest
from sessions.sheets.page import page as sheet_page
from tests.browser.conftest import opened
from tests.browser.test_url_map import GUESTS, addresses, let_in, world  # noqa: F401 - a fixture among them
from tests.sessions.sheets.making import full_house, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SURNAMES = {20: "Wolfeschlegelsteinha", 90: "Featherstonehaughsmi" * 4 + "thwaiteson"}
WIDER = "() => document.documentElement.scrollWidth - innerWidth"
CUT_OFF = """(name) => {
  const faults = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = walk.nextNode(); text; text = walk.nextNode()) {
    if (!text.data.includes(name) || text.parentElement.closest("option,script")) continue;
    const range = document.createRange();
    range.selectNodeContents(text);
    for (const box of range.getClientRects()) {
      let from = 0, to = innerWidth;
      for (let one = text.parentElement; one && one !== document.body; one = one.parentElement) {
        const style = getComputedStyle(one), edge = one.getBoundingClientRect();
        if (style.display !== "inline" && style.overflowX !== "visible") {
          from = Math.max(from, edge.left);
          to = Math.min(to, edge.right);
        }
      }
      if (box.left < from - 1 || box.right > to + 1) faults.push(text.data.trim().slice(0, 60));
    }
  }
  return faults;
}"""
"""Where the name is shown and some of it lies outside the window, or outside a box that rolls or hides."""


@pytest.fixture(params=SURNAMES)
def surname(request, world):  # noqa: F811
    """Everybody is called so, whoever they are."""
    name = SURNAMES[request.param]
    assert len(name) == request.param
    Guest.objects.update(name=f"Una {name}")
    User.objects.update(name=f"Bel {name}")
    # The day and the poster say whom to ring.
    for number, keeper in enumerate(User.objects.filter(memberships__role__in=Membership.KEEPERS)):
        User.objects.filter(pk=keeper.pk).update(phone=f"+44770090011{number}")
    return name


@pytest.fixture
def phone(chromium, live_server):
    yield from opened(chromium, live_server.url, "phone")


@pytest.mark.parametrize("who", ["guest", "ghillie", "owner"])
def test_no_page_is_wider_than_the_telephone(phone, world, surname, live_server, who):  # noqa: F811
    let_in(phone, world.people[who], live_server)
    faults, named = [], 0
    for name, path in addresses(world):
        if name.startswith(GUESTS) != (who == "guest") or (who == "ghillie" and name.startswith("house")):
            continue
        phone.goto(path)
        phone.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        named += surname in phone.locator("main").inner_text()
        if (wider := phone.evaluate(WIDER)) > 0:
            faults.append(f"{name} is {wider} px wider")
        faults += [f"{name} cuts off {text}" for text in phone.evaluate(CUT_OFF, surname)]
    assert named >= {"guest": 1, "ghillie": 6, "owner": 12}[who]
    assert not faults, "\n".join(faults)


def test_the_sheet_and_the_poster_are_one_page_of_a4_with_everybody_on_it(phone, world, surname, live_server):  # noqa: F811
    let_in(phone, world.people["owner"], live_server)
    for name, path in addresses(world):
        if name in {"water-rota-sheet", "water-poster"}:
            phone.goto(path)
            (paper,) = PdfReader(io.BytesIO(phone.pdf(prefer_css_page_size=True))).pages
            assert sorted(map(float, paper.mediabox[2:])) == pytest.approx((595.28, 841.89), abs=1), name
            assert surname in "".join(paper.extract_text().split()), name


@pytest.mark.parametrize("house", [(2, 1, 1), (6, 6, 2), (8, 6, 3)])
@pytest.mark.parametrize("length", SURNAMES)
def test_a_full_house_of_long_names_is_one_page_of_a4(chromium, house, length):
    """Rods, days and parts of the day; printed by the browser, with the letters it has."""
    name = SURNAMES[length]
    rods, days, parts = house
    page = chromium.new_page()
    page.set_content(sheet_page(sheet(full_house(rods, days, parts, guest=f"Una {name} {{}}"))))
    (paper,) = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
    text = "".join(paper.extract_text().split())
    assert all(f"{name}{rod}" in text for rod in range(1, rods + 1))
    page.close()
