"""What an angler's text message asks for: OUT 4821, LATE 30 4821, OK 4821, HELP. Pure.

The number a text comes from can be forged, so whatever quiets the watch needs the outing's code; HELP
needs none.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

MOST_MINUTES = 240


class Verb(StrEnum):
    OUT = "out"
    LATE = "late"
    OK = "ok"
    HELP = "help"


@dataclass(frozen=True)
class Asked:
    """A text understood. `code` is empty where none was given."""

    verb: Verb
    code: str = ""
    minutes: int = 0


HOW = (
    "Text OUT and your code when you are out of the water, LATE 30 and your code for more time, OK and your "
    "code, or HELP."
)
_OUT_OR_OK = re.compile(r"(OUT|OK)(?: (\d{4,6}))?[.!]?")
_LATE = re.compile(r"LATE (\d{1,3})(?: (?:MIN|MINS|MINUTES))?(?: (\d{4,6}))?[.!]?")


def understand(text: str) -> Asked | str:
    """What is asked, or the sentence that says how to ask. Anything with HELP in it is a call for help."""
    plain = " ".join(unicodedata.normalize("NFKC", text).upper().split())
    if re.search(r"\bHELP\b|\bSOS\b|\bMAYDAY\b", plain):
        return Asked(Verb.HELP)
    if found := _OUT_OR_OK.fullmatch(plain):
        return Asked(Verb(found[1].lower()), found[2] or "")
    if found := _LATE.fullmatch(plain):
        minutes = int(found[1])
        if not 1 <= minutes <= MOST_MINUTES:
            return f"LATE takes 1 to {MOST_MINUTES} minutes. Nothing was changed. {HOW}"
        return Asked(Verb.LATE, found[2] or "", minutes)
    return f"Not understood; nothing was changed. {HOW} In danger ring 999 or 112."
