"""Fonts of a PDF made with fpdf2: the paper's own, and those of other scripts where a text needs them.

With another script comes shaping by HarfBuzz: Arabic letters are joined, Hebrew and Arabic run from right to left
(Unicode Standard Annex 9), Thai marks stand above their letters. A paper in Latin letters alone is made without.
"""

from fpdf import FPDF

from beats.shared.letters import font_file, scripts_of


def add_fonts(file: FPDF, family: str) -> None:
    """The paper's own font, regular and bold."""
    for bold in (False, True):
        file.add_font(family, "B" if bold else "", font_file(bold=bold))


def add_scripts(file: FPDF, *texts: str) -> None:
    """Add the fonts that these printable texts need besides the paper's own. Call it before they are written."""
    wanted = [script for script in scripts_of("".join(texts)) if script.name.lower() not in file.fonts]
    for script in wanted:
        file.add_font(script.name, "", script.file)
    if wanted:
        file.set_fallback_fonts([*file._fallback_font_ids, *(script.name for script in wanted)], exact_match=False)  # noqa: SLF001 - the library has no way to add one
        # The papers are English: a line that begins with a Hebrew name still runs from the left.
        file.set_text_shaping(use_shaping_engine=True, direction="ltr")
