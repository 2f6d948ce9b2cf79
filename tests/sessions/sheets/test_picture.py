"""The picture of a rota's worth, read back as XML."""

from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.sheets.picture import BAR_WIDTH, LONGEST_NAME, Panel, picture

SVG = "{http://www.w3.org/2000/svg}"


def read(*panels, title="Upper, week of 4 May 2026"):
    """The root, its texts in order, and the bars as (fill, length) in order."""
    root = ET.fromstring(picture(title, [Panel(heading, worth) for heading, worth in panels]))
    texts = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    bars = [(bar.get("fill"), float(bar.get("width"))) for bar in root.findall(f"{SVG}rect[@stroke]")]
    return root, texts, bars


def test_each_rod_has_a_bar_with_its_number_in_words_beside_it():
    _, texts, bars = read(("Version 2: the week's rota", (("Una", 12.0), ("Rod 3", 9.0))))
    assert bars == [("#000", BAR_WIDTH), ("#000", BAR_WIDTH * 0.75)]
    assert texts[2:] == [
        "Una", "Rod 3", "Version 2: the week's rota", "Lowest 9.00, highest 12.00, 3.00 apart", "12.00", "9.00"
    ]  # fmt: skip


def test_before_and_after_stand_side_by_side_on_one_scale():
    before = ("Version 1: replaced", (("Una", 5.0), ("Ben", 20.0)))
    root, texts, bars = read(before, ("Version 2: the week's rota", (("Una", 10.0), ("Cara", 10.0))))
    assert texts[2:5] == ["Una", "Cara", "Ben"]
    heading, spread, *numbers = texts[5:10]
    assert (heading, spread) == ("Version 1: replaced", "Lowest 5.00, highest 20.00, 15.00 apart")
    assert numbers == ["5.00", "not out", "20.00"]
    assert bars == [("url(#hatch)", BAR_WIDTH / 4), ("url(#hatch)", BAR_WIDTH)] + [("#000", BAR_WIDTH / 2)] * 2
    lefts = {text.text: float(text.get("x")) for text in root.iter(f"{SVG}text")}
    assert lefts["Version 1: replaced"] + BAR_WIDTH < lefts["Version 2: the week's rota"]


def test_two_rods_of_one_name_are_two_rows():
    _, texts, bars = read(("Version 1", (("Una", 8.0), ("Una", 4.0))))
    assert (texts[2:4], len(bars)) == (["Una", "Una"], 2)


def test_a_name_is_text_whatever_stands_in_it():
    name = '<script>&"\x00\x0b\ud800'
    root, texts, _ = read(("Version 1", ((name, 8.0),)), title=name)
    assert texts[0] == texts[2] == '<script>&"'
    assert {element.tag.removeprefix(SVG) for element in root.iter()} == {
        "svg", "title", "defs", "pattern", "rect", "line", "text"
    }  # fmt: skip


def test_a_long_name_is_cut_and_told_whole_as_its_tooltip():
    name = "Maximilian " * 9
    root, _, _ = read(("Version 1", ((name, 8.0),)))
    (text,) = [text for text in root.iter(f"{SVG}text") if text.find(f"{SVG}title") is not None]
    title = text.find(f"{SVG}title")
    assert title.text == name
    assert (len(title.tail), title.tail[-1]) == (LONGEST_NAME, "…")


@pytest.mark.parametrize("worth", [(), (("Una", 0.0),)])
def test_a_rota_of_no_worth_is_a_picture_too(worth):
    _, _, bars = read(("Version 1", worth))
    assert bars == [("#000", 0.0)] * len(worth)


@given(st.lists(st.tuples(st.text(max_size=130), st.floats(0, 100)), max_size=8))
def test_any_names_and_any_worth_make_a_picture(worth):
    _, _, bars = read(("Version 1: draft", tuple(worth)))
    assert len(bars) == len(worth)
    assert all(0 <= length <= BAR_WIDTH for _, length in bars)
