"""What an alarm says: facts and what to do, and never that anybody is safe."""

import dataclasses
import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from safety.wording import Missing, all_clear, overdue

DUE = dt.datetime(2026, 5, 6, 15, 0, tzinfo=dt.UTC)
MISSING = Missing(
    alarm=7,
    name="Una Teal",
    phone="+447700900111",
    contact="Rory Teal, +441632960222",
    alone=True,
    fishery="Water",
    river="Testwater",
    beat="Upper",
    pool="Long Alder",
    access="hut track",
    position="57.62000, -5.33100 (latitude, longitude)",
    tidal=False,
    plan="Down to the tail",
    checked_in_at=DUE - dt.timedelta(hours=4),
    due_back_at=DUE,
    zone=ZoneInfo("Europe/London"),
)


def of(**facts):
    return dataclasses.replace(MISSING, **facts)


def line(body, label):
    return [text for text in body.splitlines() if text.startswith(f"{label}: ")]


def test_the_alarm_says_who_where_since_when_and_what_to_do():
    words = overdue(MISSING, now=DUE + dt.timedelta(minutes=12))
    assert words.subject == "OVERDUE: Una Teal, Upper, ALONE"
    assert words.body.splitlines() == [
        "Una Teal has not checked out. Nothing has been heard since check-in.",
        "",
        "1. Ring +447700900111 now. Then ring whoever is nearest the water.",
        "2. If there is no answer, go and look, not alone, and do not go into the water.",
        "3. If you cannot find them, or fear for them, ring 999 or 112 and ask for the police.",
        "",
        "Who: Una Teal, +447700900111",
        "Company: ALONE",
        "Where: River Testwater, Water, Upper, Long Alder",
        "Position: 57.62000, -5.33100 (latitude, longitude)",
        "Way in: hut track",
        "Plan: Down to the tail",
        "On the water since: 12:00 on Wednesday 6 May",
        "Due off the water: 16:00 on Wednesday 6 May (12 min ago when this was written)",
        "Their contact: Rory Teal, +441632960222",
        "",
        "Alarm 7. When they are found, check them out, so that everybody is told.",
        "Rodtally is not an emergency service and has called nobody else.",
    ]


def test_the_coastguard_is_named_on_a_tidal_beat_and_nowhere_else():
    tidal, inland = (overdue(of(tidal=tidal), now=DUE).body for tidal in (True, False))
    assert "ring 999 or 112 and ask for the Coastguard (the tide reaches this beat)." in tidal
    assert "Coastguard" not in inland


def test_what_is_not_known_is_left_out_or_said_to_be_missing():
    bare = of(phone="", contact="", pool="", access="", position="", plan="", alone=False)
    words = overdue(bare, now=DUE)
    assert words.subject == "OVERDUE: Una Teal, Upper, in company"
    assert "1. They cannot be rung: no number is known. Ring whoever is nearest the water now" in words.body
    assert line(words.body, "Position") == ["Position: not recorded: tell them the beat and the access"]
    assert line(words.body, "Where") == ["Where: River Testwater, Water, Upper"]
    assert [line(words.body, label) for label in ("Way in", "Plan", "Their contact")] == [[], [], []]


def test_back_is_back_with_the_time_it_was():
    words = all_clear(MISSING, checked_out_at=DUE + dt.timedelta(minutes=30))
    assert words.subject == "Off the water: Una Teal, Upper"
    assert words.body == (
        "Una Teal was checked out at 16:30 on Wednesday 6 May. "
        "They were due off the water at 16:00 on Wednesday 6 May.\n\n"
        "Alarm 7 is over. If you rang 999 or 112, tell them now."
    )


def test_heard_from_says_that_they_are_still_out():
    words = all_clear(MISSING, checked_out_at=None, new_time_at=DUE + dt.timedelta(hours=1))
    assert words.subject == "Heard from: Una Teal, Upper, still on the water"
    assert words.body.startswith("Una Teal has a new time off the water: 17:00 on Wednesday 6 May.")
    assert "They are still on the water." in words.body


def test_there_is_no_all_clear_for_nothing():
    with pytest.raises(ValueError, match="off the water or has a new time"):
        all_clear(MISSING, checked_out_at=None)


@pytest.mark.parametrize("tidal", [True, False])
def test_nothing_ever_says_safe(tidal):
    missing = of(tidal=tidal)
    said = [
        overdue(missing, now=DUE),
        all_clear(missing, checked_out_at=DUE),
        all_clear(missing, checked_out_at=None, new_time_at=DUE),
    ]
    assert not any("safe" in (words.subject + words.body).lower() for words in said)


def test_a_time_written_before_it_is_due_is_not_negative():
    assert "(0 min ago" in overdue(MISSING, now=DUE - dt.timedelta(hours=1)).body
