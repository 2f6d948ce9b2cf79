"""Tab through every page of the owner: each place to act is reached once, in reading order, named and ringed.

WCAG 2.2: 2.1.1 keyboard, 2.1.2 no trap, 2.4.3 focus order, 2.4.7 focus visible, 2.4.11 focus not hidden,
4.1.2 name.
"""

from itertools import pairwise

import pytest

from tests.browser.keys import focused
from tests.browser.test_url_map import addresses, let_in, world  # noqa: F401 - a fixture among them

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
STOPS = """() => {
  const radios = new Set();
  const all = "a[href],button,input:not([type=hidden]),select,textarea,summary,[tabindex='0']";
  return [...document.querySelectorAll(all)]
    .filter((one) => one.getClientRects().length && one.tabIndex >= 0 && !one.disabled)
    .filter((one) => {
      if (one.type !== "radio") return true;
      const group = `${[...document.forms].indexOf(one.form)} ${one.name}`;
      const first = !radios.has(group);
      radios.add(group);
      return first; // a group of radio buttons of one form is one stop; the arrows move within it
    })
    .map((one, number) => (one.dataset.stop = one.type === "radio" ? `radio ${one.name}` : String(number)));
}"""
"""Every place to act in the order of the page, marked for `HELD`."""
HELD = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const style = getComputedStyle(one), box = one.getBoundingClientRect();
  const half = (from, to, end) => (Math.max(from, 0) + Math.min(to, end)) / 2; // of what of it is in the window
  const x = half(box.left, box.right, innerWidth), y = half(box.top, box.bottom, innerHeight);
  const mid = document.elementFromPoint(x, y);
  return {
    stop: one.type === "radio" ? `radio ${one.name}` : one.dataset.stop,
    ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    seen: !!mid && (one.contains(mid) || mid.contains(one) || !!mid.closest("label")),
    inView: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
    top: box.top + scrollY, left: box.left,
    what: one.outerHTML.slice(0, 90),
  };
}"""


def tabbed(page, *, key="Tab"):
    """What had the focus, press by press, until the page ends; a page that never ends is a trap."""
    held = []
    for _ in range(200):
        page.keyboard.press(key)
        one = page.evaluate(HELD)
        if one is None or (len(held) > 1 and one["stop"] == held[0]["stop"]):
            return held
        if (
            not held or one["stop"] != held[-1]["stop"]
        ):  # the day, month and year of a date are stops within one field
            held.append(one | {"name": focused(page)})
    raise AssertionError(f"{page.url}: Tab never leaves {held[-1]['what']}")


def faults_of(page, name):
    page.evaluate("document.activeElement.blur()")
    wanted = page.evaluate(STOPS)
    held = tabbed(page)
    if [one["stop"] for one in held] != wanted:
        yield f"{name}: {[one['stop'] for one in held]} instead of {wanted}"
    for one in held:
        if not one["ring"]:
            yield f"{name}: no ring around {one['what']}"
        if not (one["inView"] and one["seen"]):
            yield f"{name}: out of sight {one['what']}"
        if not one["name"] or '""' in one["name"]:
            yield f"{name}: nameless {one['name']} {one['what']}"
    for above, below in pairwise(held):
        if below["top"] + 44 < above["top"]:
            yield f"{name}: Tab goes up the page from {above['what']} to {below['what']}"
    back = [one["stop"] for one in tabbed(page, key="Shift+Tab")]
    if back != wanted[::-1]:
        yield f"{name}: backwards {back}"


@pytest.mark.parametrize("who", ["owner", "guest"])
def test_tab_goes_through_every_page_in_reading_order(screen, world, live_server, who):  # noqa: F811
    let_in(screen, world.people[who], live_server)
    faults, seen = [], 0
    for name, path in addresses(world):
        mine = (
            name.startswith(("house", "water")) if who == "owner" else name.startswith(("day", "my-", "check-in"))
        )
        if mine and not path.endswith(".pdf"):
            screen.goto(path)
            screen.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
            faults += faults_of(screen, name)
            seen += 1
    assert seen > (30 if who == "owner" else 6)
    assert not faults, "\n".join(faults)
