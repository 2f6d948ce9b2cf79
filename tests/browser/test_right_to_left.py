"""Names and notes in Hebrew, Arabic and with an override: they keep to themselves, and axe-core finds no fault.

The letters of ASCII on a page are ours, and the names here have none: so on each line these letters must go from
left to right in the order of the text, whatever stands between them.
"""

import pytest

from beats.models import User
from bookings.models import Guest
from safety.models import Recall
from sessions.models import Catch
from tests.browser.test_every_page import looked_at
from tests.browser.test_url_map import GUESTS, addresses, let_in, world  # noqa: F401 - a fixture among them

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HEBREW = "\u05e9\u05dc\u05d5\u05dd \u05d1\u05df \u05d0\u05d3\u05dd"
ARABIC = "\u0639\u0644\u064a \u0627\u0644\u0635\u064a\u0627\u062f"
OVERRIDE = "\u00dc\u00f1\u00e4 \u202e\u00fe\u00f0\u00df"
TURNED = """() => {
  const lines = new Map(), faults = new Set();
  const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  for (let text = walk.nextNode(); text; text = walk.nextNode()) {
    let block = text.parentElement;
    if (block.closest("option,textarea,script,style") || !block.getClientRects().length) continue;
    while (getComputedStyle(block).display === "inline") block = block.parentElement;
    const range = document.createRange();
    for (let at = 0; at < text.length; at += 1) {
      if (!/[!-~]/.test(text.data[at])) continue;
      range.setStart(text, at);
      range.setEnd(text, at + 1);
      const box = range.getBoundingClientRect();
      if (!box.width) continue;
      const before = lines.get(block);
      if (before && box.left < before.left - 1 && box.top < before.bottom - 2 && box.bottom > before.top + 2)
        faults.add(block.textContent.replace(/\\s+/g, " ").trim().slice(0, 90));
      lines.set(block, box);
    }
  }
  return [...faults];
}"""
"""Blocks in which a letter of ours stands left of the one before it on the same line."""


@pytest.fixture
def written(world):  # noqa: F811
    """The guests' names, the keepers', and whatever else people write, each in a way of its own."""
    Guest.objects.update(name=HEBREW)
    User.objects.update(name=ARABIC)
    Catch.objects.update(fly=HEBREW, note=OVERRIDE)
    Recall.objects.update(reason=OVERRIDE)
    fishery, beat = world.rows["fishery"], world.rows["beat"]
    fishery.name = OVERRIDE
    fishery.save()
    for rows, names in ((fishery.beats.all(), (OVERRIDE, HEBREW)), (beat.pools.all(), (ARABIC, HEBREW))):
        for number, row in enumerate(rows):
            row.name = names[number] if number < len(names) else OVERRIDE
            row.save()


@pytest.mark.parametrize("who", ["guest", "ghillie", "owner"])
def test_the_text_around_is_not_turned(screen, world, written, live_server, who):  # noqa: F811
    let_in(screen, world.people[who], live_server)
    faults, named = [], 0
    for name, path in addresses(world):
        if name.startswith(GUESTS) != (who == "guest") or (who == "ghillie" and name.startswith("house")):
            continue
        screen.goto(path)
        screen.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        seen = screen.locator("main").inner_text()
        named += any(words[:3] in seen for words in (HEBREW, ARABIC, OVERRIDE))
        faults += [f"{name}: {text}" for text in screen.evaluate(TURNED)]
        looked_at(screen, f"{who}-{name}-leftward", paper=name == "water-rota-sheet")
    assert named >= {"guest": 3, "ghillie": 8, "owner": 20}[who]
    assert not faults, "\n".join(faults)
