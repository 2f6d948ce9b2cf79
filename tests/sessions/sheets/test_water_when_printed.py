"""A sheet printed in its week says how the water is; one printed before says nothing it cannot know."""

import datetime as dt

import pytest

from sessions import queries
from sessions.sheets import gather
from tests.factories import NOON, GaugeFactory, ReadingFactory
from tests.sessions.riverside import Riverside

pytestmark = pytest.mark.django_db
A_WEEK = dt.timedelta(days=7)


def first_line(river, rota, now):
    return gather.sheet(queries.rota_as_seen_by(river.ghillie, rota.pk), now=now).cautions[0]


def test_the_water_stands_first_on_a_sheet_printed_in_its_week():
    river = Riverside(rods=1)
    river.beat.gauge = GaugeFactory(fishery=river.beat.fishery, name="Old mill")
    river.beat.save()
    ReadingFactory(gauge=river.beat.gauge, at=NOON - dt.timedelta(minutes=20), level_m=0.61)
    rota = river.plan()
    line = first_line(river, rota, NOON)
    assert line.startswith("When printed, Wednesday 6 May: Open")
    assert "Old mill: 0.61 m, read 20 min ago" in line
    for other in (NOON - A_WEEK, NOON + A_WEEK):
        assert "When printed" not in first_line(river, rota, other)
