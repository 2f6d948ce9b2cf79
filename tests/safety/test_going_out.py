"""Before somebody goes out alone: is the watch running, is anybody on duty, and what is promised?"""

import datetime as dt

import pytest

from beats.models import AuditEntry
from safety.guards import NotWatched
from safety.models import Alarm, Delivery, Pulse
from safety.services.pulse import beat_pulse
from safety.services.sweep import Swept, sweep
from sessions.deadlines import BadDueBack
from sessions.models import Outing
from sessions.services.outings import AlreadyOut, check_in, check_out, extend_by, say_fine
from sessions.services.plans import AlreadyPlanned, call_off, plan_outing
from sessions.telling import told_at_check_in
from tests.factories import NOON, BeatFactory, DutyFactory, PlanFactory, guest_with_account, keeper

pytestmark = pytest.mark.django_db

HOUR, MINUTE, SECOND = dt.timedelta(hours=1), dt.timedelta(minutes=1), dt.timedelta(seconds=1)
DUE = NOON + 4 * HOUR


@pytest.fixture
def guest(beat):
    keeper(beat.fishery)
    return guest_with_account(beat.fishery, phone="+447700900111")


@pytest.fixture
def watched():
    beat_pulse("sweep", now=NOON)


def go_out(guest, beat, **asked):
    facts = {"pool": None, "alone": True, "due_back_at": DUE, "by": guest.user, "now": NOON}
    return check_in(guest, beat=beat, **(facts | asked))[0]


def test_with_the_watch_running_and_a_keeper_by_a_lone_angler_goes_out(guest, beat, watched):
    outing = go_out(guest, beat, vehicle="grey van", wearing="life jacket, staff", party=3)
    assert (outing.warn_at, outing.contact_due_at, outing.party) == (DUE - 10 * MINUTE, NOON + 2 * HOUR, 1)
    assert outing.code.isdigit()
    assert len(outing.code) == 4


@pytest.mark.parametrize("age", [None, 61 * SECOND, -61 * SECOND])
def test_with_a_stale_watch_or_one_from_the_future_nobody_goes_out_alone(guest, beat, age):
    if age is not None:
        beat_pulse("sweep", now=NOON - age)
    with pytest.raises(NotWatched, match="Do not go on the water alone"):
        go_out(guest, beat)
    assert Outing.objects.count() == 0
    assert go_out(guest, beat, alone=False).contact_due_at is None


def test_where_the_policy_says_so_a_keeper_may_be_the_witness(guest, beat):
    beat.watch_policy = {"when_stale": "witness"}
    beat.save()
    with pytest.raises(NotWatched, match="a keeper must check you in"):
        go_out(guest, beat)
    assert go_out(guest, beat, by=keeper(beat.fishery, "ghillie")).alone


def test_without_anybody_on_duty_nobody_goes_out_alone(guest, beat, watched):
    DutyFactory(fishery=beat.fishery, user=keeper(beat.fishery), from_at=NOON - 9 * HOUR, until_at=NOON)
    with pytest.raises(NotWatched, match="Nobody is on duty"):
        go_out(guest, beat)
    DutyFactory(fishery=beat.fishery, user=keeper(beat.fishery), from_at=NOON, until_at=NOON + HOUR)
    assert go_out(guest, beat).alone


def test_a_water_without_keepers_lets_nobody_out_alone(watched):
    beat = BeatFactory()
    with pytest.raises(NotWatched, match="Nobody is on duty"):
        go_out(guest_with_account(beat.fishery), beat)


def test_an_emergency_contact_who_is_the_angler_will_not_do(guest, beat, watched):
    guest.emergency_contact_phone = guest.phone
    guest.save()
    with pytest.raises(NotWatched, match="your own number"):
        go_out(guest, beat)


def test_what_happens_is_told_in_plain_words_at_check_in(guest, beat, watched):
    beat.watch_policy = None
    beat.save()
    outing = go_out(guest, beat)
    told = told_at_check_in(outing, now=NOON)
    assert told[2].startswith(
        "If we have not heard from you by 16:00 we write to you and the keepers, then at 16:10"
    )
    assert f"By text: OUT {outing.code} when you are out, LATE 30 {outing.code} for more time, or HELP." in told
    assert any(text.startswith("You are alone: say that all is well by 14:00") for text in told)
    Pulse.objects.all().delete()
    assert any("Nobody is being watched" in text for text in told_at_check_in(outing, now=NOON))


def test_nobody_is_told_to_say_that_all_is_well_after_their_time_back(guest, beat, watched):
    """Contact every two hours: with the time back before it, the time back is the next word expected."""
    outing = go_out(guest, beat, due_back_at=NOON + 2 * HOUR)
    assert outing.well_by is None
    assert not any("all is well" in text for text in told_at_check_in(outing, now=NOON))
    extended = extend_by(outing, minutes=30, by=guest.user, now=NOON + MINUTE)
    assert extended.well_by == NOON + 2 * HOUR + MINUTE < extended.due_back_at
    assert say_fine(extended, by=guest.user, now=NOON + HOUR).well_by is None
    assert sweep(now=NOON + 3 * HOUR).raised == 2  # the watch still asks after both


