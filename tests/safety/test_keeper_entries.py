"""A keeper checks guests in and out and gives more time, from tally and alarm, and on behalf of a caller."""

import datetime as dt

import pytest
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import Guest
from safety.models import Alarm, Pulse
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.models import Outing, OutingEntry
from tests.factories import AlarmFactory, BeatFactory, GuestFactory, OutingFactory, PoolFactory, keeper
from tests.pages import text

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)
RANG = {"reported_via": "telephone", "reported_by": "Mrs Holm at the lodge"}


@pytest.fixture
def ghillie(beat):
    beat_pulse("sweep", now=timezone.now())
    return keeper(beat.fishery, "ghillie")


@pytest.fixture
def at(beat, client, ghillie):
    client.force_login(ghillie)
    return lambda path="": f"/at/{beat.fishery.slug}/{path}"


@pytest.fixture
def out(beat):
    now = timezone.now()
    guest = GuestFactory(fishery=beat.fishery, name="Una Late", phone="+447700900123")
    facts = {"checked_in_at": now - 3 * HOUR, "due_back_at": now + HOUR, "alarm_at": now + HOUR, "heard_at": now}
    return OutingFactory(beat=beat, guest=guest, pool=PoolFactory(beat=beat), **facts)


def entered(beat, **facts):
    soon = (timezone.now() + 2 * HOUR).astimezone()
    return {"key": "k1", "where": f"beat {beat.pk}", "alone": "yes", "off_by": f"{soon:%H:%M}"} | facts


def test_the_tally_leads_to_all_three_for_each_rod(client, at, out):
    page = text(client.get(at()))
    assert at("check-in/") in page
    assert at(f"outings/{out.pk}/") in page
    page = text(client.get(at(f"outings/{out.pk}/")))
    for path in (f"outings/{out.pk}/off/", f"outings/{out.pk}/more-time/"):
        assert f'action="{at(path)}"' in page
    assert "Grid reference" in page


def test_whoever_must_be_looked_for_comes_before_everything_else(client, at, out):
    AlarmFactory(outing=out)
    Pulse.objects.all().delete()
    page = text(client.get(at()))
    assert page.count("Look and answer") == 1
    places = [page.index(words) for words in ("Call rods in", "Look and answer", "The watch is not as it should be")]
    assert places == sorted(places)


def test_the_alarm_page_has_them_too(client, at, out):
    alarm = AlarmFactory(outing=out)
    page = text(client.get(at(f"alarms/{alarm.pk}/")))
    for path in (f"outings/{out.pk}/off/", f"outings/{out.pk}/more-time/"):
        assert f'action="{at(path)}"' in page


def test_off_the_water_on_a_callers_word_is_recorded_and_shown(client, at, out, ghillie):
    answer = client.post(at(f"outings/{out.pk}/off/"), {"key": "k1"} | RANG)
    assert (answer.status_code, answer["Location"]) == (303, at())
    out.refresh_from_db()
    assert out.checked_out_at is not None
    assert AuditEntry.objects.get(verb="check out").by == ghillie
    page = text(client.get(at()))
    assert "The watch for Una Late has ended" in page
    assert f"checked out by {ghillie} at" in page
    assert "who was told by Mrs Holm at the lodge by telephone" in page
    assert "Undo: still on the water" in page


def test_a_double_tap_checks_out_once(client, at, out):
    for _ in range(2):
        assert client.post(at(f"outings/{out.pk}/off/"), {"key": "k1"}).status_code == 303
    assert OutingEntry.objects.count() == 1


def test_a_report_without_a_name_is_refused_and_what_was_typed_stays(client, at, out):
    answer = client.post(at(f"outings/{out.pk}/off/"), {"key": "k1", "reported_via": "radio"})
    assert answer.status_code == 422
    assert "Give the name of the person who told you" in text(answer)
    out.refresh_from_db()
    assert out.checked_out_at is None


def test_undo_from_the_tally(client, at, out, ghillie):
    client.post(at(f"outings/{out.pk}/off/"), {"key": "k1"})
    assert client.post(at(f"outings/{out.pk}/undo/"), {"key": "k2"}).status_code == 303
    out.refresh_from_db()
    assert out.checked_out_at is None
    assert f"put back on the water by {ghillie} at" in text(client.get(at()))


