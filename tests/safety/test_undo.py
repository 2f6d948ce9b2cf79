"""A check-out undone within two minutes: the outing as it was, its alarms again, the all-clear withdrawn."""

import datetime as dt

import pytest
from django.http import Http404

from beats.models import AuditEntry
from safety.models import Alarm, Delivery
from safety.services.answering import ask_for_help
from safety.services.calling import call_in
from safety.services.sweep import sweep
from sessions.models import OutingEntry
from sessions.services.by_phone import Said
from sessions.services.entries import BadReport, Report
from sessions.services.outings import AlreadyOut, check_in, check_out
from sessions.services.undo import TooLateToUndo, undo_by_phone, undo_check_out
from tests.factories import NOON, BeatFactory, GuestFactory, client_of, guest_with_account, keeper

pytestmark = pytest.mark.django_db
HOUR, MINUTE, SECOND = dt.timedelta(hours=1), dt.timedelta(minutes=1), dt.timedelta(seconds=1)
DUE = NOON + 4 * HOUR
KEPT = (
    "checked_out_at", "due_back_at", "alarm_at", "warn_at", "contact_due_at", "contact_number", "checked_in_at",
    "deadline_number", "code",
)  # fmt: skip


@pytest.fixture
def beat():
    return BeatFactory(contact_minutes=0, warn_minutes=0)


@pytest.fixture
def guest(beat):
    keeper(beat.fishery)
    return guest_with_account(beat.fishery, phone="+441632960110", emergency_contact_phone="+441632960111")


@pytest.fixture
def out(guest, beat):
    sweep(now=NOON)
    return check_in(guest, beat=beat, pool=None, alone=True, due_back_at=DUE, by=guest.user, now=NOON)[0]


def values(outing):
    outing.refresh_from_db()
    return {name: getattr(outing, name) for name in KEPT}


def left(**asked):
    return sorted(Delivery.objects.filter(**asked).exclude(channel="log").values_list("recipient", flat=True))


def test_the_same_outing_with_its_deadlines_as_they_were(out, guest):
    before = values(out)
    check_out(out, by=guest.user, now=NOON + HOUR)
    undo_check_out(out, by=guest.user, now=NOON + HOUR + 2 * MINUTE)
    assert values(out) == before
    assert out.heard_at == NOON + HOUR + 2 * MINUTE
    assert [row.act for row in OutingEntry.objects.order_by("id")] == ["check_out", "undo"]
    audit = AuditEntry.objects.get(verb="undo check out")
    assert (audit.by, audit.before["checked_out_at"]) == (guest.user, str(NOON + HOUR))


def test_after_two_minutes_it_is_refused_with_what_to_do(out, guest):
    check_out(out, by=guest.user, now=NOON + HOUR)
    with pytest.raises(TooLateToUndo, match="Check in again"):
        undo_check_out(out, by=guest.user, now=NOON + HOUR + 2 * MINUTE + SECOND)
    out.refresh_from_db()
    assert out.checked_out_at == NOON + HOUR


def test_a_second_undo_and_one_of_an_open_outing_change_nothing(out, guest):
    undo_check_out(out, by=guest.user, now=NOON + HOUR)
    check_out(out, by=guest.user, now=NOON + HOUR)
    for _ in range(2):
        undo_check_out(out, by=guest.user, now=NOON + HOUR + MINUTE)
    assert AuditEntry.objects.filter(verb="undo check out").count() == 1


def test_entered_in_time_but_received_late_it_is_taken(out, guest):
    """A phone lost its signal after the check-out was received: refusing would leave the angler unwatched."""
    check_out(out, by=guest.user, now=NOON + HOUR)
    said = Said("undo-1", None, age_s=1800)
    now = NOON + HOUR + 31 * MINUTE
    undo_by_phone(guest, said, outing=out, by=guest.user, now=now)
    out.refresh_from_db()
    assert out.checked_out_at is None
    check_out(out, by=guest.user, now=now)
    undo_by_phone(guest, said, outing=out, by=guest.user, now=now)  # the phone sends the same entry again
    out.refresh_from_db()
    assert out.checked_out_at == now


