"""From a missed deadline to the letter box: what really leaves the house."""

import datetime as dt

import pytest
from django.core import mail
from django.core.management import call_command

from safety.models import Alarm, Delivery
from safety.services.deliver import deliver
from safety.services.sweep import sweep
from tests.factories import NOON, BeatFactory, OutingFactory, PoolFactory, keeper

pytestmark = pytest.mark.django_db

DUE = NOON + dt.timedelta(hours=4)


def send(**outing):
    """Raise one alarm and send it; the e-mail as it was handed over."""
    beat = BeatFactory(name=outing.pop("beat_name", "Upper"), meeting_point="the hut")
    keeper(beat.fishery)
    OutingFactory(beat=beat, **outing)
    sweep(now=DUE)
    deliver(clock=lambda: DUE)
    (message,) = mail.outbox
    return message.message()


def test_a_line_break_in_a_name_cannot_split_the_subject():
    message = send(guest__name="Una\r\nBcc: everybody@example.org\u2028Teal")
    assert message["Subject"] == "OVERDUE: Una Bcc: everybody@example.org Teal, Upper, ALONE"
    assert message["Bcc"] is None


def test_a_line_break_in_a_beat_s_name_cannot_stop_the_alarm():
    message = send(beat_name="Upper\nwater", guest__name="Una Teal")
    assert message["Subject"] == "OVERDUE: Una Teal, Upper water, ALONE"


def test_a_name_as_long_as_the_book_allows_still_fits():
    send(guest__name="U" * 120, beat_name="B" * 120)
    assert mail.outbox[0].subject == "OVERDUE: " + "U" * 120 + ", " + "B" * 69


def test_the_pool_s_position_and_access_are_told_where_they_are_known():
    beat = BeatFactory(meeting_point="the hut")
    keeper(beat.fishery)
    pool = PoolFactory(beat=beat, name="Long Alder", latitude=57.62, longitude=-5.331, access="hut track")
    OutingFactory(beat=beat, pool=pool)
    OutingFactory(beat=beat)
    sweep(now=DUE)
    with_pool, without = Delivery.objects.filter(channel="log").order_by("alarm").values_list("body", flat=True)
    assert "Position: 57.62000, -5.33100 (latitude, longitude)\nWay in: hut track\n" in with_pool
    assert "Position: not recorded: tell them the beat and the access\nWay in: the hut\n" in without


@pytest.mark.django_db(transaction=True)
def test_one_round_of_the_watch_raises_and_sends(capsys):
    beat = BeatFactory()
    keeper(beat.fishery)
    OutingFactory(beat=beat)  # due back in May 2026: long past on any clock this runs by
    call_command("watch", "--once")
    assert capsys.readouterr().out == "raised 1, cleared 0, sent 2, failed 0\n"
    assert (Alarm.objects.count(), len(mail.outbox)) == (1, 1)
    call_command("watch", "--once")
    assert capsys.readouterr().out == ""
