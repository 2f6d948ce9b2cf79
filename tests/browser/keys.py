"""A browser used by its keys alone; names are those the browser itself gives to a screen reader."""

import re

FAR = 120
"""More presses of Tab than any page has places to stop at."""


def focused(page) -> str:
    """What has the focus, as the browser tells a screen reader: `button "Publish it"`; empty for the page."""
    if not hasattr(page, "wire"):
        page.wire = page.context.new_cdp_session(page)
    held = page.wire.send("Runtime.evaluate", {"expression": "document.activeElement"})["result"]["objectId"]
    told = page.wire.send("Accessibility.getPartialAXTree", {"objectId": held, "fetchRelatives": False})["nodes"][
        0
    ]
    if told.get("ignored") or told["role"]["value"] == "RootWebArea":
        return ""
    return f'{told["role"]["value"]} "{told["name"]["value"]}"'


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


def fill(page, name: str, text: str) -> None:
    """Tab to a field and type; in a list of choices that chooses what begins so."""
    tab_to(page, name)
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(text)


def fill_day(page, name: str, day) -> None:
    """Tab to a date and type it, in the order in which this browser asks for it."""
    tab_to(page, name)
    for order in ("%d%m%Y", "%m%d%Y"):
        page.keyboard.type(day.strftime(order))
        if (held := page.evaluate("document.activeElement.value")) == day.isoformat():
            return
        for _ in range(2):
            page.keyboard.press("ArrowLeft")  # from the year back to the first part
    raise AssertionError(f"{name}: {held!r} instead of {day}")