def test_whoever_checked_in_again_keeps_that_outing(out, guest, beat):
    check_out(out, by=guest.user, now=NOON + HOUR)
    check_in(guest, beat=beat, pool=None, alone=False, due_back_at=DUE, by=guest.user, now=NOON + HOUR + SECOND)
    with pytest.raises(AlreadyOut, match="checked in again"):
        undo_check_out(out, by=guest.user, now=NOON + HOUR + MINUTE)


def test_a_strangers_outing_is_not_there(out, guest):
    check_out(out, by=guest.user, now=NOON + HOUR)
    for stranger in (guest_with_account(out.beat.fishery).user, keeper(BeatFactory().fishery)):
        with pytest.raises(Http404):
            undo_check_out(out, by=stranger, now=NOON + HOUR)


def test_a_keepers_undo_is_no_word_of_the_angler(out, guest):
    ghillie = keeper(out.beat.fishery, "ghillie")
    check_out(out, by=ghillie, now=NOON + HOUR)
    undo_check_out(out, by=ghillie, now=NOON + HOUR + MINUTE)
    out.refresh_from_db()
    assert out.heard_at == NOON


def test_a_deadline_that_passed_meanwhile_is_overdue_at_once(out, guest):
    check_out(out, by=guest.user, now=DUE - SECOND)
    sweep(now=DUE + SECOND)
    assert not Alarm.objects.exists()
    undo_check_out(out, by=guest.user, now=DUE + MINUTE)
    assert sweep(now=DUE + MINUTE).raised == 1


def test_an_overdue_alarm_that_was_cleared_is_raised_again_and_the_all_clear_withdrawn(out, guest):
    sweep(now=DUE)
    told = left(about="overdue")
    check_out(out, by=guest.user, now=DUE + MINUTE)
    sweep(now=DUE + MINUTE + SECOND)
    Delivery.objects.filter(about="all_clear").update(state="sent")
    undo_check_out(out, by=guest.user, now=DUE + 2 * MINUTE)
    assert left(about="resumed") == told != []
    again = Delivery.objects.filter(about="resumed").first()
    assert again.subject.startswith("ON THE WATER AGAIN")
    assert sweep(now=DUE + 2 * MINUTE + SECOND).raised == 1
    assert Alarm.objects.filter(cleared_at=None).count() == 1
    check_out(out, by=guest.user, now=DUE + 3 * MINUTE)
    sweep(now=DUE + 3 * MINUTE)
    assert left(about="all_clear", alarm=Alarm.objects.latest("id")) == told


def test_an_all_clear_that_has_not_left_does_not_leave(out, guest):
    sweep(now=DUE)
    check_out(out, by=guest.user, now=DUE + MINUTE)
    sweep(now=DUE + MINUTE)
    undo_check_out(out, by=guest.user, now=DUE + 2 * MINUTE)
    assert set(Delivery.objects.filter(about="all_clear").values_list("state", flat=True)) == {"not_needed"}
    assert left(about="resumed") == []


def test_an_alarm_not_yet_cleared_simply_goes_on(out, guest):
    sweep(now=DUE)
    check_out(out, by=guest.user, now=DUE + MINUTE)
    undo_check_out(out, by=guest.user, now=DUE + MINUTE + SECOND)
    assert sweep(now=DUE + 2 * MINUTE).cleared == 0
    assert (Alarm.objects.count(), Alarm.objects.filter(cleared_at=None).count()) == (1, 1)


def test_a_sweep_that_began_before_the_check_out_and_cleared_after_it_is_seen(out, guest):
    sweep(now=DUE)
    check_out(out, by=guest.user, now=DUE + MINUTE + SECOND)
    sweep(now=DUE + MINUTE)  # its instant lies before the check-out
    undo_check_out(out, by=guest.user, now=DUE + 2 * MINUTE)
    assert sweep(now=DUE + 2 * MINUTE).raised == 1


def test_a_call_for_help_is_raised_again_at_once(out, guest):
    ask_for_help(out, by=guest.user, now=NOON + HOUR)
    check_out(out, by=guest.user, now=NOON + HOUR + MINUTE)
    Alarm.objects.update(cleared_at=NOON + HOUR + MINUTE)  # as a sweep or a keeper may
    undo_check_out(out, by=guest.user, now=NOON + HOUR + 2 * MINUTE)
    assert Alarm.objects.filter(kind="help", cleared_at=None).count() == 1


