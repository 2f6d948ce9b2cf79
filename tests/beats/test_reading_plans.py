"""The newest level and the last hours come by index, however many readings there are."""

import datetime as dt

import pytest
from django.db import connection

from beats import queries
from beats.models import Reading
from tests.factories import NOON, GaugeFactory

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture
def gauge():
    """A gauge among ten, 3000 readings each, and a planner that knows it."""
    gauges = GaugeFactory.create_batch(10)
    Reading.objects.bulk_create(
        (Reading(gauge=gauge, at=NOON - n * MINUTE, level_m=0.6) for gauge in gauges for n in range(3000)),
        batch_size=5000,
    )
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE beats_reading")
        if connection.vendor == "postgresql":
            # As the table lies, its planner may gather by the same index and sort what it gathered.
            cursor.execute("SET LOCAL enable_bitmapscan = off")
    return gauges[4]


def newest(gauge):
    return Reading.objects.filter(gauge=gauge, at__lte=NOON).order_by("-at")[:1]


def three_hours(gauge):
    return Reading.objects.filter(gauge=gauge, at__gt=NOON - 180 * MINUTE, at__lte=NOON).order_by("at")


@pytest.mark.parametrize(("ask", "count"), [(newest, 1), (three_hours, 180)])
def test_one_index_finds_them_in_order_without_a_scan_or_a_sort(gauge, ask, count):
    plan = ask(gauge).explain().lower()
    assert len(ask(gauge)) == count
    index = "one_reading_an_instant" if connection.vendor == "postgresql" else "search beats_reading using index"
    assert index in plan
    assert not any(word in plan for word in ("seq scan", "scan beats_reading", "sort", "temp b-tree")), plan


def test_the_two_questions_written_by_hand_answer_as_the_orm_does(gauge):
    first = NOON - 180 * MINUTE
    Reading.objects.create(gauge=gauge, at=NOON + dt.timedelta(microseconds=1), level_m=9.0)
    Reading.objects.create(gauge=gauge, at=NOON - dt.timedelta(seconds=30, microseconds=5), level_m=0.7)
    plain = list(
        Reading.objects.filter(gauge=gauge, at__gte=first, at__lte=NOON)
        .order_by("at")
        .values_list("at", "level_m", "water_c", "trusted")
    )
    assert queries.levels_between(gauge.pk, first, NOON) == plain
    assert (len(plain), queries.newest_level(gauge.pk, NOON)) == (182, plain[-1])
    assert queries.newest_level(gauge.pk, NOON - dt.timedelta(days=30)) is None


@pytest.mark.parametrize(
    ("sql", "instants"), [(queries.NEWEST, [NOON]), (queries.BETWEEN, [NOON - 180 * MINUTE, NOON])]
)
def test_the_two_questions_written_by_hand_walk_one_index(gauge, sql, instants):
    explain = "EXPLAIN " if connection.vendor == "postgresql" else "EXPLAIN QUERY PLAN "
    with connection.cursor() as cursor:
        cursor.execute(explain + sql, [gauge.pk, *map(connection.ops.adapt_datetimefield_value, instants)])
        plan = str(cursor.fetchall()).lower()
    assert "index" in plan
    assert not any(word in plan for word in ("seq scan", "scan beats_reading", "sort", "temp b-tree")), plan
