"""Cancelling a let: its rods are free again, once."""

import datetime as dt

import pytest
from django.http import Http404

from beats.models import AuditEntry
from beats.shared.refusals import NotYours
from bookings.models import RodDay
from bookings.services.lets import cancel_let, let_rods
from tests.factories import NOON, BeatFactory, GuestFactory, keeper

pytestmark = pytest.mark.django_db

LATER = NOON - dt.timedelta(days=5)  # Friday, before the week begins


@pytest.fixture
def beat():
    return BeatFactory(rods=2)


def make(beat, **asked):
    days = {"first_on": dt.date(2026, 5, 4), "last_on": dt.date(2026, 5, 9), "rods": 2, "now": NOON}
    guest = GuestFactory(fishery=beat.fishery)
    let, _ = let_rods(beat, booker=guest, by=keeper(beat.fishery), **(days | asked))
    return let


def test_cancelling_frees_the_rods_of_this_let_alone(beat):
    gone, kept = make(beat, rods=1), make(beat, rods=1)
    cancelled = cancel_let(gone, by=keeper(beat.fishery), now=LATER)
    assert (cancelled.status, cancelled.cancelled_at) == ("cancelled", LATER)
    assert set(RodDay.objects.values_list("let", flat=True)) == {kept.pk}


def test_days_already_past_stay_in_the_book(beat):
    let = make(beat)
    cancel_let(let, by=keeper(beat.fishery), now=NOON)  # Wednesday
    assert set(let.rod_days.values_list("day", flat=True)) == {dt.date(2026, 5, 4), dt.date(2026, 5, 5)}


def test_freed_rods_can_be_let_again(beat):
    cancel_let(make(beat), by=keeper(beat.fishery), now=LATER)
    assert make(beat).rod_days.count() == 12


def test_a_second_cancelling_changes_nothing(beat):
    let, owner = make(beat), keeper(beat.fishery)
    cancel_let(let, by=owner, now=LATER)
    again = cancel_let(let, by=owner, now=LATER + dt.timedelta(days=1))
    assert again.cancelled_at == LATER
    assert AuditEntry.objects.filter(verb="cancel let").count() == 1


def test_the_audit_trail_says_how_many_rod_days_went(beat):
    let = make(beat)
    cancel_let(let, by=keeper(beat.fishery), now=LATER)
    entry = AuditEntry.objects.get(verb="cancel let")
    assert (entry.before, entry.subject) == ({"rod_days": 12}, f"bookings.let:{let.pk}")


def test_only_the_owner_cancels(beat):
    let = make(beat)
    with pytest.raises(NotYours):
        cancel_let(let, by=keeper(beat.fishery, "ghillie"), now=LATER)
    with pytest.raises(Http404):
        cancel_let(let, by=keeper(BeatFactory().fishery), now=LATER)
    assert RodDay.objects.filter(let=let).count() == 12
