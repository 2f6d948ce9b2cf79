"""Names in other scripts are printed as they are written: on permits, statements, rota sheets and season papers.

Read back with pypdf. Right-to-left order and joining: Unicode Standard Annex 9 and chapter 9.2; the letters of an
Arabic word are drawn as their contextual forms, of which the same letter has several.
"""

import datetime as dt
import io

import pytest
import uharfbuzz
from fpdf import FPDF
from pypdf import PdfReader

from beats.shared.letters import all_there, ems, printable
from beats.shared.pdf_fonts import add_fonts
from beats.shared.scripts import script_of
from bookings.papers.parts import Section
from bookings.papers.printed import pdf
from sessions.papers.printed import Printed
from sessions.sheets.paper import Write
from sessions.sheets.pdf import FAMILY, _write
from tests.factories import NOON, GuestFactory, LetFactory, RodDayFactory
from tests.pages import at

NAMES = {
    "Chinese": "王小明",
    "Traditional Chinese": "陳美齡",
    "Japanese": "さくら タナカ",
    "Arabic": "محمد علي",
    "Persian": "پرویز",
    "Hebrew": "דוד כהן",
    "Thai": "สมชาย ใจดี",
    "Hindi": "अमित",
    "Georgian": "გიორგი",
}


def letters_of(made):
    """The letters of a PDF, whatever their order: some scripts are drawn from the right."""
    return sorted("".join(page.extract_text() for page in PdfReader(io.BytesIO(made)).pages).replace(" ", ""))


def assert_has(made, name):
    have = letters_of(made)
    for letter in name.replace(" ", ""):
        assert letter in have, f"{letter!r} of {name}"
    assert "?" not in have


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_name_is_printed_in_its_script(name):
    assert printable(name) == name
    assert all_there(name)
    assert ems(name) > 0
    section = Section(f"For {name}", (f"{name} may fish",), (("Day", "Who"), ("Monday", name)), 1)
    assert_has(pdf("Permission", [section], printed_at=NOON), name)


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_season_papers_print_it_too(name):
    paper = Printed(title=f"Season of {name}", foot=name, at=NOON)
    paper.words(name)
    paper.grid([["Who", "Fish"], [name, "2"]])
    assert_has(bytes(paper.output()), name)


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_sheet_prints_it_too(name):
    file = FPDF(unit="pt")
    add_fonts(file, FAMILY)
    file.add_page()
    file.set_font(FAMILY, "B", 12)
    _write(file, Write(50, 100, f"Rod 1 {name}", 12, bold=True))
    assert_has(bytes(file.output()), name)


@pytest.mark.parametrize(("first", "second"), [("דוד", "כהן"), ("محمد", "علي")])
def test_hebrew_and_arabic_run_from_the_right(first, second):
    """pypdf reads words from the left: the first word of the name, which stands at the right, comes second."""
    made = pdf("x", [Section("h", (f"{first} {second}, rod 2",))], printed_at=NOON)
    text = PdfReader(io.BytesIO(made)).pages[0].extract_text().replace("\x02", "")  # the rest of a ligature
    assert text.index(second) < text.index(first) < text.index("rod 2")


def test_arabic_letters_are_joined():
    """Three times the letter beh: initial, medial and final form are three glyphs, alone it would be one."""
    font = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(script_of("ب").file)))
    buffer = uharfbuzz.Buffer()
    buffer.add_str("ببب")
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    joined = {glyph.codepoint for glyph in buffer.glyph_infos} - {0}
    assert len(joined) >= 3
    joined_in_pdf, apart = (pdf("x", [Section("h", (text,))], printed_at=NOON) for text in ("ببب", "ب ب ب"))
    assert len(joined_in_pdf) != len(apart)


def test_korean_is_printed_in_latin_letters():
    assert printable("김민수") == "gimminsu"
    assert not all_there("김민수")


def test_a_paper_in_latin_letters_is_made_without_other_fonts():
    made = pdf("Permission", [Section("For Una Mossgrove", ("x",))], printed_at=NOON)
    assert b"Noto" not in made


@pytest.mark.django_db
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_the_permit_that_the_owner_prints_shows_the_name(house, beat, name):
    guest = GuestFactory(fishery=beat.fishery, name=name)
    let = LetFactory(beat=beat, booker=guest)
    RodDayFactory(let=let, guest=guest, day=dt.date(2026, 5, 5), rod=1)
    answer = house.get(at("house-permit", beat, let.pk))
    assert_has(answer.content, name)
