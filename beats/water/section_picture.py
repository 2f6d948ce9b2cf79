"""The picture of a pool cut across, as SVG for a phone.

Looking downstream, so the left bank is on the left. Lines differ in pattern and carry their names and
depths in words; nothing is told by colour alone.
"""

import re
import textwrap
from xml.etree import ElementTree as ET

from beats.shared.markup import printable
from beats.water.casting import Side
from beats.water.section import POINTS, Section
from beats.water.wading_depths import STANDS_IN

WIDE, EDGE = 360, 12
LEFT, RIGHT, TALL = 16, 216, 150
LABELS_AT, LABEL_GAP = 240, 18
FONT = "Source Sans Pro, Arial, Helvetica, sans-serif"


def draw(section: Section, *, prefix: str = "section") -> str:
    """An SVG document, 360 wide. `prefix` keeps its ids apart from another picture's on the same page.

    Raises ValueError for a prefix that is no XML name.
    """
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]*", prefix):
        raise ValueError("a prefix is a letter, then letters, digits, - or _")
    name = " ".join(printable(section.name).split()) or "Pool"
    heading, legend = _cut(textwrap.wrap(name, 32)), _wrapped(section.sentences)
    top = 20 + 24 * len(heading) + 22
    tall = top + TALL + 62 + 18 * len(legend)
    root = _root(prefix, tall, title=name, desc=" ".join(section.sentences))
    for row, line in enumerate(heading):
        _text(root, EDGE, 30 + 24 * row, line, size="18", weight="bold")
    _Plot(root, section, top).draw()
    for row, line in enumerate(legend):
        _text(root, EDGE, top + TALL + 64 + 18 * row, line)
    return ET.tostring(root, encoding="unicode")


def _root(prefix: str, tall: int, *, title: str, desc: str) -> ET.Element:
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {WIDE} {tall}",
            "width": str(WIDE),
            "height": str(tall),
            "role": "img",
            "aria-labelledby": f"{prefix}-title {prefix}-desc",
            "font-family": FONT,
            "fill": "#000",
        },
    )
    ET.SubElement(root, "title", {"id": f"{prefix}-title"}).text = title
    ET.SubElement(root, "desc", {"id": f"{prefix}-desc"}).text = printable(desc)
    ET.SubElement(root, "rect", {"width": str(WIDE), "height": str(tall), "fill": "#fff"})
    return root


class _Plot:
    """The drawing proper: metres out and down become places on the screen."""

    def __init__(self, root: ET.Element, section: Section, top: int) -> None:
        self.root, self.section, self.top = root, section, top
        self.stands_m = STANDS_IN[section.wader][1]
        self.scale = TALL / max(section.depth_m, self.stands_m)

    def draw(self) -> None:
        width, bed = self.section.width_m, self.section.bed_m
        outs = [width * n / POINTS for n in range(POINTS + 1)]
        self._line("polygon", [(out, bed(out)) for out in outs], {"fill": "#e6f0f5", "stroke-width": "2"})
        path = self.section.path()
        self._line("polyline", path, {"fill": "none", "stroke-width": "3", "stroke-dasharray": "8 4"})
        if self.stands_m:
            wading = [(0.0, self.stands_m), (width, self.stands_m)]
            self._line("polyline", wading, {"fill": "none", "stroke-width": "2", "stroke-dasharray": "2 4"})
        you = "start" if self.section.bank is Side.LEFT else "end"
        _text(self.root, self._x(0), self.top - 8, "You", anchor=you)
        self._labels(max(path, key=lambda point: point[1]))

    def _labels(self, deepest: tuple[float, float]) -> None:
        """Names and depths beside the drawing, each joined to what it names and none upon another."""
        width, depth = self.section.width_m, self.section.depth_m
        edge = width if self.section.bank is Side.LEFT else 0.0
        marks = [
            ("Surface", edge, 0.0),
            (f"Bed {depth:.2f} m", width / 2, depth),
            (f"Tip {deepest[1]:.2f} m", *deepest),
        ]
        if self.stands_m:
            marks.append((f"{STANDS_IN[self.section.wader][0]} {self.stands_m:.2f} m", edge, self.stands_m))
        marks.sort(key=lambda mark: mark[2])
        below = float("-inf")
        for words, out, down in marks:
            below = max(self._y(down), below + LABEL_GAP)
            join = {"x1": _n(self._x(out)), "y1": _n(self._y(down)), "x2": str(LABELS_AT - 4), "y2": _n(below)}
            ET.SubElement(self.root, "line", join | {"stroke": "#000", "stroke-width": "0.75"})
            _text(self.root, LABELS_AT, below + 4, words)

    def _line(self, shape: str, points: list[tuple[float, float]], style: dict[str, str]) -> None:
        places = " ".join(f"{_n(self._x(out))},{_n(self._y(down))}" for out, down in points)
        ET.SubElement(self.root, shape, {"points": places, "stroke": "#000"} | style)

    def _x(self, out_m: float) -> float:
        share = out_m / self.section.width_m
        return LEFT + (RIGHT - LEFT) * (share if self.section.bank is Side.LEFT else 1 - share)

    def _y(self, down_m: float) -> float:
        return self.top + down_m * self.scale


def _text(root: ET.Element, x: float, y: float, words: str, **style: str) -> None:
    size, weight = style.get("size", "13"), style.get("weight", "normal")
    place = {"x": _n(x), "y": _n(y), "text-anchor": style.get("anchor", "start")}
    ET.SubElement(root, "text", place | {"font-size": size, "font-weight": weight}).text = words


def _wrapped(sentences: tuple[str, ...]) -> list[str]:
    return [line for sentence in sentences for line in textwrap.wrap(printable(sentence), 50)]


def _cut(lines: list[str]) -> list[str]:
    """At most two lines; the whole stands in the picture's title."""
    return lines if len(lines) <= 2 else [lines[0], lines[1][:31] + "…"]


def _n(value: float) -> str:
    return f"{value:.1f}"
