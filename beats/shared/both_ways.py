"""What people wrote from right to left stays within itself: the text around it is not turned. Pure.

By the Unicode Bidirectional Algorithm (Unicode Standard Annex #9) a Hebrew name would draw the figures beside it
to its other side, and an override (U+202E) would turn all that follows in the line, times and numbers too. So each
run of such letters is isolated wherever it stands in a page, and the signs that only turn text are not shown. What
is kept in the database, and what stands in a field to be typed on, is left as it is.
"""

import re

TURNING = "\u202a-\u202e\u2066-\u2069"
"""Embeddings, overrides, isolates, and what ends them (UAX #9, section 2)."""
LEFTWARD = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff\U00010800-\U00010fff\U0001e800-\U0001efff"
"""The blocks kept for scripts from right to left (the file DerivedBidiClass of the Unicode Character Database)."""
FSI, PDI = "\u2068", "\u2069"

_ANY = re.compile(f"[{TURNING}{LEFTWARD}]")
_TURNING = re.compile(f"[{TURNING}]")
_BETWEEN = rf"(?:&(?:\#x27|quot|amp);|[^\w&<>]|[\d_{LEFTWARD}])*"
"""What may stand within a run: figures, blanks, marks, those that HTML spells too; no letter of another script."""
_RUN = re.compile(rf"[{LEFTWARD}](?:{_BETWEEN}[{LEFTWARD}])?")
_NO_TEXT = re.compile(r"(<textarea\b[^<]*</textarea>|<[^<>]*>)")


def kept_apart(html: str) -> str:
    """The page, its text isolated where it runs leftward; tags and what stands in fields untouched."""
    if not _ANY.search(html):
        return html
    pieces = _NO_TEXT.split(html)
    pieces[::2] = [_isolated(text) for text in pieces[::2]]
    return "".join(pieces)


def _isolated(text: str) -> str:
    return _RUN.sub(lambda run: f"{FSI}{run[0]}{PDI}", _TURNING.sub("", text))
