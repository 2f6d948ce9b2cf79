"""A beat closed and opened again by page: what it does to rods out now and to the rota is told first."""

import datetime as dt
import re

import pytest
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import BeatClosure, Let
from tests.factories import (
    BeatClosureFactory,
    BeatFactory,
    LetFactory,
    OutingFactory,
    RodDayFactory,
    RotaFactory,
    TurnFactory,
    keeper,
)
from tests.pages import at

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
REASON = "the bridge is out"


@pytest.fixture
def today():
    return timezone.localdate(timezone=dt.UTC)


def typed(beat, first, last, **other):
    return {"key": "k", "beat": beat.pk, "from_on": first.isoformat(), "to_on": last.isoformat(), "reason": REASON,
            **other}  # fmt: skip


def looked_at(house, beat, form):
    answer = house.post(at("house-close-beat", beat), form)
    page = answer.content.decode()
    assert (answer.status_code, "Nothing is done yet" in page) == (200, True), page
    return page, form | {"seen": re.search(r'name="seen" value="(\w+)"', page)[1]}


def test_rods_out_now_and_the_rota_are_told_then_it_is_closed_once(house, beat, today):
    rota = RotaFactory(beat=beat, first_on=today - DAY * today.weekday(), status="published")
    part = TurnFactory(rota=rota, rod=1, day=today).part
    TurnFactory(rota=rota, rod=2, day=today, part=part)
    TurnFactory(rota=RotaFactory(beat=beat, first_on=rota.first_on, status="draft"), rod=3, day=today, part=part)
    OutingFactory(beat=beat)
    OutingFactory(beat=beat, checked_out_at=timezone.now())
    OutingFactory(beat=BeatFactory(fishery=beat.fishery))
    page, form = looked_at(house, beat, typed(beat, today, today + DAY))
    assert "The rota still sends rods there on 2 rod-days." in page
    assert "1 rod is on the water there now. Closing calls nobody in" in page
    assert f"Guests read why: {REASON}." in page
    assert not BeatClosure.objects.exists()
    for _ in range(2):
        assert house.post(at("house-close-beat", beat), form)["Location"] == at("house-closings", beat)
    closure = BeatClosure.objects.get()
    assert (closure.beat, closure.from_on, closure.to_on, closure.reason) == (beat, today, today + DAY, REASON)
    assert AuditEntry.objects.filter(verb="close beat").count() == 1
    told = house.get(at("house-closings", beat)).content.decode()
    assert beat.name in told
    assert "closed today" in told
    assert REASON in told


def test_days_to_come_say_nothing_of_who_is_out_today(house, beat, today):
    OutingFactory(beat=beat)
    page, _ = looked_at(house, beat, typed(beat, today + 7 * DAY, today + 8 * DAY))
    assert "No published rota sends anybody there on these days." in page
    assert "on the water there now" not in page


def test_nobody_out_is_told_too(house, beat, today):
    page, _ = looked_at(house, beat, typed(beat, today, today))
    assert "Nobody has checked in there who has not checked out." in page


def test_the_same_days_again_change_nothing(house, beat, today):
    BeatClosureFactory(beat=beat, from_on=today, to_on=today, reason="a tree is down")
    page, form = looked_at(house, beat, typed(beat, today, today))
    assert "already: a tree is down. Nothing changes." in page
    house.post(at("house-close-beat", beat), form)
    assert BeatClosure.objects.get().reason == "a tree is down"


def test_what_cannot_be_is_refused_at_the_first_press_and_stays_typed(house, beat, today):
    let = RodDayFactory(let=LetFactory(beat=beat), day=today + 3 * DAY).let
    wrong = [
        (typed(beat, today, today + 5 * DAY), f"(let {let.pk}). Move or cancel what is let on these days first."),
        (typed(beat, today + DAY, today), "This is before the first day. Swap them."),
        (typed(beat, today, today, reason="no"), "at least 3 characters"),
        (typed(BeatFactory(), today, today), "not one of the available"),
    ]
    for form, told in wrong:
        answer = house.post(at("house-close-beat", beat), form)
        page = answer.content.decode()
        assert (answer.status_code, told in page) == (422, True), told
        assert f'value="{form["reason"]}"' in page
    assert not BeatClosure.objects.exists()


def test_a_hold_that_has_run_out_is_in_nobodys_way(house, beat, today):
    held = LetFactory(beat=beat, status="held", expires_at=timezone.now() - DAY)
    RodDayFactory(let=held, day=today + DAY)
    _, form = looked_at(house, beat, typed(beat, today, today + DAY))
    assert house.post(at("house-close-beat", beat), form).status_code == 303
    assert Let.objects.get(pk=held.pk).status == "cancelled"


def test_a_beat_is_opened_again_when_asked_twice(house, beat, today):
    closure = BeatClosureFactory(beat=beat, from_on=today, to_on=today + DAY, reason=REASON)
    path = at("house-reopen-beat", beat, closure.pk)
    page = house.get(path).content.decode()
    assert f"Open {beat.name} again?" in page
    assert REASON in page
    assert BeatClosure.objects.exists()
    assert house.post(path, {"key": "k"})["Location"] == at("house-closings", beat)
    assert not BeatClosure.objects.exists()
    assert AuditEntry.objects.get(verb="reopen beat").before == {"reason": REASON}
    assert "No beat is closed, today or later." in house.get(at("house-closings", beat)).content.decode()


def test_closings_that_are_over_and_those_of_others_are_left_out(house, beat, today):
    BeatClosureFactory(beat=beat, from_on=today - 3 * DAY, to_on=today - 2 * DAY, reason="long over")
    BeatClosureFactory(from_on=today, to_on=today, reason="elsewhere shut")
    BeatClosureFactory(beat=beat, from_on=today + DAY, to_on=today + DAY, reason="to come")
    page = house.get(at("house-closings", beat)).content.decode()
    assert [told in page for told in ("long over", "elsewhere shut", "to come", "closed today")] == [
        False, False, True, False,
    ]  # fmt: skip


def test_it_is_the_owners(client, beat, today):
    closure = BeatClosureFactory(beat=beat, from_on=today, to_on=today)
    client.force_login(keeper(beat.fishery, "ghillie"))
    for path in (at("house-close-beat", beat), at("house-reopen-beat", beat, closure.pk)):
        assert client.post(path, typed(beat, today, today + DAY)).status_code == 403
    assert BeatClosure.objects.get() == closure
