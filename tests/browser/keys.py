"""A browser used by its keys alone; names are those the browser itself gives to a screen reader."""

import re

FAR = 120
"""More presses of Tab than any page has places to stop at."""


def focused(page) -> str:
    """What has the focus, as a screen reader says it: `button "Publish it"`; empty on the page itself."""
    spot = page.locator("*:focus")
    return spot.aria_snapshot().splitlines()[0].removeprefix("- ") if spot.count() else ""


def tab_to(page, name: str) -> None:
    """Tab on until something of this name has the focus; a page where nothing has it fails."""
    met = []
    for _ in range(FAR):
        page.keyboard.press("Tab")
        met.append(focused(page))
        if re.search(rf'"[^"]*{re.escape(name)}', met[-1]):
            return
    raise AssertionError(f"{name}: no Tab leads there on {page.url}, only to {sorted(set(met))}")


def press(page, name: str, key: str = "Enter") -> None:
    """Tab to it, press the key, and stand on the page that follows."""
    tab_to(page, name)
    with page.expect_navigation():
        page.keyboard.press(key)


def mark(page, *names: str) -> None:
    """Tab to each tile, from the top on, and tick it by the space bar."""
    for name in names:
        tab_to(page, name)
        page.keyboard.press("Space")
