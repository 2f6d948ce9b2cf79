"""All about me, erase me, and forgetting by and by.

Rights of access and erasure: UK GDPR articles 15 and 17. Periods: ICO, "Principle (e): Storage
limitation"; that they are the usual ones here is house practice, no source.
"""

import datetime as dt
from decimal import Decimal

import pytest
from django.apps import apps
from django.db.models import CharField, JSONField, TextField

from beats.models import AccessToken, Membership, User
from beats.shared.refusals import NotYours
from bookings.about_me import StillNeeded
from bookings.models import Guest, LedgerEntry, RodDay, Terms
from bookings.services.forgetting import erase, everything_about, forget_by_and_by
from bookings.services.guests import Forgotten, add_guest, change_guest
from bookings.services.invitations import accept_invitation
from bookings.services.papers import send_papers
from safety.models import Delivery
from sessions.models import Catch
from sessions.queries import history_of
from sessions.services.catches import correct_catch
from tests.factories import (
    NOON,
    AlarmFactory,
    CalendarFeedFactory,
    CatchFactory,
    DeliveryFactory,
    GuestFactory,
    LedgerEntryFactory,
    LetFactory,
    OutingFactory,
    PlanFactory,
    PushAddressFactory,
    RodDayFactory,
    client_of,
    guest_with_account,
    keeper,
)

pytestmark = pytest.mark.django_db
LAST_YEAR = dt.date(2025, 5, 5)
THEN = NOON - dt.timedelta(days=366)
NAMES = ("Una Quill", "una@quill.example", "447700900177", "Ruth Quill", "447700900178", "left knee")


@pytest.fixture
def una(beat, owner):
    """Entered by the owner, with a let, a rod-day, an outing, an alarm, a fish, a feed and a settled account."""
    facts = {"name": "Una Quill", "email": "una@quill.example", "phone": "+447700900177"}
    facts |= {"emergency_contact_name": "Ruth Quill", "emergency_contact_phone": "+447700900178"}
    guest, _ = add_guest(beat.fishery, facts=facts | {"needs": "left knee"}, by=owner, now=THEN)
    guest = accept_invitation(guest.pk, by=User.objects.get(email="una@quill.example"), now=THEN)
    let = LetFactory(beat=beat, booker=guest, first_on=LAST_YEAR, last_on=LAST_YEAR, made_at=THEN)
    RodDayFactory(let=let, guest=guest, day=LAST_YEAR)
    outing = OutingFactory(
        beat=beat, guest=guest, checked_in_at=THEN, due_back_at=THEN + dt.timedelta(hours=2),
        plan="Una Quill alone", vehicle="Una Quill's van", wearing="left knee brace",
        checked_out_at=THEN + dt.timedelta(hours=1),
    )  # fmt: skip
    alarm = AlarmFactory(outing=outing)
    DeliveryFactory(alarm=alarm, subject="OVERDUE: Una Quill", body="Ring +447700900177")
    contact = {"channel": "text", "recipient": "+447700900178", "person": f"contact:{guest.pk}"}
    DeliveryFactory(alarm=alarm, body="Ruth Quill, have you heard from Una Quill?", **contact)
    herself = {"about": "reminder", "recipient": "una@quill.example", "person": f"guest:{guest.pk}"}
    DeliveryFactory(alarm=None, outing=outing, body="Una Quill, you are due", **herself)
    PlanFactory(
        beat=beat,
        guest=guest,
        plan="Una Quill alone",
        out_at=THEN,
        due_back_at=THEN + dt.timedelta(hours=2),
        outing=outing,
    )
    fish = CatchFactory(beat=beat, guest=guest, caught_at=THEN, note="Una Quill's first")
    for note in ("Ruth Quill netted it", "Ruth Quill saw it"):
        fish = correct_catch(
            fish, changes={"note": note}, reason="says Una Quill", version=fish.version, by=owner, now=THEN
        )
    CalendarFeedFactory(guest=guest, label="Una Quill's phone")
    PushAddressFactory(user=guest.user, label="Una Quill's phone")
    for kind, amount in (("charge", "80.00"), ("payment", "-80.00")):
        LedgerEntryFactory(guest=guest, let=let, kind=kind, amount=Decimal(amount), booked_on=LAST_YEAR)
    send_papers(clock=lambda: NOON)
    return guest


def everywhere():
    """Every text in every table of ours, whoever wrote it."""
    told = []
    for model in apps.get_models():
        columns = [
            field.name for field in model._meta.fields if isinstance(field, CharField | TextField | JSONField)
        ]
        if model._meta.app_label in ("beats", "bookings", "fishing_sessions", "safety") and columns:
            told += [str(row) for row in model.objects.values_list(*columns)]
    return "\n".join(told)


class TestTelling:
    def test_every_app_tells_what_it_holds(self, una):
        told = everything_about(una, by=una.user, now=NOON)
        assert set(told) == {
            "about", "told_at", "guest", "lets", "rod_days", "money", "letters", "calendars", "outings", "catches",
            "alarms", "alarm_messages", "plans", "push_addresses",
        }  # fmt: skip
        assert [row["amount"] for row in told["money"]] == ["80.00", "-80.00"]
        assert told["guest"][0]["needs"] == "left knee"
        assert [(row["note"], row["pool"]) for row in told["catches"]] == [("Ruth Quill saw it", None)]

    def test_nobody_else_s_rows_are_told(self, una, beat):
        ben = guest_with_account(beat.fishery, name="Ben")
        RodDayFactory(let=LetFactory(beat=beat, booker=ben), guest=ben)
        assert "Una" not in str(everything_about(ben, by=ben.user, now=NOON))
        assert "Ben" not in str(everything_about(una, by=una.user, now=NOON))

    def test_it_is_for_the_guest_and_the_owner(self, una, beat):
        with pytest.raises(NotYours):
            everything_about(una, by=keeper(beat.fishery, "ghillie"), now=NOON)

    def test_it_comes_over_the_wire_as_json(self, una):
        body = client_of(una.user).get(f"/api/v1/guests/{una.pk}/everything/").json()
        assert (body["about"], len(body["catches"])) == (una.pk, 1)