def test_before_due_the_angler_is_reminded_once_a_deadline(guest, beat, watched):
    beat.contact_minutes = 0
    outing = go_out(guest, beat)
    for minutes in (-11, -10, -9, -5):
        sweep(now=DUE + minutes * MINUTE)
    assert Delivery.objects.filter(about="reminder").values_list("recipient", "written_at").get() == (
        guest.email, DUE - 10 * MINUTE,
    )  # fmt: skip
    extended = extend_by(outing, minutes=30, by=guest.user, now=DUE - 4 * MINUTE)
    assert (extended.due_back_at, extended.deadline_number) == (DUE + 30 * MINUTE, 2)
    assert sweep(now=DUE + 20 * MINUTE) == Swept(0, 0, 0)
    assert Delivery.objects.filter(about="reminder").count() == 2


def test_a_reminder_that_is_too_late_leaves_it_to_the_alarm(guest, beat, watched):
    go_out(guest, beat)
    sweep(now=DUE + MINUTE)
    assert (Delivery.objects.filter(about="reminder").count(), Alarm.objects.count()) == (0, 2)


# --- Plans ---


def plan(guest, beat, **asked):
    facts = {
        "pool": None,
        "alone": True,
        "out_at": NOON,
        "due_back_at": DUE,
        "by": guest.user,
        "now": NOON - 12 * HOUR,
    }
    return plan_outing(guest, beat=beat, **(facts | asked))[0]


def test_a_plan_begins_by_itself_and_is_watched_though_no_check_in_came(guest, beat):
    planned = plan(guest, beat)
    assert [sweep(now=now).raised for now in (NOON - SECOND, NOON, DUE - 3 * HOUR, DUE)] == [0, 0, 0, 2]
    planned.refresh_from_db()
    assert (planned.outing.unconfirmed, planned.outing.checked_in_at) == (True, NOON)
    assert set(Alarm.objects.values_list("kind", flat=True)) == {"contact", "overdue"}


def test_after_an_outage_over_its_whole_length_a_plan_still_raises(guest, beat):
    plan(guest, beat)
    assert sweep(now=DUE + 9 * HOUR).raised == 2


def test_a_plan_called_off_raises_nothing(guest, beat):
    planned = plan(guest, beat)
    assert call_off(planned, by=guest.user, now=NOON - HOUR) == call_off(planned, by=guest.user, now=NOON)
    assert sweep(now=DUE) == Swept(0, 0, 0)
    assert AuditEntry.objects.filter(verb="call off plan").count() == 1


def test_a_check_in_confirms_what_its_plan_began(guest, beat):
    plan(guest, beat)
    sweep(now=NOON)
    outing = go_out(guest, beat, now=NOON + 30 * SECOND, due_back_at=DUE - HOUR, vehicle="grey van")
    assert Outing.objects.get() == outing
    assert (outing.unconfirmed, outing.due_back_at, outing.deadline_number, outing.vehicle) == (
        False,
        DUE - HOUR,
        2,
        "grey van",
    )
    with pytest.raises(AlreadyOut):
        go_out(guest, beat, now=NOON + 40 * SECOND)


def test_a_check_in_before_the_plan_begins_takes_its_place(guest, beat, watched):
    plan(guest, beat, out_at=NOON + 10 * MINUTE)
    outing = go_out(guest, beat)
    sweep(now=NOON + HOUR)
    assert Outing.objects.get() == outing


def test_a_check_out_before_its_check_in_arrives_leaves_nobody_out(guest, beat):
    """The phone lost its signal: back by plan first, then the queued check-in comes."""
    planned = plan(guest, beat)
    sweep(now=NOON)
    call_off(planned, by=guest.user, now=NOON + HOUR)
    late = go_out(guest, beat, now=NOON + 2 * HOUR, said_at=NOON + MINUTE)
    assert late.checked_out_at == NOON + HOUR
    assert sweep(now=DUE + HOUR) == Swept(0, 0, 0)


def test_said_at_moves_no_deadline_and_opens_no_back_door(guest, beat, watched):
    check_out(go_out(guest, beat), by=guest.user, now=NOON + SECOND)
    again = go_out(guest, beat, now=NOON + 2 * SECOND, said_at=NOON + 2 * SECOND)
    assert (again.checked_out_at, again.checked_in_at) == (None, NOON + 2 * SECOND)


@pytest.mark.parametrize(
    ("out_at", "due"),
    [
        (NOON - 13 * HOUR, DUE),
        (NOON + 15 * 24 * HOUR, NOON + 16 * 24 * HOUR),
        (NOON, NOON),
        (NOON, NOON + 11 * HOUR),
    ],
)
def test_a_plan_nobody_can_keep_is_refused(guest, beat, out_at, due):
    with pytest.raises(BadDueBack):
        plan(guest, beat, out_at=out_at, due_back_at=due)


def test_two_plans_for_one_instant_are_one_too_many(guest, beat):
    plan(guest, beat)
    with pytest.raises(AlreadyPlanned):
        plan(guest, beat)


def test_a_plan_of_somebody_who_is_out_already_is_done_with(guest, beat, watched):
    outing = go_out(guest, beat, now=NOON - HOUR + HOUR)
    late = PlanFactory(beat=beat, guest=guest, out_at=NOON + HOUR)
    sweep(now=NOON + HOUR)
    late.refresh_from_db()
    assert (late.outing, late.called_off_at, Outing.objects.get()) == (None, NOON + HOUR, outing)
