"""The PDF read back by another library (pypdf): one A4 page, and every name on it."""

import io
import logging

import pytest
from pypdf import PdfReader

from sessions.sheets.paper import NOT_ALL_LETTERS
from sessions.sheets.pdf import pdf
from tests.sessions.sheets.making import full_house, sheet, turn

LONG = "Maximilian Featherstonehaugh-Warrington of the Old Stone Bridge and the Long Alder Run {:03}"


def read(made):
    """The one page, and its text without blanks: names may be broken over lines."""
    (page,) = PdfReader(io.BytesIO(pdf(made))).pages
    return page, bare(page.extract_text())


def bare(text):
    return "".join(text.split())


@pytest.mark.parametrize(
    ("rods", "days", "parts"), [(1, 1, 1), (3, 6, 2), (4, 6, 3), (8, 6, 2), (16, 6, 3), (16, 2, 2), (16, 1, 1)]
)
def test_any_house_is_one_page_with_everybody_and_every_pool_on_it(rods, days, parts):
    turns = full_house(rods, days, parts, guest="Guest {:02}", pool="Pool {:02}")
    _, text = read(sheet(turns))
    for name in {name for each in turns for name in (each.guest, each.pool)}:
        assert bare(name) in text
    assert text.count("Pool") == len(turns)


def test_ninety_letter_names_of_guests_and_pools_break_nothing():
    turns = full_house(16, 6, 3, guest=LONG.replace("M", "G", 1), pool=LONG)
    assert len(turns[0].guest) == 90
    _, text = read(sheet(turns))
    for name in {name for each in turns for name in (each.guest, each.pool)}:
        assert bare(name) in text


def test_the_page_is_a4_upright_or_on_its_side():
    """ISO 216: 210 by 297 mm, in points of 1/72 inch."""
    for turns in (full_house(4, 6, 2), full_house(2, 2, 1, pool="Featherstonehaugh" * 3 + "{}")):
        page, _ = read(sheet(turns))
        sides = sorted(float(side) for side in page.mediabox[2:])
        assert sides == pytest.approx([210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.5)


def test_the_card_and_the_words_are_all_on_it():
    made = sheet()
    _, text = read(made)
    for line in (
        made.title, made.subtitle, made.status_words, made.meeting, made.hours, *(day.line for day in made.days),
        made.reasons, *made.cautions, made.danger, made.tell_them, *made.numbers, made.footer,
    ):  # fmt: skip
        assert bare(line) in text


def test_the_letters_of_our_neighbours_are_printed_as_they_are():
    _, text = read(sheet([turn(guest="Søren Éoghan \N{EN DASH} Łuka", pool="Linne nan Àrd ùr")]))
    assert "SørenÉoghan\N{EN DASH}Łuka" in text
    assert "LinnenanÀrdùr" in text
    assert bare(NOT_ALL_LETTERS) not in text


def test_letters_that_are_not_there_are_owned_up_to():
    _, text = read(sheet([turn(guest="Mei \N{CUNEIFORM SIGN A} Tran", pool="Head")]))
    assert "Mei?Tran" in text
    assert bare(NOT_ALL_LETTERS) in text


def test_the_same_sheet_is_the_same_file():
    assert pdf(sheet()) == pdf(sheet())


def test_its_letters_travel_with_it():
    page, _ = read(sheet())
    fonts = page["/Resources"]["/Font"].values()
    for font in fonts:
        (inner,) = font.get_object()["/DescendantFonts"]
        assert "/FontFile2" in inner.get_object()["/FontDescriptor"]
    assert len(fonts) == 2


def test_printing_says_nothing_to_the_log():
    assert logging.getLogger("fontTools.subset").getEffectiveLevel() == logging.WARNING
