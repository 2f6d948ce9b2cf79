"""What the sheet says, in the words it says it."""

import pytest

from sessions.sheets.lines import lines
from sessions.sheets.sheet import MOST_KEEPERS, Keeper
from tests.sessions.sheets.making import SUNDAY, sheet, turn


def test_the_head_names_beat_water_week_and_version():
    made = sheet()
    assert (made.title, made.subtitle) == (
        "Upper Durrisk", "Durrisk Water, river Durrisk. Week of Monday 4 May 2026, version 3."
    )  # fmt: skip


def test_a_guest_s_own_sheet_says_that_it_is_not_the_whole():
    assert sheet(only_for="Una").subtitle.endswith("version 3. Only the turns of Una.")


@pytest.mark.parametrize(
    ("status", "says"),
    [
        ("draft", "DRAFT: not yet the week's rota."),
        ("published", "PUBLISHED: this is the week's rota."),
        ("superseded", "REPLACED: a newer rota holds. Take this sheet down."),
    ],
)
def test_the_status_is_in_words(status, says):
    assert sheet(status=status).status_words == says


def test_the_parts_of_the_day_stand_in_time():
    assert sheet([turn(part=1), turn(part=0)]).hours == "Morning 09:00 to 13:00, afternoon 14:00 to 18:00"


def test_a_day_has_its_law_and_light_and_a_reason_once():
    made = sheet()
    assert made.days[0].line == "Mon 4 May: open. Sunrise 05:12, sunset 21:20."
    assert made.days[6].line == "Sun 10 May: CLOSED. Sunrise none, sunset 21:32."
    assert made.reasons == f"Sun: {SUNDAY}"


@pytest.mark.parametrize(("tidal", "service"), [(True, "the Coastguard"), (False, "the police")])
def test_the_card_says_whom_to_ask_for(tidal, service):
    assert sheet(tidal=tidal).danger == f"In danger ring 999 or 112 and ask for {service}."


def test_the_card_has_the_numbers_there_are_and_the_place():
    made = sheet()
    assert made.numbers == ("Durrisk Water: +44 1632 960100", "Callum Baird, ghillie: +44 7700 900102")
    assert made.tell_them == "Say where: Upper Durrisk, Durrisk Water, river Durrisk, near 57.6100, -5.3500."
    assert made.footer == "Rodtally is not an emergency service. Printed 08:05 on Monday 4 May."


def test_a_long_list_of_keepers_does_not_crowd_the_card():
    many = tuple(Keeper(f"Keeper {n}", "ghillie", f"+4477009001{n:02}") for n in range(20))
    assert len(sheet(keepers=many, phone="").numbers) == MOST_KEEPERS


def test_without_a_meeting_point_the_ghillie_is_asked():
    assert sheet(meeting_point="").meeting == "Meet where the ghillie says."


def test_the_lines_are_one_a_turn_in_time_with_no_formula_in_them():
    turns = [turn(2, part=1, guest="=HYPERLINK(1)", pool="+Pot"), turn(1, guest="Una"), turn(3, part=1)]
    assert lines(turns) == [
        ["Day", "Part", "Starts", "Ends", "Rod", "Guest", "Pool", "Do not fish"],
        ["2026-05-04", "morning", "09:00", "13:00", "1", "Una", "Kiln Pot", ""],
        ["2026-05-04", "afternoon", "14:00", "18:00", "2", "'=HYPERLINK(1)", "'+Pot", ""],
        ["2026-05-04", "afternoon", "14:00", "18:00", "3", "", "Kiln Pot", ""],
    ]
