"""The HTML sheet: the table as it is, nothing but text from people, and nothing fetched."""

from html.parser import HTMLParser

import pytest

from sessions.sheets.grid import grid
from sessions.sheets.page import page
from tests.sessions.sheets.making import full_house, sheet, turn

NASTY = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&"


class Reader(HTMLParser):
    """The tags there are with their attributes, the cells' texts, and all the text."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.attributes, self.cells, self.text = set(), [], [], ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes += attrs
        if tag in ("td", "th"):
            self.cells.append("")

    def handle_data(self, data):
        self.text += data
        if self.cells and self.lasttag in ("td", "th"):
            self.cells[-1] += data.strip()


@pytest.mark.parametrize("turns", [full_house(3, 6, 2), full_house(16, 2, 2)])
def test_the_table_is_the_rota_s(turns):
    read = Reader(page(sheet(turns)))
    assert read.cells == [box.text for box in grid(turns).boxes]


def test_every_sentence_of_the_sheet_is_there():
    made = sheet()
    text = Reader(page(made)).text
    for line in (
        made.title, made.subtitle, made.status_words, made.meeting, made.hours, *(day.line for day in made.days),
        made.reasons, *made.cautions, made.danger, made.tell_them, *made.numbers, made.footer,
    ):  # fmt: skip
        assert line in text


def test_what_people_wrote_is_text_and_never_a_tag():
    made = sheet([turn(guest=NASTY, pool=NASTY)], beat=NASTY, meeting_point=NASTY, only_for=NASTY, fishery=NASTY)
    read = Reader(page(made))
    assert read.tags == Reader(page(sheet())).tags
    assert read.cells.count(NASTY) == 1
    assert f"Meet at: {NASTY}" in read.text
    assert not [name for name, _ in read.attributes if name.startswith("on")]


def test_there_is_no_script_and_nothing_to_fetch():
    text = page(sheet())
    read = Reader(text)
    assert not read.tags & {"script", "link", "img", "iframe", "object", "form", "a"}
    assert not {name for name, _ in read.attributes} & {"src", "href", "action"}
    assert "url(" not in text
    assert "@import" not in text


def test_the_paper_is_a4_the_way_the_table_wants_it():
    assert "@page { size: A4 portrait; margin: 9mm; }" in page(sheet(full_house(4, 6, 2)))
    wide = full_house(2, 2, 1, pool="Featherstonehaugh" * 3 + "{}")
    assert "@page { size: A4 landscape; margin: 9mm; }" in page(sheet(wide))


def test_headings_say_what_they_head():
    scopes = [value for name, value in Reader(page(sheet(full_house(2, 1, 2)))).attributes if name == "scope"]
    # Day, Part and two rods; then a day, and two parts.
    assert scopes == ["col"] * 4 + ["row"] * 3
