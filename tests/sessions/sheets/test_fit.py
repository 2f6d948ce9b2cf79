"""Fitting text to paper: nothing wider than its place, nothing lost, nothing off the page."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beats.shared.letters import all_there, ems, printable
from sessions.sheets.fit import SMALLEST, fit, wrap
from sessions.sheets.grid import grid
from sessions.sheets.paper import Frame, lay_out
from tests.sessions.sheets.making import full_house, sheet

TEXTS = st.text(st.characters(codec="utf-8"), max_size=60)


def squeezed(text):
    return "".join(text.split())


@given(TEXTS, st.floats(20, 300), st.floats(4, 20), st.booleans())
def test_no_line_is_wider_than_its_place_and_no_letter_is_lost(text, width, size, bold):
    lines = wrap(text, width, size, bold=bold)
    assert all(ems(line, bold=bold) * size <= width + 1e-6 or len(line) == 1 for line in lines)
    assert squeezed("".join(lines)) == squeezed(printable(text))


@given(TEXTS, st.floats(20, 300), st.floats(4, 20))
def test_whole_words_stay_whole_or_are_refused(text, width, size):
    lines = wrap(text, width, size, whole=True)
    words = printable(text).split(" ")
    if lines is None:
        assert any(ems(word) * size > width for word in words)
    else:
        assert [word for word in " ".join(lines).split(" ") if word] == [word for word in words if word]


@given(TEXTS)
def test_whatever_is_written_comes_out_in_letters_there_are(text):
    assert ems(printable(text)) >= 0
    assert printable(printable(text)) == printable(text)


@pytest.mark.parametrize(
    "text", ["Éoghan Ó Súilleabháin", "Søren, Ærø", "Allt a' Mhuilinn, Loch Àrd, ùr", "Łódź Ж Ω"]
)
def test_the_letters_of_our_neighbours_are_there(text):
    assert (all_there(text), printable(text)) == (True, text)


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("\N{MATHEMATICAL BOLD CAPITAL A}lder", "Alder"),
        ("\N{CUNEIFORM SIGN A} Pool", "? Pool"),
        ("a\u200bb\x07", "ab"),
        ("e\u0301", "é"),
        (" two\n\tlines ", "two lines"),
    ],
)
def test_what_is_not_there_is_simplified_or_marked(text, printed):
    assert printable(text) == printed


HOUSES = st.builds(
    full_house,
    st.integers(1, 24),
    st.integers(1, 7),
    st.integers(1, 3),
    guest=st.sampled_from(["Guest {}", "N" * 90 + "{}", "Maximilian Featherstonehaugh {}"]),
    pool=st.sampled_from(["{}", "W" * 60 + " {}"]),
)


@settings(max_examples=30)
@given(HOUSES, st.floats(150, 780), st.floats(60, 780))
def test_a_table_fits_its_place_whatever_is_in_it(turns, width, height):
    laid = fit(grid(turns), width, height)
    assert sum(laid.widths) == pytest.approx(width)
    assert laid.height <= height + 1e-6
    assert laid.size >= SMALLEST


@settings(max_examples=15)
@given(HOUSES, st.text(st.characters(codec="utf-8"), min_size=1, max_size=120))
def test_every_mark_is_on_the_page(turns, name):
    paper = lay_out(sheet(turns, beat=name, meeting_point=name + name[:80]))
    for mark in paper.marks:
        wide, tall = size_of(mark)
        assert -0.01 <= mark.x <= mark.x + wide <= paper.width
        assert -0.01 <= mark.y <= mark.y + tall <= paper.height


def size_of(mark):
    if isinstance(mark, Frame):
        return mark.width, mark.height
    return ems(mark.text, bold=mark.bold) * mark.size, 0


def test_a_small_rota_is_set_large_enough_for_the_wall():
    assert lay_out(sheet(full_house(4, 6, 2))).table.size >= 16


def test_fewer_rods_are_never_set_smaller():
    sizes = [lay_out(sheet(full_house(rods, 6, 2))).table.size for rods in (2, 4, 8, 12)]
    assert sizes == sorted(sizes, reverse=True)
