"""Every page, looked at by axe-core, measured for thumbs, doubled in size, and photographed.

axe-core checks the Web Content Accessibility Guidelines; 44 px is their target size (WCAG 2.2, 2.5.5).
SCREENSHOTS=folder keeps a picture of each.
"""

import os
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import sign_in
from tests.browser.test_guest_day import check_in, guest, hut  # noqa: F401 - a fixture among them

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SMALL = """() => [...document.querySelectorAll("a[href],button,input:not([type=hidden]),select,textarea,summary")]
  .filter((one) => !one.closest("p,li") && !one.classList.contains("skip") && one.getClientRects().length)
  .map((one) => [one, (one.closest(".tiles label") || one).getBoundingClientRect()])
  .filter(([, box]) => box.height < 43.5 || box.width < 43.5)
  .map(([one, box]) => `${one.outerHTML.slice(0, 90)} ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
WIDER = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


STILL = """() => new Promise((done) => { let sum = 0; new PerformanceObserver((list) =>
  list.getEntries().forEach((one) => { sum += one.value; })).observe({ type: "layout-shift", buffered: true });
  setTimeout(() => done(sum), 60); })"""


def looked_at(page, name, *, paper=False):
    if folder := os.environ.get("SCREENSHOTS"):
        Path(folder).mkdir(parents=True, exist_ok=True)
        width = page.viewport_size["width"]
        page.screenshot(path=f"{folder}/{name}-{width}.png", full_page=True)
    found = Axe().run(page)
    assert found.violations_count == 0, f"{name}: {found.generate_report()}"
    if paper:
        return
    assert page.evaluate(SMALL) == [], name
    assert page.evaluate(WIDER) <= 0, name
    page.evaluate("document.documentElement.style.fontSize = '225%'")
    assert page.evaluate(WIDER) <= 0, f"{name} at twice the size"
    page.evaluate("document.documentElement.style.fontSize = ''")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_guests_pages(screen, guest, scheme):  # noqa: F811
    screen.emulate_media(color_scheme=scheme)
    screen.goto("/sign-in/")
    looked_at(screen, f"sign-in-{scheme}")
    screen.goto(hut(guest))
    looked_at(screen, f"hut-{scheme}")
    sign_in(screen, guest.email, path=hut(guest))
    looked_at(screen, f"check-in-{scheme}")
    screen.goto("/day/")
    looked_at(screen, f"day-before-{scheme}")
    check_in(screen, guest)
    looked_at(screen, f"day-out-{scheme}")
    for name, path in {
        "help": f"/day/{guest.pk}/help/", "fish": f"/day/{guest.pk}/fish/", "my-fish": "/day/fish/",
        "papers": "/day/papers/", "sign-out": "/sign-out/", "kept": "/kept/",
    }.items():  # fmt: skip
        screen.goto(path)
        looked_at(screen, f"{name}-{scheme}")


SLOW_3G = {"offline": False, "latency": 400, "downloadThroughput": 50_000, "uploadThroughput": 50_000}
"""The browser's own name for 400 kbit/s and 400 ms."""
PAINTED = """() => new Promise((done) => { new PerformanceObserver((list) => { const [first] =
  list.getEntriesByName("first-contentful-paint"); if (first) done(first.startTime); })
  .observe({ type: "paint", buffered: true }); })"""
MOVED = """() => new Promise((done) => { let sum = 0; new PerformanceObserver((list) =>
  list.getEntries().forEach((one) => { sum += one.value; })).observe({ type: "layout-shift", buffered: true });
  setTimeout(() => done(sum), 500); })"""


def first_visit(screen):
    """A page of its own without the worker and without anything kept, signed in as `screen` is."""
    context = screen.context.browser.new_context(
        viewport=screen.viewport_size, storage_state=screen.context.storage_state(), service_workers="block"
    )
    page = context.new_page()
    wire = context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.setCacheDisabled", {"cacheDisabled": True})
    return page, wire


def test_the_first_page_is_light_and_stands_still(screen, guest, live_server):  # noqa: F811
    sign_in(screen, guest.email, path=hut(guest))
    page, wire = first_visit(screen)
    sizes = []
    wire.on("Network.loadingFinished", lambda told: sizes.append(told["encodedDataLength"]))
    page.goto(f"{live_server.url}/day/", wait_until="networkidle")
    assert 5_000 < sum(sizes) < 60_000
    assert page.evaluate(MOVED) == 0
    page.context.close()


def test_it_is_painted_about_as_soon_as_a_page_of_one_line(screen, guest, live_server):  # noqa: F811
    """Both by the browser, in one run, on slow 3G; what differs is what the page weighs."""
    sign_in(screen, guest.email, path=hut(guest))
    times = {}
    for path in ("/health/live", "/day/") * 3:
        page, wire = first_visit(screen)
        wire.send("Network.emulateNetworkConditions", SLOW_3G)
        page.goto(f"{live_server.url}{path}")
        times.setdefault(path, []).append(page.evaluate(PAINTED))
        page.context.close()
    day, line = (sorted(times[path])[1] for path in ("/day/", "/health/live"))
    print(f"first paint: {day:.0f} ms beside {line:.0f} ms, ratio {day / line:.2f}")  # noqa: T201
    assert day < 2.5 * line


def test_keyboard_alone_checks_in(screen, guest):  # noqa: F811
    sign_in(screen, guest.email, path=hut(guest))
    reached = set()
    for _ in range(60):
        screen.keyboard.press("Tab")
        reached.add(screen.evaluate("document.activeElement.name || document.activeElement.textContent.trim()"))
    assert {"pool", "alone", "back_by", "wearing", "vehicle", "I am going on the water"} <= reached
