"""The letters of what is printed: how wide they are, which there are, and what stands for those there are not.

Source Sans Pro (Open Font Licence), carried by a package: Latin with all its marks, Greek, Cyrillic. Other scripts
have fonts of their own (`scripts`). A Korean syllable, which none has, is printed in Latin letters by its name in
the Unicode Standard.
"""

import re
import unicodedata
from functools import cache, lru_cache
from importlib import resources

from fontTools.ttLib import TTFont

from beats.shared.scripts import Script, advances, script_of

FILES = {False: "SourceSansPro-Regular.ttf", True: "SourceSansPro-Bold.ttf"}
NO_LETTER = "?"
HANGUL = "HANGUL SYLLABLE "
BLANKS = re.compile(r"[^\S\N{NO-BREAK SPACE}]+")
INVISIBLE = ("Cc", "Cf", "Mn", "Me", "Cs", "Cn")


def font_file(*, bold: bool) -> str:
    return str(resources.files("font_source_sans_pro").joinpath("files", FILES[bold]))


@cache
def _advances(bold: bool) -> dict[int, float]:
    """Width of every letter there is, in ems."""
    with TTFont(font_file(bold=bold), lazy=True) as font:
        em, metrics = font["head"].unitsPerEm, font["hmtx"]
        return {code: metrics[name][0] / em for code, name in font.getBestCmap().items()}


@lru_cache(maxsize=20_000)
def ems(text: str, *, bold: bool = False) -> float:
    """Width of a printable text in ems: times the size, it is points."""
    own = _advances(bold)
    return sum(own[ord(letter)] if ord(letter) in own else _elsewhere(letter) for letter in text)


def _elsewhere(letter: str) -> float:
    script = script_of(letter)
    return advances(script)[ord(letter)] if script else 0.0


def scripts_of(text: str) -> list[Script]:
    """The scripts besides the paper's own that a printable text has letters of."""
    have = _advances(False).keys() & _advances(True).keys()
    found = {script_of(letter) for letter in set(text) if ord(letter) not in have}
    return sorted((script for script in found if script), key=lambda script: script.name)


@lru_cache(maxsize=5_000)
def printable(text: str) -> str:
    """The text in letters there are: composed, else without marks, else in Latin letters, else a question mark."""
    near = "".join(_nearest(letter) for letter in _composed(text))
    return BLANKS.sub(" ", near).strip(" ")


def all_there(text: str) -> bool:
    """Whether the text prints as it is written."""
    return printable(text) == _composed(text)


def _composed(text: str) -> str:
    """One form for each letter, one blank between words; a no-break space stays what it is."""
    return BLANKS.sub(" ", unicodedata.normalize("NFC", text)).strip(" ")


def _nearest(letter: str) -> str:
    have = _advances(False).keys() & _advances(True).keys()
    if ord(letter) in have:
        return letter
    if script_of(letter):
        return letter
    if unicodedata.category(letter) in INVISIBLE:
        return ""
    if (name := unicodedata.name(letter, "")).startswith(HANGUL):
        return name.removeprefix(HANGUL).lower()
    plain = "".join(one for one in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(one))
    return plain if plain and all(ord(one) in have for one in plain) else NO_LETTER