def test_more_time_on_a_callers_word(client, at, out, ghillie):
    later = out.due_back_at + HOUR / 2
    form = {"key": "k1", "number": "1", "due_back_at": later.isoformat()} | RANG
    for _ in range(2):
        assert client.post(at(f"outings/{out.pk}/more-time/"), form).status_code == 303
    out.refresh_from_db()
    assert (out.due_back_at, out.deadline_number) == (later, 2)
    assert f"given more time by {ghillie} at" in text(client.get(at()))


def test_a_time_chosen_on_an_old_page_never_lengthens_what_was_set_since(client, at, out):
    sooner = out.due_back_at - HOUR / 2
    Outing.objects.update(due_back_at=sooner, alarm_at=sooner, deadline_number=2)
    form = {"key": "k1", "number": "1", "due_back_at": out.due_back_at.isoformat()}
    answer = client.post(at(f"outings/{out.pk}/more-time/"), form)
    assert answer.status_code == 422
    assert "Somebody set another time" in text(answer)
    out.refresh_from_db()
    assert out.due_back_at == sooner


@pytest.mark.parametrize("wrong", [{"due_back_at": "soon"}, {"due_back_at": ""}, {"number": "x"}, {"number": ""}])
def test_no_time_that_is_none(client, at, out, wrong):
    form = {"key": "k1", "number": "1", "due_back_at": (out.due_back_at + HOUR / 2).isoformat()} | wrong
    assert client.post(at(f"outings/{out.pk}/more-time/"), form).status_code == 422


def test_any_guest_is_checked_in_on_a_callers_word(client, at, beat, ghillie):
    guest = GuestFactory(fishery=beat.fishery, name="Ian Early")
    pool = PoolFactory(beat=beat)
    assert "Ian Early" in text(client.get(at("check-in/")))
    form = entered(beat, guest=guest.pk, where=f"pool {pool.pk}") | RANG
    for _ in range(2):
        answer = client.post(at("check-in/"), form)
        assert answer.status_code == 303, text(answer)
    outing = Outing.objects.get()
    assert (outing.guest, outing.pool, outing.alone) == (guest, pool, True)
    assert f"checked in by {ghillie} at" in text(client.get(at()))
    assert text(client.get(at())).count("Mrs Holm at the lodge") == 1


def test_somebody_not_in_the_list_is_entered_and_checked_in_at_once(client, at, beat):
    form = entered(beat, name="Ada Newcomer", phone="01632 960199")
    for _ in range(2):
        answer = client.post(at("check-in/"), form)
        assert answer.status_code == 303, text(answer)
    assert Guest.objects.get(name="Ada Newcomer").phone == "+441632960199"
    assert Outing.objects.get().guest.name == "Ada Newcomer"


@pytest.mark.parametrize(
    "wrong",
    [{"name": ""}, {"name": "A", "phone": "ring me"}, {"name": "A", "where": "beat 0"}, {"name": "A", "where": ""},
     {"name": "A", "off_by": "late"}, {"name": "A", "alone": ""}, {"guest": "99999999999999999999"}],
)  # fmt: skip
def test_a_check_in_that_cannot_be_is_refused_with_nothing_done(client, at, beat, wrong):
    answer = client.post(at("check-in/"), entered(beat) | wrong)
    assert answer.status_code == 422
    assert not Outing.objects.exists()
    assert not Guest.objects.exists()


def test_a_guest_of_another_water_is_not_in_the_list(client, at, beat):
    foreign = GuestFactory(fishery=BeatFactory().fishery)
    assert client.post(at("check-in/"), entered(beat, guest=foreign.pk)).status_code == 422


def test_whoever_is_on_the_water_is_not_offered(client, at, out):
    assert f'<option value="{out.guest.pk}"' not in text(client.get(at("check-in/")))


def test_a_check_out_on_the_alarm_page_ends_the_alarm(client, at, out):
    now = timezone.now()
    Outing.objects.update(due_back_at=now - HOUR, alarm_at=now - HOUR)
    sweep(now=now)
    client.post(at(f"outings/{out.pk}/off/"), {"key": "k1"})
    sweep(now=timezone.now())
    assert Alarm.objects.get().cleared_at is not None