class TestErasing:
    def test_no_word_that_names_them_is_left_anywhere(self, una):
        before = everywhere()
        assert [name for name in NAMES if name not in before] == []
        erase(una, by=una.user, now=NOON)
        after = everywhere()
        assert [name for name in NAMES if name in after] == []

    def test_fish_rod_days_and_money_stay_as_somebody_s(self, una):
        erased = erase(una, by=una.user, now=NOON)
        assert (erased.name, erased.erased_at) == (f"Guest {una.pk}", NOON)
        for model, count in ((Catch, 1), (RodDay, 1), (LedgerEntry, 2)):
            assert model.objects.filter(guest=una).count() == count
        assert Delivery.objects.count() == 3
        fish = Catch.objects.get(guest=una)
        assert [(deed.before, deed.after) for deed in history_of(fish)] == [
            ({"note": ""}, {"note": "", "reason": ""}), ({"note": ""}, {"note": "", "reason": ""}),
        ]  # fmt: skip

    def test_their_account_and_feeds_open_nothing_any_more(self, una):
        client = client_of(una.user)
        assert client.post(f"/api/v1/guests/{una.pk}/erase/").status_code == 204
        assert client.get("/api/v1/me/").status_code == 401
        assert not AccessToken.objects.exists()
        assert not una.feeds.filter(revoked_at__isnull=True).exists()

    def test_whoever_has_a_part_elsewhere_keeps_the_account(self, una):
        elsewhere = guest_with_account(LetFactory().beat.fishery)
        Membership.objects.create(user=una.user, fishery=elsewhere.fishery, role="ghillie")
        erase(una, by=una.user, now=NOON)
        assert User.objects.get(email="una@quill.example").is_active

    def test_letters_of_a_let_that_passed_to_another_are_forgotten_too(self, una, beat):
        let = una.lets.get()
        let.booker = GuestFactory(fishery=beat.fishery)
        let.save()
        erase(una, by=una.user, now=NOON)
        assert "una@quill.example" not in everywhere()

    def test_twice_is_once(self, una, owner):
        first = erase(una, by=owner, now=NOON)
        assert erase(una, by=owner, now=NOON + dt.timedelta(days=1)).erased_at == first.erased_at

    def test_a_forgotten_guest_is_not_filled_in_again(self, una, owner):
        gone = erase(una, by=owner, now=NOON)
        with pytest.raises(Forgotten):
            change_guest(gone, facts={"name": "Una"}, version=gone.version, by=owner, now=NOON)

    def test_days_to_come_an_open_outing_and_an_unsettled_account_stand_in_the_way(self, una, beat):
        RodDayFactory(let=LetFactory(beat=beat), guest=una, day=NOON.date())
        OutingFactory(beat=beat, guest=una)
        LedgerEntryFactory(guest=una, amount=Decimal("-5.00"))
        with pytest.raises(StillNeeded) as no:
            erase(una, by=una.user, now=NOON)
        assert len(no.value.errors["guest"]) == 3
        assert "settle it first" in no.value.sentence
        assert Guest.objects.get(pk=una.pk).name == "Una Quill"


class TestByAndBy:
    def after(self, months):
        return NOON - dt.timedelta(days=366) + dt.timedelta(days=31 * months)

    @pytest.mark.parametrize(
        ("months", "name", "contact"),
        [(22, "Una Quill", "Ruth Quill"), (25, "Una Quill", ""), (82, "Una Quill", ""), (86, None, "")],
    )
    def test_each_thing_is_kept_for_its_period(self, una, months, name, contact):
        forget_by_and_by(now=self.after(months))
        forget_by_and_by(now=self.after(months))
        una.refresh_from_db()
        assert (una.name, una.emergency_contact_name) == (name or f"Guest {una.pk}", contact)

    def test_a_fishery_s_own_terms_decide(self, una):
        Terms.objects.filter(fishery=una.fishery).delete()
        Terms.objects.create(fishery=una.fishery, keep_guests_months=12)
        assert forget_by_and_by(now=self.after(13))["guests"] == 1

    @pytest.mark.parametrize("heard", ["rod_day", "sharer", "let", "entry", "outing", "catch"])
    def test_whoever_was_heard_of_since_is_kept(self, una, beat, heard):
        now, ben = self.after(90), GuestFactory(fishery=beat.fishery, entered_at=THEN)
        lately, let = now - dt.timedelta(days=100), LetFactory(beat=beat, last_on=LAST_YEAR, first_on=LAST_YEAR)
        make = {
            "rod_day": lambda: RodDayFactory(let=let, guest=ben, day=lately.date()),
            "sharer": lambda: RodDayFactory(let=let, sharer=ben, day=lately.date()),
            "let": lambda: LetFactory(beat=beat, booker=ben, first_on=lately.date(), last_on=lately.date()),
            "entry": lambda: LedgerEntryFactory(guest=ben, booked_on=lately.date()),
            "outing": lambda: OutingFactory(beat=beat, guest=ben, checked_in_at=lately, due_back_at=now),
            "catch": lambda: CatchFactory(beat=beat, guest=ben, caught_at=lately),
        }  # fmt: skip
        make[heard]()
        forget_by_and_by(now=now)
        assert list(Guest.objects.filter(pk__in=[una.pk, ben.pk], erased_at__isnull=True)) == [ben]
