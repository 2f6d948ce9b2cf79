"""The guest's day by hand: what the pages show, what they do, and what they refuse."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import Membership
from bookings.models import Guest
from safety.models import Alarm, Pulse
from safety.services.calling import call_in
from safety.services.pulse import beat_pulse
from sessions.models import Catch, Outing, PhoneNote
from tests.factories import BeatFactory, GuestFactory, PoolFactory, UserFactory, keeper

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def guest(beat):
    user = UserFactory()
    Membership.objects.create(user=user, fishery=beat.fishery, role=Membership.Role.GUEST)
    keeper(beat.fishery)
    beat_pulse("sweep", now=timezone.now())
    return GuestFactory(fishery=beat.fishery, user=user, emergency_contact_phone="+441632960111")


@pytest.fixture
def phone(client, guest):
    client.force_login(guest.user)
    return client


def tapped(beat, **other):
    due = (timezone.now() + 2 * HOUR).isoformat()
    return {"key": "k1", "pool": "", "alone": "yes", "back_by": due, "wearing": ["life jacket"]} | other


def check_in_page(beat):
    return reverse("check-in", args=[beat.fishery.slug, beat.slug])


def test_day_offers_the_check_in_and_tells_whom_to_ring(phone, beat):
    page = phone.get(reverse("day")).content.decode()
    assert check_in_page(beat) in page
    assert "999" in page
    assert "safe " not in page.lower()


def test_opening_the_code_at_the_hut_does_nothing(phone, client, beat):
    before = Outing.objects.count()
    page = phone.get(check_in_page(beat))
    assert page.status_code == 200
    assert "does nothing" in page.content.decode()
    assert Outing.objects.count() == before


def test_a_stranger_with_the_code_learns_how_to_sign_in_and_no_names(client, guest, beat):
    page = client.get(check_in_page(beat)).content.decode()
    assert "not checked in by opening" in page
    assert guest.name not in page


def test_three_taps_check_in(phone, guest, beat):
    pool = PoolFactory(beat=beat)
    answer = phone.post(check_in_page(beat), tapped(beat, pool=str(pool.pk)))
    assert answer.status_code == 303
    outing = Outing.objects.get()
    assert (outing.guest, outing.pool, outing.alone, outing.wearing) == (guest, pool, True, "life jacket")
    assert "You are on the water" in phone.get(reverse("day")).content.decode()


def test_a_double_tap_is_one_outing(phone, beat):
    form = tapped(beat)
    assert [phone.post(check_in_page(beat), form).status_code for _ in range(2)] == [303, 303]
    assert Outing.objects.count() == 1


def test_a_refusal_keeps_what_was_typed(phone, beat):
    long_ago = (timezone.now() - HOUR).isoformat()
    answer = phone.post(check_in_page(beat), tapped(beat, back_by=long_ago, vehicle="Grey van by the kirk"))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Grey van by the kirk" in page
    assert "Give the time you will be off the water" in page
    assert not Outing.objects.exists()


@pytest.mark.parametrize("back_by", ["", "soon", "2026-05-06T17:00", "9999-12-31T23:59+00:00", "other"])
def test_no_time_that_is_none(phone, beat, back_by):
    assert phone.post(check_in_page(beat), tapped(beat, back_by=back_by)).status_code == 422
    assert not Outing.objects.exists()


def test_a_pool_of_another_beat_is_refused(phone, beat):
    other = PoolFactory(beat=BeatFactory())
    assert phone.post(check_in_page(beat), tapped(beat, pool=str(other.pk))).status_code == 422


def test_with_the_watch_stale_a_lone_guest_is_told_so_and_recorded(phone, beat):
    Pulse.objects.all().delete()
    page = phone.get(check_in_page(beat)).content.decode()
    assert "watch is not running" in page
    assert "we write to" not in page
    assert phone.post(check_in_page(beat), tapped(beat)).status_code == 303
    assert Outing.objects.get().watch_limits == ["watch-not-running"]


@pytest.fixture
def out(phone, guest, beat):
    phone.post(check_in_page(beat), tapped(beat))
    return Outing.objects.get()


def said(phone, what, guest, **facts):
    return phone.post(
        reverse(f"day-{what}", args=[guest.pk]), {"key": "k2"} | facts, headers={"Accept": "application/json"}
    )


def test_fine_late_and_out(phone, guest, out):
    assert said(phone, "fine", guest).json()["received_at"]
    later = out.due_back_at + HOUR / 2
    said(phone, "late", guest, key="k3", due_back_at=later.isoformat(), number=out.deadline_number)
    out.refresh_from_db()
    assert out.due_back_at == later
    assert said(phone, "back", guest, key="k4").json()["next"] == reverse("day-off", args=[guest.pk])
    out.refresh_from_db()
    assert out.checked_out_at is not None


def test_the_hour_to_say_that_all_is_well_is_never_after_the_time_back(phone, out):
    due = out.due_back_at
    for before, shown in ((HOUR, True), (-HOUR, False)):
        Outing.objects.update(contact_due_at=due - before)
        page = phone.get(reverse("day")).content.decode()
        assert ("Say that all is well by" in page) == shown


def test_the_same_word_twice_acts_once(phone, guest, out):
    later = out.due_back_at + HOUR / 2
    facts = {"due_back_at": later.isoformat(), "number": out.deadline_number}
    for _ in range(2):
        assert said(phone, "late", guest, **facts).status_code == 200
    out.refresh_from_db()
    assert (out.due_back_at, out.deadline_number) == (later, 2)
    assert PhoneNote.objects.count() == 1


def test_an_old_word_never_lengthens_what_was_set_after_it(phone, guest, out):
    sooner = out.due_back_at - HOUR
    said(phone, "late", guest, key="new", due_back_at=sooner.isoformat(), number=1)
    said(phone, "late", guest, key="old", due_back_at=(sooner + HOUR).isoformat(), number=1, said_age_s="3600")
    out.refresh_from_db()
    assert out.due_back_at == sooner


def test_a_check_out_that_overtakes_its_check_in_still_closes_the_outing(phone, guest, beat):
    said(phone, "back", guest, key="out", said_age_s="600")
    phone.post(check_in_page(beat), tapped(beat, said_age_s="7200"))
    assert Outing.objects.get().checked_out_at is not None


def test_a_check_out_of_an_earlier_outing_leaves_this_one_watched(phone, guest, out):
    said(phone, "back", guest, said_age_s="7200")
    out.refresh_from_db()
    assert out.checked_out_at is None


def test_a_check_in_that_comes_after_its_own_time_back_is_overdue_not_refused(phone, guest, beat):
    due = timezone.now() - HOUR / 2
    answer = phone.post(check_in_page(beat), tapped(beat, back_by=due.isoformat(), said_age_s="7200"))
    assert answer.status_code == 303
    outing = Outing.objects.get()
    assert outing.due_back_at == due
    assert outing.alarm_at <= timezone.now()


@pytest.mark.parametrize("age", ["nan", "inf", "-5", "many", "1e300", "604801"])
def test_a_check_out_of_unknown_age_leaves_them_watched_and_says_so(phone, guest, out, age):
    answer = said(phone, "back", guest, said_age_s=age)
    assert answer.status_code == 422
    assert "you are still being watched" in answer.json()["sentence"]
    out.refresh_from_db()
    assert (out.checked_out_at, PhoneNote.objects.count()) == (None, 0)
    assert said(phone, "back", guest).status_code == 200


def test_three_clocks_are_kept(phone, guest, out):
    said(phone, "fine", guest, said_age_s="90", said_at="2020-01-01T00:00:00Z")
    note = PhoneNote.objects.get()
    assert note.said_at.year == 2020
    assert (note.received_at - note.happened_at).total_seconds() == 90


def test_signed_out_in_the_middle_says_so_and_keeps_the_word(client, guest, out):
    client.logout()
    answer = said(client, "back", guest)
    assert answer.status_code == 401
    assert "kept on this phone" in answer.json()["sentence"]


def test_without_script_what_was_typed_is_kept_over_a_sign_in(client, guest, beat):
    client.logout()
    answer = client.post(reverse("day-back", args=[guest.pk]), {"key": "k9"})
    assert answer.status_code == 303
    assert "kept" in answer.url
    client.session.save()
    assert client.session["kept form"]["path"] == reverse("day-back", args=[guest.pk])


def test_another_guests_day_is_not_there(phone, out, beat):
    other = GuestFactory(fishery=beat.fishery)
    assert said(phone, "back", other).status_code == 404


def test_help_is_asked_for_twice_and_raises_one_alarm(phone, guest, out):
    page = phone.get(reverse("day-help", args=[guest.pk])).content.decode()
    assert "999" in page
    assert not Alarm.objects.exists()
    for _ in range(2):
        said(phone, "help", guest)
    assert Alarm.objects.filter(kind=Alarm.Kind.HELP).count() == 1


def test_called_off_the_water_they_answer(phone, guest, out, beat):
    recall, _ = call_in(beat, reason="The river is rising", by=keeper(beat.fishery), now=timezone.now())
    from safety.services.sweep import sweep  # noqa: PLC0415

    sweep(now=timezone.now())
    Guest.objects.filter(pk=guest.pk).update(emergency_contact_phone="", emergency_contact_name="")
    page = phone.get(reverse("day")).content.decode()
    assert page.index("The river is rising") < page.index("My contact details")
    assert "In danger: ring 999" in page
    call = recall.calls.get()
    phone.post(reverse("day-coming-out", args=[call.pk]), {"key": "k5"})
    call.refresh_from_db()
    assert call.answered_at is not None


def test_a_fish_in_ten_seconds(phone, guest, out):
    page = reverse("day-fish", args=[guest.pk])
    form = {
        "key": "f1",
        "kind": "msw",
        "fate": "released",
        "weight": "10",
        "unit": "lb",
        "weight_how": "estimated",
    }
    for _ in range(2):
        assert phone.post(page, form).status_code == 303
    fish = Catch.objects.get()
    assert str(fish.weight_kg) == "4.54"  # 10 lb at 0.45359237 kg (Weights and Measures Act 1985)
    assert fish.weight_how == "estimated"
    assert "4.54" in phone.get(page).content.decode()
    assert "4.54" in phone.get(reverse("my-fish")).content.decode()


@pytest.mark.parametrize(
    "wrong", [{"kind": "whale"}, {"weight": "NaN"}, {"weight": "-2"}, {"length_cm": "900"}, {"fate": ""}]
)
def test_no_fish_is_like_that(phone, guest, out, wrong):
    form = {"key": "f1", "kind": "msw", "fate": "released"} | wrong
    assert phone.post(reverse("day-fish", args=[guest.pk]), form).status_code == 422
    assert not Catch.objects.exists()


def test_a_keeper_without_a_guests_book_has_an_empty_day_and_lands_at_the_water(client, beat):
    client.force_login(keeper(beat.fishery))
    assert client.get("/").url == reverse("water", args=[beat.fishery.slug])
    assert client.get(reverse("day")).status_code == 200


def test_gets_write_nothing(phone, guest, out, django_assert_num_queries):
    from django.db import connection  # noqa: PLC0415
    from django.test.utils import CaptureQueriesContext  # noqa: PLC0415

    for name, args in [("day", []), ("day-help", [guest.pk]), ("day-fish", [guest.pk]), ("my-fish", [])]:
        with CaptureQueriesContext(connection) as asked:
            assert phone.get(reverse(name, args=args)).status_code == 200
        assert not [each["sql"] for each in asked if each["sql"].startswith(("INSERT", "UPDATE", "DELETE"))]