def test_a_recall_nobody_answered_is_raised_again(out, guest, beat):
    recall, _ = call_in(beat, reason="The river is rising", by=keeper(beat.fishery), now=NOON + MINUTE)
    sweep(now=NOON + HOUR)
    assert Alarm.objects.get().kind == "recall"
    check_out(out, by=guest.user, now=NOON + HOUR + MINUTE)
    sweep(now=NOON + HOUR + MINUTE)
    undo_check_out(out, by=guest.user, now=NOON + HOUR + 2 * MINUTE)
    assert sweep(now=NOON + HOUR + 2 * MINUTE).raised == 1
    assert recall.calls.get().number == 2


def test_a_missed_contact_is_asked_for_again(guest, beat):
    beat.contact_minutes = 60
    beat.save()
    sweep(now=NOON)
    out = check_in(guest, beat=beat, pool=None, alone=True, due_back_at=DUE, by=guest.user, now=NOON)[0]
    sweep(now=NOON + HOUR)
    check_out(out, by=guest.user, now=NOON + HOUR + MINUTE)
    sweep(now=NOON + HOUR + MINUTE)
    undo_check_out(out, by=guest.user, now=NOON + HOUR + 2 * MINUTE)
    assert sweep(now=NOON + HOUR + 2 * MINUTE).raised == 1


# --- On somebody's report ----------------------------------------------------------------------


def test_a_keeper_records_who_told_them(out, guest, beat):
    ghillie = keeper(beat.fishery, "ghillie")
    check_out(out, by=ghillie, now=NOON + HOUR, report=Report("Mrs Holm", "telephone"))
    entry = OutingEntry.objects.get()
    assert (entry.by, entry.by_name, entry.reported_by, entry.reported_via) == (
        ghillie, str(ghillie), "Mrs Holm", "telephone",
    )  # fmt: skip
    assert AuditEntry.objects.get(verb="check out").after["reported_by"] == "Mrs Holm"


@pytest.mark.parametrize("report", [Report("", "telephone"), Report("Mrs Holm", "")])
def test_half_a_report_is_refused_and_nobody_is_checked_out(out, guest, beat, report):
    with pytest.raises(BadReport):
        check_out(out, by=keeper(beat.fishery, "ghillie"), now=NOON + HOUR, report=report)
    out.refresh_from_db()
    assert out.checked_out_at is None


def test_an_angler_enters_nobody_elses_report(out, guest):
    with pytest.raises(BadReport):
        check_out(out, by=guest.user, now=NOON + HOUR, report=Report("Mrs Holm", "telephone"))


def test_the_api_records_the_same_and_undoes(beat):
    guest, owner = GuestFactory(fishery=beat.fishery), keeper(beat.fishery)
    api, report = client_of(owner), {"reported_by": "Mrs Holm", "reported_via": "telephone"}
    from django.utils import timezone  # noqa: PLC0415

    due = timezone.now() + 2 * HOUR
    asked = {"guest": guest.pk, "beat": beat.pk, "alone": False, "due_back_at": due.isoformat()}
    made = api.post("/api/v1/outings/", asked | report, format="json")
    assert made.status_code == 201, made.json()
    at = f"/api/v1/outings/{made.json()['id']}/"
    later = {"due_back_at": (due + HOUR).isoformat()}
    assert api.post(f"{at}time-back/", later | report, format="json").status_code == 200
    assert api.post(f"{at}more-time/", {"minutes": 10} | report, format="json").status_code == 200
    assert api.post(f"{at}check-out/", report, format="json").json()["checked_out_at"]
    assert api.post(f"{at}undo-check-out/").json()["checked_out_at"] is None
    assert api.post(f"{at}undo-check-out/").status_code == 200
    assert api.post(f"{at}check-out/").status_code == 200  # no body, as before
    acts = list(OutingEntry.objects.order_by("id").values_list("act", "reported_by"))
    assert acts == [("check_in", "Mrs Holm"), ("more_time", "Mrs Holm"), ("more_time", "Mrs Holm"),
                    ("check_out", "Mrs Holm"), ("undo", ""), ("check_out", "")]  # fmt: skip
    board = api.get(f"/api/v1/fisheries/{beat.fishery.slug}/board/").json()
    assert board["off"][0]["outing"] == made.json()["id"]
