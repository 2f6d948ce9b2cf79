"""Fetching the gauges: when, by whom, what is kept, and what happens when it does not come off.

The answers have the shapes of the published formats (see the readers' own tests); the levels are invented.
"""

import contextlib
import datetime as dt
import json

import pytest

from beats import tasks
from beats.models import AuditEntry, Gauge, Reading
from beats.outbound import OUT
from beats.services import polling
from beats.services.polling import EVERY, LONGEST_WAIT, Outcome, claim, due_gauges, poll, wait_after
from config.celery import app
from tests.factories import NOON, GaugeFactory, ReadingFactory

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)


def gauge_at(feed, kind="kiwis", **facts):
    return GaugeFactory(**{"feed_kind": kind, "feed_url": feed.url(), "feed_unit": "m"} | facts)


def series(*levels, first=NOON - dt.timedelta(minutes=30)):
    rows = [[(first + n * 15 * MINUTE).isoformat(), level] for n, level in enumerate(levels)]
    body = [{"ts_id": "1", "rows": str(len(rows)), "columns": "Timestamp,Value", "data": rows}]
    return json.dumps(body).encode()


def polled(gauge, feed, now=NOON):
    outcome = poll(gauge.pk, clock=lambda: now, door=feed.door())
    gauge.refresh_from_db()
    return outcome


def state(gauge):
    return (gauge.polled_at, gauge.next_poll_at, gauge.poll_failures, gauge.poll_fault, gauge.poll_notes)


def test_what_the_feed_says_is_kept_and_the_next_time_is_set(feed):
    gauge, feed.body, feed.headers = gauge_at(feed), series(0.6, None, 0.62), {"ETag": '"1"'}
    assert polled(gauge, feed) == Outcome(added=2)
    assert list(gauge.readings.order_by("at").values_list("at", "level_m", "source", "by")) == [
        (NOON - 30 * MINUTE, 0.6, "feed", None), (NOON, 0.62, "feed", None)
    ]  # fmt: skip
    assert state(gauge) == (NOON, NOON + EVERY, 0, None, "1 left out: no value")
    assert gauge.poll_etag == '"1"'


MEASURE = "https://l.example/id/measures/1-level-stage-i-15_min-m"
EA = {"@id": "…", "dateTime": "2026-05-06T11:00:00Z", "measure": MEASURE, "value": 0.6}
WML = """<w:MeasurementTimeseries xmlns:w="http://www.opengis.net/waterml/2.0"><w:point><w:MeasurementTVP>
<w:time>2026-05-06T12:00:00</w:time><w:value>60</w:value></w:MeasurementTVP></w:point></w:MeasurementTimeseries>"""


@pytest.mark.parametrize(
    ("kind", "body", "facts"),
    [
        ("environment-agency", json.dumps({"items": [EA]}), {"feed_unit": None}),
        ("kiwis", series(0.6, first=NOON).decode(), {}),
        ("waterml", WML, {"feed_unit": "cm", "feed_zone": "Europe/London"}),
    ],
)
def test_every_kind_of_feed_is_read_with_what_its_owner_declared(feed, kind, body, facts):
    gauge, feed.body = gauge_at(feed, kind, **facts), body.encode()
    assert polled(gauge, feed) == Outcome(added=1)
    assert list(Reading.objects.values_list("at", "level_m")) == [(NOON, 0.6)]


def test_a_gauge_is_asked_once_a_quarter_of_an_hour(feed):
    gauge, feed.body = gauge_at(feed), series(0.6)
    told = [polled(gauge, feed, NOON + minutes * MINUTE) for minutes in (0, 1, 14, 15)]
    assert told == [Outcome(added=1), None, None, Outcome(added=0)]
    assert len(feed.asked) == 2


def test_the_mark_of_the_last_answer_is_sent_and_nothing_new_keeps_it(feed):
    gauge, feed.body = gauge_at(feed), series(0.6, None)
    feed.headers = {"ETag": '"1"', "Last-Modified": "yesterday"}
    polled(gauge, feed)
    feed.status, feed.headers = 304, {}
    assert polled(gauge, feed, NOON + EVERY) == Outcome(added=0)
    sent = feed.asked[1][1]
    assert (sent["If-None-Match"], sent["If-Modified-Since"]) == ('"1"', "yesterday")
    assert (gauge.poll_etag, gauge.poll_modified) == ('"1"', "yesterday")
    assert state(gauge) == (NOON + EVERY, NOON + 2 * EVERY, 0, None, "1 left out: no value")


def test_readings_still_to_come_and_at_odds_are_left_out_and_told(feed):
    gauge, feed.body = gauge_at(feed), series(0.6, 0.7, 0.8, first=NOON)
    ReadingFactory(gauge=gauge, at=NOON, level_m=0.5)
    assert polled(gauge, feed, NOON + 15 * MINUTE) == Outcome(added=1)
    assert gauge.poll_notes == "1 left out: still to come; 1 at odds with the level that stands"
    assert sorted(Reading.objects.values_list("level_m", flat=True)) == [0.5, 0.7]


def test_a_feed_that_fails_is_left_alone_longer_each_time_and_forgiven_at_once(feed):
    gauge, feed.status, now, waits = gauge_at(feed, poll_etag='"1"'), 500, NOON, []
    for failures in range(1, 4):
        assert polled(gauge, feed, now) == Outcome(fault="The server answered 500.")
        assert state(gauge)[2:4] == (failures, "The server answered 500.")
        waits.append(gauge.next_poll_at - now)
        now = gauge.next_poll_at
    assert waits == [2 * MINUTE, 4 * MINUTE, 8 * MINUTE]
    assert gauge.poll_etag == '"1"'
    feed.status, feed.body = 200, series(0.6)
    assert polled(gauge, feed, now) == Outcome(added=1)
    assert state(gauge) == (now, now + EVERY, 0, None, None)


