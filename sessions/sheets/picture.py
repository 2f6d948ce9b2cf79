"""Worth per turn by rod as an SVG picture: a bar a rod, and the same before when a rota was replaced.

Before and after are told apart by their headings and by the bars' pattern, never by colour alone.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape

from beats.shared.markup import printable

NAME_WIDTH, PANEL_WIDTH, ROW, TOP, EDGE = 250, 300, 30, 104, 20
BAR_WIDTH = PANEL_WIDTH - 80
LONGEST_NAME = 30
FONT = 'font-family="Source Sans Pro, Arial, Helvetica, sans-serif"'
HATCH = (
    '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="6" height="6" fill="#fff"/>'
    '<line x1="0" y1="0" x2="0" y2="6" stroke="#000" stroke-width="3"/></pattern></defs>'
)


@dataclass(frozen=True)
class Panel:
    """One rota: its heading, and each rod's worth per turn in the certificate's order."""

    heading: str
    worth: tuple[tuple[str, float], ...]


def picture(title: str, panels: Iterable[Panel]) -> str:
    """An SVG document; all panels share their rows and one scale."""
    panels = list(panels)
    kept = [_by_rod(panel) for panel in panels]
    rods = list(dict.fromkeys(rod for worth in reversed(kept) for rod in worth))
    most = max((value for worth in kept for value in worth.values()), default=0) or 1
    wide = 2 * EDGE + NAME_WIDTH + PANEL_WIDTH * len(panels)
    tall = TOP + ROW * len(rods) + EDGE
    parts = [_text(EDGE, 32, title, 20, bold=True, most=(wide - 2 * EDGE) // 10)]
    parts.append(_text(EDGE, 54, "Worth of an average turn, by rod. 10 is an ordinary pool.", 14))
    for row, (name, _) in enumerate(rods):
        parts.append(_text(EDGE, TOP + ROW * row + 19, name, 15, most=LONGEST_NAME))
    for n, (panel, worth) in enumerate(zip(panels, kept, strict=True)):
        left = EDGE + NAME_WIDTH + PANEL_WIDTH * n
        parts += _panel(panel, [worth.get(rod) for rod in rods], left, most, hatched=n < len(panels) - 1)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {tall}" width="{wide}" height="{tall}" '
        f'role="img" {FONT} fill="#000"><title>{_clean(title)}</title>{HATCH}'
        f'<rect width="{wide}" height="{tall}" fill="#fff"/>{"".join(parts)}</svg>'
    )


def _panel(panel: Panel, values: list[float | None], left: int, most: float, *, hatched: bool) -> list[str]:
    parts = [_text(left, 78, panel.heading, 14, bold=True), _text(left, 96, _apart(panel), 13)]
    fill = "url(#hatch)" if hatched else "#000"
    for row, value in enumerate(values):
        top = TOP + ROW * row
        if value is None:
            parts.append(_text(left, top + 19, "not out", 14))
            continue
        long = round(BAR_WIDTH * max(value, 0) / most, 1)
        parts.append(
            f'<rect x="{left}" y="{top + 4}" width="{long}" height="{ROW - 9}" fill="{fill}" stroke="#000"/>'
        )
        parts.append(_text(left + long + 6, top + 19, f"{value:.2f}", 14))
    return parts


def _apart(panel: Panel) -> str:
    values = [value for _, value in panel.worth]
    if not values:
        return "No worth was reckoned."
    return f"Lowest {min(values):.2f}, highest {max(values):.2f}, {max(values) - min(values):.2f} apart"


def _by_rod(panel: Panel) -> dict[tuple[str, int], float]:
    """Two rods of one name stay two: (name, which of them)."""
    seen = Counter[str]()
    worth = {}
    for name, value in panel.worth:
        seen[name] += 1
        worth[name, seen[name]] = value
    return worth


def _text(x: float, y: float, text: str, size: int, *, bold: bool = False, most: int | None = None) -> str:
    """A line of text; one cut short carries the whole as its tooltip."""
    weight = ' font-weight="bold"' if bold else ""
    shown, whole = text, ""
    if most is not None and len(text) > most:
        shown, whole = text[: most - 1] + "…", f"<title>{_clean(text)}</title>"
    return f'<text x="{x:g}" y="{y:g}" font-size="{size}"{weight}>{whole}{_clean(shown)}</text>'


def _clean(text: str) -> str:
    return escape(printable(text))
