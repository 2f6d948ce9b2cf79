"""The rota as a table, against tables written by hand."""

from hypothesis import given
from hypothesis import strategies as st

from sessions.sheets.grid import NOT_OUT, grid
from tests.sessions.sheets.making import full_house, turn


def written(turns):
    """The table as rows of text, every blank a plain one; what a spanning box covers is None."""
    made = grid(turns)
    rows = [[None] * made.columns for _ in range(made.rows)]
    for box in made.boxes:
        assert rows[box.row][box.column] is None
        rows[box.row][box.column] = box.text.replace("\N{NO-BREAK SPACE}", " ")
    return rows


def test_parts_go_down_and_rods_across():
    turns = [
        turn(1, guest="Una", pool="Head"), turn(2, pool="Neck"),
        turn(1, part=1, guest="Una", pool="Neck"),
        turn(1, day=1, guest="Una", pool="Tail"), turn(2, day=1, pool="Head"),
    ]  # fmt: skip
    assert written(turns) == [
        ["Day", "Part", "Una (rod 1)", "Rod 2"],
        ["Mon 4 May", "morning", "Head", "Neck"],
        [None, "afternoon", "Neck", NOT_OUT],
        ["Tue 5 May", "morning", "Tail", "Head"],
    ]


def test_more_rods_than_parts_turn_the_table():
    turns = [turn(1, guest="Una"), turn(2, guest="Ben", pool="Neck"), turn(3), turn(3, day=1, pool="Tail")]
    assert written(turns) == [
        ["Rod", "Mon 4 May", "Tue 5 May"],
        [None, "morning", "morning"],
        ["Una (rod 1)", "Kiln Pot", NOT_OUT],
        ["Ben (rod 2)", "Neck", NOT_OUT],
        ["Rod 3", "Kiln Pot", "Tail"],
    ]


def test_a_day_of_two_parts_is_one_heading():
    made = grid(full_house(3, 1, 2))
    (day,) = [box for box in made.boxes if box.text == "Mon 4 May"]
    assert (day.row, day.column, day.columns) == (0, 1, 2)


def test_a_guest_whose_rod_changes_is_one_column():
    turns = [turn(2, guest="Una", key=7), turn(1, day=1, guest="Una", key=7, pool="Neck")]
    assert written(turns)[0] == ["Day", "Part", "Una (rods 1, 2)"]


def test_two_guests_of_one_name_are_two_columns():
    turns = [turn(1, guest="Una", pool="Head"), turn(2, guest="Una", pool="Neck"), turn(1, part=1, guest="Una")]
    assert written(turns)[0][2:] == ["Una (rod 1)", "Una (rod 2)"]


def test_two_pools_in_one_part_are_both_told():
    assert written([turn(1, guest="Una", key=7), turn(2, guest="Una", key=7, pool="Neck")])[1][2] == (
        "Kiln Pot / Neck"
    )  # fmt: skip


def test_a_rota_of_nobody_says_so():
    assert written([]) == [["Turns", "None. Nobody is on this rota."]]


@given(st.integers(1, 20), st.integers(1, 7), st.integers(1, 3))
def test_every_place_is_covered_once_whatever_the_size(rods, days, parts):
    made = grid(full_house(rods, days, parts))
    covered = [
        (row, column)
        for box in made.boxes
        for row in range(box.row, box.row + box.rows)
        for column in range(box.column, box.column + box.columns)
    ]
    assert sorted(covered) == [(row, column) for row in range(made.rows) for column in range(made.columns)]
    assert (made.lead == 1) == (rods > days * parts)
