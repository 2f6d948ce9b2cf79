"""Money by month: what came in, what is still to come; and a picture of it.

Every bar says its sum in figures, and the two kinds are told apart by words and pattern, not by colour.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from xml.etree import ElementTree as ET

from beats.shared.markup import printable
from bookings.tariff import NOTHING, Due

MONTHS = 12
ROW, TOP, LEFT, BAR, EDGE = 52, 96, 150, 420, 20
FONT = "Source Sans Pro, Arial, Helvetica, sans-serif"
SVG = "http://www.w3.org/2000/svg"
ET.register_namespace("", SVG)


@dataclass(frozen=True)
class Month:
    """One month: paid in less paid back; and what is due in it and not yet paid."""

    first_on: dt.date
    taken: Decimal
    to_come: Decimal


def by_month(
    year: int, *, taken: Iterable[tuple[dt.date, Decimal]], open_dues: Iterable[Due], today: dt.date
) -> list[Month]:
    """Twelve months. What was due before today and is open still is expected in the month of today."""
    sums: dict[tuple[int, str], Decimal] = {}
    for day, amount in taken:
        _add(sums, year, day, "taken", amount)
    for due in open_dues:
        _add(sums, year, max(due.due_on, today), "to_come", due.amount)
    return [
        Month(dt.date(year, n, 1), sums.get((n, "taken"), NOTHING), sums.get((n, "to_come"), NOTHING))
        for n in range(1, MONTHS + 1)
    ]


def _add(sums: dict[tuple[int, str], Decimal], year: int, day: dt.date, what: str, amount: Decimal) -> None:
    if day.year == year:
        sums[day.month, what] = sums.get((day.month, what), NOTHING) + amount


def picture(title: str, months: Sequence[Month], *, currency: str) -> str:
    """An SVG document: two bars a month on one scale, each with its sum beside it."""
    most = max((abs(sum_) for month in months for sum_ in (month.taken, month.to_come)), default=NOTHING)
    tall, wide = TOP + ROW * len(months) + EDGE, LEFT + BAR + 150
    root = ET.Element(f"{{{SVG}}}svg", _size(wide, tall) | {"role": "img", "font-family": FONT})
    ET.SubElement(root, f"{{{SVG}}}title").text = printable(title)
    _hatch(root)
    _put(root, "rect", width=wide, height=tall, fill="#fff")
    _say(root, EDGE, 32, title, 20, bold=True)
    _say(root, EDGE, 56, f"In {currency}. Filled bar: taken. Striped bar: still to come.", 14)
    total = sum((month.taken for month in months), NOTHING), sum((month.to_come for month in months), NOTHING)
    _say(root, EDGE, 78, f"Taken in all {total[0]}; still to come {total[1]}.", 14)
    for n, month in enumerate(months):
        top = TOP + ROW * n
        _say(root, EDGE, top + 20, f"{month.first_on:%B}", 15)
        _bar(root, top + 4, month.taken, most, word="taken", fill="#000")
        _bar(root, top + 25, month.to_come, most, word="to come", fill="url(#stripes)")
    return ET.tostring(root, encoding="unicode")


def _bar(root: ET.Element, top: int, value: Decimal, most: Decimal, *, word: str, fill: str) -> None:
    long = round(float(max(value, NOTHING) / most) * BAR, 1) if most else 0.0
    _put(root, "rect", x=LEFT, y=top, width=long, height=18, fill=fill, stroke="#000")
    _say(root, LEFT + long + 6, top + 14, f"{value} {word}", 13)


def _hatch(root: ET.Element) -> None:
    pattern = _put(
        _put(root, "defs"), "pattern", id="stripes", width=6, height=6, patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )  # fmt: skip
    _put(pattern, "rect", width=6, height=6, fill="#fff")
    _put(pattern, "line", x1=0, y1=0, x2=0, y2=6, stroke="#000", **{"stroke-width": 3})


def _size(wide: int, tall: int) -> dict[str, str]:
    return {"viewBox": f"0 0 {wide} {tall}", "width": str(wide), "height": str(tall)}


def _put(parent: ET.Element, tag: str, **facts: object) -> ET.Element:
    return ET.SubElement(parent, f"{{{SVG}}}{tag}", {name: f"{value}" for name, value in facts.items()})


def _say(root: ET.Element, x: float, y: float, text: str, size: int, *, bold: bool = False) -> None:
    weight: dict[str, object] = {"font-weight": "bold"} if bold else {}
    _put(root, "text", x=f"{x:g}", y=f"{y:g}", **{"font-size": size}, **weight).text = printable(text)
