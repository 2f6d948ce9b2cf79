"""Scripts that the paper's own font lacks, and the fonts of packages that have them. Pure.

Noto Sans (SIL Open Font Licence 1.1). Chinese is the Simplified Chinese cut, which has the Traditional characters
of GB 18030 and Japanese kana as well. Blocks are those of the Unicode Standard (Blocks.txt).
"""

from dataclasses import dataclass
from functools import cache
from importlib import resources

from fontTools.ttLib import TTFont


@dataclass(frozen=True)
class Script:
    """A script: its Unicode blocks as (first, last), and the package and file of its font."""

    name: str
    blocks: tuple[tuple[int, int], ...]
    package: str
    font: str

    @property
    def file(self) -> str:
        return str(resources.files(self.package).joinpath(self.font))

    def has(self, letter: str) -> bool:
        code = ord(letter)
        return any(first <= code <= last for first, last in self.blocks) and code in advances(self)


def _noto(name: str, *blocks: tuple[int, int]) -> Script:
    return Script(f"noto{name.lower()}", blocks, "manimgx_fonts", f"NotoSans{name}[wght].ttf")


SCRIPTS = (
    _noto("Hebrew", (0x0590, 0x05FF), (0xFB1D, 0xFB4F)),
    _noto("Arabic", (0x0600, 0x06FF), (0x0750, 0x077F), (0x08A0, 0x08FF), (0xFB50, 0xFDFF), (0xFE70, 0xFEFC)),
    _noto("Thai", (0x0E00, 0x0E7F)),
    _noto("Lao", (0x0E80, 0x0EFF)),
    _noto("Devanagari", (0x0900, 0x097F)),
    _noto("Bengali", (0x0980, 0x09FF)),
    _noto("Gurmukhi", (0x0A00, 0x0A7F)),
    _noto("Gujarati", (0x0A80, 0x0AFF)),
    _noto("Tamil", (0x0B80, 0x0BFF)),
    _noto("Telugu", (0x0C00, 0x0C7F)),
    _noto("Kannada", (0x0C80, 0x0CFF)),
    _noto("Malayalam", (0x0D00, 0x0D7F)),
    _noto("Sinhala", (0x0D80, 0x0DFF)),
    _noto("Armenian", (0x0530, 0x058F)),
    _noto("Georgian", (0x10A0, 0x10FF), (0x1C90, 0x1CBF)),
    _noto("Ethiopic", (0x1200, 0x137F)),
    Script(
        "notochinese",
        ((0x2E80, 0x2FDF), (0x3000, 0x312F), (0x31C0, 0x9FFF), (0xF900, 0xFAFF), (0xFF00, 0xFFEF),
         (0x20000, 0x3FFFF)),
        "pylopdf_fonts_zh_cn", "NotoSansSC-Regular.otf",
    ),
)  # fmt: skip


def script_of(letter: str) -> Script | None:
    """The script whose font has the letter; None where no font does."""
    return next((script for script in SCRIPTS if script.has(letter)), None)


@cache
def advances(script: Script) -> dict[int, float]:
    """Width of every letter of the script's font, unshaped, in ems."""
    with TTFont(script.file, lazy=True) as font:
        em, metrics = font["head"].unitsPerEm, font["hmtx"]
        return {code: metrics[name][0] / em for code, name in font.getBestCmap().items()}
