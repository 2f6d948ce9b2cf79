"""Four workers at one gauge, two loggers and a file at the same instants: each thing once."""

import datetime as dt
import json
from functools import partial

import pytest

from beats.models import Reading
from beats.services.levels import note_readings
from beats.services.polling import Outcome, poll
from beats.services.river import note_reading
from beats.water.feeds.levels import Level
from tests.beats.feeds.server import playing
from tests.factories import NOON, GaugeFactory, keeper
from tests.races.together import at_once, kinds

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]
QUARTER = dt.timedelta(minutes=15)


def test_four_workers_ask_a_due_gauge_once():
    with playing() as feed:
        rows = [[(NOON - n * QUARTER).isoformat(), 0.6] for n in range(50)]
        series = {"ts_id": "1", "rows": "50", "columns": "Timestamp,Value", "data": rows}
        feed.body = json.dumps([series]).encode()
        gauge = GaugeFactory(feed_kind="kiwis", feed_url=feed.url(), feed_unit="m")
        answers = at_once([partial(poll, gauge.pk, clock=lambda: NOON, door=feed.door())] * 4)
    assert sorted(answers, key=str) == [None, None, None, Outcome(added=50)]
    assert (len(feed.asked), Reading.objects.count()) == (1, 50)


def test_six_senders_of_the_same_readings_add_them_once_between_them():
    gauge = GaugeFactory()
    some = [Level(NOON - n * QUARTER, 0.6 + n / 1000) for n in range(700)]
    send = partial(note_readings, gauge, source=Reading.Source.LOGGER, by=None, now=NOON)
    answers = at_once([partial(send, some[::step]) for step in (1, -1, 1, -1, 1, -1)])
    assert kinds(answers) == ["Noted"] * 6
    assert sorted((noted.added, noted.known) for noted in answers) == [(0, 700)] * 5 + [(700, 0)]
    assert Reading.objects.count() == 700


def test_a_hand_reading_beside_a_loggers_leaves_one_level():
    gauge = GaugeFactory()
    ghillie = keeper(gauge.fishery, "ghillie")
    by_hand = partial(note_reading, gauge, level_m=0.6, at=NOON, by=ghillie, now=NOON)
    sent = partial(note_readings, gauge, [Level(NOON, 0.6)], source="logger", by=None, now=NOON)
    answers = at_once([by_hand, sent, by_hand, sent])
    assert kinds(answers) == ["Noted", "Noted", "tuple", "tuple"]
    assert Reading.objects.count() == 1
