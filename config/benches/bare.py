"""The least that Django can do: one query by hand, its rows as JSON. Nothing is asked of who is asking.

Only `bench_reads` serves these; they must say the very bytes of the API.
"""

import datetime as dt
import json
from typing import Any

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.utils import timezone

OUTINGS = """SELECT o.id, o.guest_id, g.name, o.beat_id, b.name, o.pool_id, p.name, o.alone, o.plan,
  o.sea_trout_only, o.checked_in_at, o.due_back_at, o.alarm_at, o.deadline_number, o.checked_out_at, o.heard_at,
  o.contact_due_at, o.code, o.party, o.unconfirmed, o.watched_by_time_only, o.watch_limits, o.meeting_person,
  o.meeting_at
FROM fishing_sessions_outing o JOIN bookings_guest g ON g.id = o.guest_id JOIN beats_beat b ON b.id = o.beat_id
LEFT JOIN beats_pool p ON p.id = o.pool_id ORDER BY o.id DESC LIMIT 100"""
OUTING = (
    "id", "guest", "guest_name", "beat", "beat_name", "pool", "pool_name", "alone", "plan", "sea_trout_only",
    "checked_in_at", "due_back_at", "alarm_at", "deadline_number", "checked_out_at", "heard_at", "contact_due_at",
    "code", "party", "unconfirmed", "watched_by_time_only", "watch_limits", "meeting_person", "meeting_at",
)  # fmt: skip
TURNS = """SELECT t.id, t.rota_id, t.day, a.slug, a.starts, a.ends, t.rod, t.guest_id, g.name, t.sharer_id,
  t.pool_id, p.name, NULL
FROM fishing_sessions_turn t JOIN beats_daypart a ON a.id = t.part_id
LEFT JOIN bookings_guest g ON g.id = t.guest_id JOIN beats_pool p ON p.id = t.pool_id
ORDER BY t.day, t.id LIMIT 100"""
TURN = (
    "id", "rota", "day", "part", "starts", "ends", "rod", "guest", "guest_name", "sharer", "pool", "pool_name",
    "conditions",
)  # fmt: skip
READINGS = """SELECT id, gauge_id, at, level_m, water_c, source, trusted FROM beats_reading
ORDER BY at DESC, id DESC LIMIT 100"""
READING = ("id", "gauge", "at", "level_m", "water_c", "source", "trusted")
INSTANTS = {
    "checked_in_at",
    "due_back_at",
    "alarm_at",
    "checked_out_at",
    "heard_at",
    "contact_due_at",
    "meeting_at",
    "at",
}
FLAGS = {"alone", "sea_trout_only", "unconfirmed", "watched_by_time_only", "trusted"}


def _plain(name: str, value: Any) -> Any:
    if value is None:
        return None
    if name in INSTANTS:
        at = value if value.tzinfo else value.replace(tzinfo=dt.UTC)  # SQLite's have none
        return at.astimezone(timezone.get_current_timezone()).isoformat().replace("+00:00", "Z")
    if name in FLAGS:
        return bool(value)
    if name == "watch_limits":
        return json.loads(value) if isinstance(value, str) else value
    return str(value) if isinstance(value, dt.date | dt.time) else value


def _said(sql: str, names: tuple[str, ...]) -> HttpResponse:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        rows = cursor.fetchall()
    results = [{name: _plain(name, value) for name, value in zip(names, row, strict=True)} for row in rows]
    body = {"next": None, "previous": None, "results": results}
    return HttpResponse(
        json.dumps(body, ensure_ascii=False, separators=(",", ":")), content_type="application/json"
    )


def outings(_request: HttpRequest) -> HttpResponse:
    return _said(OUTINGS, OUTING)


def turns(_request: HttpRequest) -> HttpResponse:
    return _said(TURNS, TURN)


def readings(_request: HttpRequest) -> HttpResponse:
    return _said(READINGS, READING)


urlpatterns = [path("outings/", outings), path("turns/", turns), path("readings/", readings)]
