"""Outings across the change of the clocks: instants stay right, words are local.

British Summer Time in 2026 runs from 01:00 UTC on 29 March to 01:00 UTC on 25 October (Summer Time
Act 1972: the last Sundays of March and October; the dates follow by calendar).
"""

import datetime as dt

import pytest

from sessions.models import Outing
from sessions.services.outings import check_in
from sessions.telling import told_at_check_in
from tests.factories import BeatFactory, client_of, guest_with_account

pytestmark = pytest.mark.django_db


def utc(month, day, hour, minute=0):
    return dt.datetime(2026, month, day, hour, minute, tzinfo=dt.UTC)


def go_out(*, now, due_back_at):
    beat = BeatFactory(lone_grace_minutes=30)
    guest = guest_with_account(beat.fishery)
    outing, _ = check_in(
        guest, beat=beat, pool=None, alone=True, due_back_at=due_back_at, by=guest.user, now=now
    )  # fmt: skip
    return outing


@pytest.mark.parametrize(
    ("now", "local_due", "due", "alarm", "words"),
    [
        # The clock springs from 01:00 to 02:00: out at 00:30, back by 02:15 is 45 minutes.
        (utc(3, 29, 0, 30), "2026-03-29T02:15:00+01:00", utc(3, 29, 1, 15), utc(3, 29, 1, 45), "02:15" ),
        # The hour from 01:00 to 02:00 comes twice: the first 01:45, then the second.
        (utc(10, 25, 0, 15), "2026-10-25T01:45:00+01:00", utc(10, 25, 0, 45), utc(10, 25, 1, 15), "01:45"),
        (utc(10, 25, 0, 15), "2026-10-25T01:45:00+00:00", utc(10, 25, 1, 45), utc(10, 25, 2, 15), "01:45"),
    ],
)  # fmt: skip
def test_due_back_is_an_instant_whatever_the_clocks_do(now, local_due, due, alarm, words):
    go_out(now=now, due_back_at=dt.datetime.fromisoformat(local_due))
    outing = Outing.objects.get()
    assert (outing.due_back_at, outing.alarm_at) == (due, alarm)
    assert told_at_check_in(outing, now=now)[0].startswith(f"Off the water by {words} on Sunday.")


def test_the_alarm_of_the_long_night_is_told_in_local_time():
    now = utc(10, 25, 0, 15)
    outing = go_out(now=now, due_back_at=utc(10, 25, 0, 45))
    assert told_at_check_in(outing, now=now)[0] == (
        "Off the water by 01:45 on Sunday. If nothing is heard by 01:15, the keepers are told."
    )


def test_on_the_wire_the_two_quarters_to_two_differ():
    outing = go_out(now=utc(10, 25, 0, 15), due_back_at=utc(10, 25, 0, 45))
    Outing.objects.filter(pk=outing.pk).update(alarm_at=utc(10, 25, 1, 45))
    body = client_of(outing.guest.user).get(f"/api/v1/outings/{outing.pk}/").json()
    assert body["due_back_at"] == "2026-10-25T01:45:00+01:00"
    assert body["alarm_at"] == "2026-10-25T01:45:00Z"
