"""What an angler is told at check-in."""

import datetime as dt

import pytest

from sessions.telling import told_at_check_in
from tests.factories import NOON, GaugeFactory, OutingFactory, ReadingFactory

pytestmark = pytest.mark.django_db

DUSK_AND_AFTER = NOON + dt.timedelta(hours=11)  # 23:00 at the river; 6 May, about 57.6 N


def test_the_promise_comes_first_and_its_limit_next():
    outing = OutingFactory(due_back_at=NOON + dt.timedelta(hours=4))
    assert told_at_check_in(outing, now=NOON)[:2] == [
        "Off the water by 16:00 on Wednesday. If nothing is heard by 16:00, the keepers are told.",
        "This is not an emergency service. In danger ring 999 or 112 and ask for the police.",
    ]


def test_on_a_tidal_beat_the_coastguard_is_the_one_to_ask_for():
    outing = OutingFactory(beat__tidal=True)
    told = told_at_check_in(outing, now=NOON)
    assert told[1].endswith("ask for the Coastguard.")
    assert told[-1].startswith("The tide reaches this beat.")


@pytest.mark.parametrize(("due", "warned"), [(NOON, False), (DUSK_AND_AFTER, True)])
def test_whoever_is_due_after_dark_is_told_so(due, warned):
    outing = OutingFactory(checked_in_at=NOON - dt.timedelta(hours=1), due_back_at=due)
    told = told_at_check_in(outing, now=NOON)
    assert any(text.startswith("It is dark from ") for text in told) == warned


def test_signal_and_an_unknown_level_are_told():
    outing = OutingFactory(beat__mobile_signal="at the hut only", beat__gauge=GaugeFactory())
    told = told_at_check_in(outing, now=NOON)
    assert "Telephone signal: at the hut only." in told
    assert "The height of the river is not known: look at it before you step in." in told


def test_with_a_fresh_level_the_angler_is_not_told_that_it_is_unknown():
    gauge = GaugeFactory()
    ReadingFactory(gauge=gauge, at=NOON)
    told = told_at_check_in(OutingFactory(beat__gauge=gauge), now=NOON)
    assert not any("height of the river" in text for text in told)


def test_nothing_says_that_anybody_is_safe():
    told = " ".join(told_at_check_in(OutingFactory(beat__tidal=True), now=NOON))
    assert "safe" not in told.lower()