@pytest.mark.parametrize("failures", [9, 50, 10_000])
def test_the_wait_is_never_longer_than_six_hours(failures):
    assert wait_after(failures) == LONGEST_WAIT == dt.timedelta(hours=6)


@pytest.mark.parametrize(("asked", "wait"), [("3600", 60 * MINUTE), ("30", 2 * MINUTE), ("9999999", LONGEST_WAIT)])
def test_a_server_that_asks_to_be_left_alone_is(feed, asked, wait):
    gauge, feed.status, feed.headers = gauge_at(feed), 429, {"Retry-After": asked}
    polled(gauge, feed)
    assert gauge.next_poll_at == NOON + wait


def test_an_answer_that_cannot_be_read_keeps_no_mark_so_that_it_comes_again(feed):
    gauge, feed.body, feed.headers = gauge_at(feed), b"<html>sorry</html>", {"ETag": '"2"'}
    assert polled(gauge, feed).fault.startswith("The answer is not JSON.")
    assert (gauge.poll_etag, gauge.poll_failures) == (None, 1)


def test_a_feed_whose_unit_nobody_states_is_told_to_the_keeper(feed):
    gauge, feed.body = gauge_at(feed, feed_unit=None), series(0.6)
    assert (
        polled(gauge, feed).fault == "The answer states no unit. Ask for it, or give feed_unit: m, cm, mm or ft."
    )
    assert Reading.objects.count() == 0


def test_a_fault_of_ours_is_a_failure_like_another_and_stops_nobody(feed, monkeypatch):
    gauge, feed.body = gauge_at(feed), series(0.6)
    monkeypatch.setitem(polling.READERS, Gauge.Feed.KIWIS, lambda *_args, **_kwargs: 1 // 0)
    assert polled(gauge, feed) == Outcome(fault="A fault of ours: ZeroDivisionError.")
    assert gauge.next_poll_at == NOON + 2 * MINUTE


def test_by_itself_the_service_never_fetches_from_inside(feed):
    gauge = gauge_at(feed, feed_url=feed.url(host="localhost"))
    assert "does not lie on the open net" in poll(gauge.pk, clock=lambda: NOON).fault
    assert poll.__kwdefaults__ == {"door": OUT}
    assert feed.asked == []


def test_the_longest_waiting_come_first_and_gauges_without_a_feed_never(feed):
    GaugeFactory()
    later, earlier, never_yet, _not_yet = (
        gauge_at(feed, next_poll_at=at) for at in (NOON, NOON - MINUTE, None, NOON + MINUTE)
    )
    assert set(due_gauges(NOON)) == {later, earlier, never_yet}
    ordered = [gauge for gauge in due_gauges(NOON) if gauge != never_yet]
    assert ordered == [earlier, later]


def test_a_gauge_that_is_taken_is_free_again_when_whoever_took_it_is_gone(feed):
    gauge = gauge_at(feed)
    assert claim(gauge.pk, now=NOON) == gauge
    assert claim(gauge.pk, now=NOON + polling.CLAIM - MINUTE) is None
    assert claim(gauge.pk, now=NOON + polling.CLAIM) == gauge


def test_an_answer_that_comes_after_the_gauge_was_given_another_feed_is_dropped(feed):
    gauge = gauge_at(feed)
    taken = claim(gauge.pk, now=NOON)
    feed.body = series(0.6)
    fetched = polling.fetch(taken.feed_url, door=feed.door())
    Gauge.objects.filter(pk=gauge.pk).update(feed_url="https://other.example/", **polling.UNPOLLED)
    assert polling._came(taken, fetched, polling._read(taken, fetched.body), now=NOON) is None
    assert polling._failed(taken, "late", retry_after_s=0, now=NOON) is None
    gauge.refresh_from_db()
    assert (Reading.objects.count(), state(gauge)) == (0, (None, None, 0, None, None))


def test_a_feed_with_nothing_new_leaves_no_audit_row(feed):
    gauge, feed.body = gauge_at(feed), series(0.6)
    for hour in range(3):
        polled(gauge, feed, NOON + dt.timedelta(hours=hour))
    assert (len(feed.asked), AuditEntry.objects.count()) == (3, 1)


def waiting_messages(queue):
    with contextlib.suppress(queue.Empty):
        while True:
            message = queue.get(block=False)
            message.ack()
            yield message.headers["task"], message.payload[1]


def test_the_scheduled_task_sends_one_message_for_each_gauge_that_is_due(feed):
    due = [gauge_at(feed), gauge_at(feed)]
    gauge_at(feed, next_poll_at=dt.datetime(2200, 1, 1, tzinfo=dt.UTC))
    with app.connection_for_read() as broker, broker.SimpleQueue(app.conf.task_default_queue) as queue:
        queue.clear()
        tasks.poll_gauges(of_a_later_version=1)
        sent = list(waiting_messages(queue))
    assert sent == [("beats.poll_gauge", {"gauge": gauge.pk}) for gauge in due]


def test_the_gauges_own_task_does_all_of_it_through_the_real_door(feed):
    gauge = gauge_at(feed, feed_url=feed.url(host="localhost"))
    tasks.poll_gauge(gauge=gauge.pk, of_a_later_version=1)
    gauge.refresh_from_db()
    assert (gauge.poll_failures, "open net" in gauge.poll_fault, feed.asked) == (1, True, [])
