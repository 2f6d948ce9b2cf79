"""The booker's own pages and what the API lets them do: see, name rods, accept, decline, cancel, statement."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import Guest, LedgerEntry, Let, LettingPolicy, RefundStep, RodDay
from bookings.services.holds import confirm_let
from bookings.services.ledger import enter
from bookings.services.lets import let_rods
from tests.bookings.book import next_wednesday_in_may
from tests.factories import (
    BeatFactory,
    GuestFactory,
    OfferFactory,
    TariffFactory,
    TermsFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.pages import text

pytestmark = pytest.mark.django_db

WEDNESDAY = next_wednesday_in_may()
THURSDAY = WEDNESDAY + dt.timedelta(days=1)


@pytest.fixture
def beat():
    return BeatFactory(rods=4, name="Upper", fishery__name="Durr Water", fishery__phone="+441632960001")


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


@pytest.fixture
def booker(beat):
    return guest_with_account(beat.fishery, name="Una Teal")


@pytest.fixture
def friend(beat):
    return GuestFactory(fishery=beat.fishery, name="Ian Pike")


@pytest.fixture
def unknown(beat):
    return GuestFactory(fishery=beat.fishery, name="Secret Stranger")


@pytest.fixture
def let(beat, owner, booker, friend):
    TermsFactory(fishery=beat.fishery, deposit_percent=20)
    TariffFactory(fishery=beat.fishery, rod_day=Decimal("100.00"))
    policy = LettingPolicy.objects.create(fishery=beat.fishery)
    RefundStep.objects.create(policy=policy, notice_days=30, percent=75)
    return made(beat, owner, booker, guests=[friend])


def made(beat, owner, booker, **asked):
    facts = {"first_on": WEDNESDAY, "last_on": THURSDAY, "rods": 2, "by": owner, "now": timezone.now()}
    return let_rods(beat, booker=booker, **(facts | asked))[0]


@pytest.fixture
def me(client, booker):
    client.force_login(booker.user)
    return client


def page(name, *args):
    return reverse(name, args=args)


def pressed_twice(client, path, form):
    """The form as shown first and then done."""
    looked = client.post(path, form)
    assert looked.status_code == 200, text(looked)
    seen = re.search(r'name="seen" value="(\w+)"', text(looked))[1]
    return text(looked), client.post(path, form | {"seen": seen})


def test_the_booker_finds_their_lets_from_their_day(me, let):
    assert page("my-lets") in text(me.get(page("day")))
    listed = text(me.get(page("my-lets")))
    assert page("my-let", let.pk) in listed
    assert "Upper" in listed


def test_the_booker_sees_days_rods_price_what_is_due_and_who_fishes(me, let, beat, owner, booker):
    enter(booker, let=let, kind="payment", amount=Decimal("30.00"), currency="GBP", by=owner, now=timezone.now(),
          booked_on=None, reference="", note="")  # fmt: skip
    shown = text(me.get(page("my-let", let.pk)))
    for words in ("Upper", "400.00 GBP", "30.00 GBP", "370.00 GBP", "Ian Pike", "no name yet"):
        assert words in shown
    assert "Pay 50.00 GBP by" in shown  # a fifth of the price, less what was paid
    assert page("my-let-cancel", let.pk) in shown
    assert page("my-let-party", let.pk) in shown


def test_a_let_without_an_agreed_price_is_not_shown_as_free(me, client, beat, owner, booker):
    let = made(beat, owner, booker)
    shown = text(me.get(page("my-let", let.pk)))
    assert "Ask the fishery what they cost" in shown
    assert ("none agreed" in shown, '<td class="num">0.00 GBP' in shown.split("Paid")[0]) == (True, False)
    client.force_login(owner)
    assert "none agreed" in text(client.get(page("house-let", beat.fishery.slug, let.pk)))


def test_a_booker_without_a_rod_of_their_own_has_the_permit(me, let):
    """The page of papers showed nothing to whoever booked for others."""
    assert page("my-permit", let.pk) in text(me.get(page("my-papers")))
    assert me.get(page("my-let-permit", let.pk)).content.startswith(b"%PDF")


def test_the_statement_is_on_a_page_and_on_paper(me, let, booker):
    shown = text(me.get(page("my-statement", booker.pk)))
    assert "You owe 400.00 GBP" in shown
    assert page("my-let", let.pk) in shown
    assert me.get(page("my-statement-paper", booker.pk)).content.startswith(b"%PDF")


def test_the_refund_is_shown_before_the_booker_cancels(me, let):
    path = page("my-let-cancel", let.pk)
    first = text(me.get(path))
    assert "75 % of the price of the days given back goes back" in first
    form = {"key": "k1", "version": let.version}
    looked, answer = pressed_twice(me, path, form)
    assert "Price: 400.00 → 100.00 GBP" in looked
    assert answer.status_code == 303
    let.refresh_from_db()
    assert (let.status, let.refund_percent, let.rod_days.count()) == ("cancelled", 75, 0)
    entry = AuditEntry.objects.get(verb="cancel let")
    assert entry.by_id == let.booker.user_id


def test_looking_at_the_refund_cancels_nothing(me, let):
    entries = LedgerEntry.objects.count()
    me.post(page("my-let-cancel", let.pk), {"key": "k1", "version": let.version})
    let.refresh_from_db()
    assert (let.status, LedgerEntry.objects.count()) == ("confirmed", entries)


def test_a_press_of_decline_does_not_cancel_what_was_accepted_meanwhile(beat, owner, booker, me):
    held = made(beat, owner, booker, hold=True)
    OfferFactory(let=held)
    form = {"key": "k1", "version": held.version}
    confirm_let(held, by=booker.user, now=timezone.now())
    assert me.post(page("my-let-cancel", held.pk), form).status_code == 422
    held.refresh_from_db()
    assert held.status == "confirmed"


def test_a_tenant_accepts_or_declines_the_week_held_for_them(beat, owner, booker, me):
    taken, given_up = (made(beat, owner, booker, hold=True, rods=1) for _ in range(2))
    OfferFactory(let=taken)
    OfferFactory(let=given_up)
    assert text(me.get(page("my-lets"))).count("Answer by") == 2
    assert me.post(page("my-let-confirm", taken.pk), {"key": "k1"}).status_code == 303
    _, answer = pressed_twice(me, page("my-let-cancel", given_up.pk), {"key": "k2", "version": given_up.version})
    assert answer.status_code == 303
    assert list(Let.objects.order_by("pk").values_list("status", flat=True))[:2] == ["confirmed", "cancelled"]


def test_a_plain_hold_is_confirmed_by_the_fishery_alone(beat, owner, booker, me):
    held = made(beat, owner, booker, hold=True)
    assert me.post(page("my-let-confirm", held.pk), {"key": "k1"}).status_code == 422
    assert page("my-let-confirm", held.pk) not in text(me.get(page("my-let", held.pk)))
    held.refresh_from_db()
    assert held.status == "held"


def naming(let, **rods):
    return {"key": "k1", "version": let.version, "first_on": WEDNESDAY, "last_on": THURSDAY} | rods


def test_the_booker_names_themselves_and_moves_those_of_the_party(me, let, booker, friend):
    form = naming(let, rod_1=str(booker.pk), rod_2=str(friend.pk))
    looked, answer = pressed_twice(me, page("my-let-party", let.pk), form)
    assert "Ian Pike → Una Teal" in looked
    assert answer.status_code == 303
    assert set(let.rod_days.values_list("rod", "guest")) == {(1, booker.pk), (2, friend.pk)}


def test_the_booker_is_not_shown_the_other_guests_and_cannot_name_them(me, let, unknown):
    path = page("my-let-party", let.pk)
    assert "Secret Stranger" not in text(me.get(path))
    answer = me.post(path, naming(let, rod_1=str(unknown.pk)))
    assert answer.status_code == 422
    assert "Secret Stranger" not in text(answer)
    assert not RodDay.objects.filter(guest=unknown).exists()


def party(who, let, guest, day=WEDNESDAY, version=None):
    places = [{"day": day.isoformat(), "rod": 2, "guest": guest.pk}]
    return client_of(who).put(
        f"/api/v1/lets/{let.pk}/party/", {"places": places}, format="json",
        headers={"If-Match": f'"{version or let.version}"'},
    )  # fmt: skip


def test_the_api_lets_the_booker_name_their_own_party_alone(let, booker, friend, unknown, beat):
    assert party(booker.user, let, booker).status_code == 200
    let.refresh_from_db()
    assert party(booker.user, let, unknown).status_code == 404
    other = guest_with_account(beat.fishery)
    assert party(other.user, let, other).status_code == 404
    RodDay.objects.filter(rod=2).update(guest=other)  # fishes in it, but did not book it
    assert party(other.user, let, other).status_code == 403
    assert friend.pk in RodDay.objects.filter(rod=1).values_list("guest", flat=True)


def test_days_that_are_past_are_not_named_by_the_booker(let, booker):
    yesterday = timezone.now().date() - dt.timedelta(days=1)
    RodDay.objects.filter(day=WEDNESDAY).update(day=yesterday)
    answer = party(booker.user, let, booker, day=yesterday)
    assert (answer.status_code, answer.json()["type"]) == (400, "/api/v1/problems/bad-let")


def test_the_api_lets_the_booker_cancel_and_nobody_else_but_the_owner(let, booker, friend, beat):
    fishes = guest_with_account(beat.fishery)
    RodDay.objects.filter(rod=2).update(guest=fishes)
    assert client_of(fishes.user).post(f"/api/v1/lets/{let.pk}/cancel/").status_code == 403
    assert client_of(keeper(beat.fishery, "ghillie")).post(f"/api/v1/lets/{let.pk}/cancel/").status_code == 403
    answer = client_of(booker.user).post(f"/api/v1/lets/{let.pk}/cancel/")
    assert (answer.status_code, answer.json()["refund_percent"]) == (200, 75)


def test_the_owner_sees_on_the_desk_that_a_booker_cancelled(let, booker, owner, beat, client):
    client.force_login(owner)
    desk = page("house", beat.fishery.slug)
    assert "Cancelled by the booker" not in text(client.get(desk))
    client_of(booker.user).post(f"/api/v1/lets/{let.pk}/cancel/")
    shown = text(client.get(desk))
    assert "Cancelled by the booker" in shown
    assert page("house-let", beat.fishery.slug, let.pk) in shown


def test_what_the_owner_cancelled_is_no_news_on_the_desk(let, owner, beat, client):
    client.force_login(owner)
    client_of(owner).post(f"/api/v1/lets/{let.pk}/cancel/")
    assert "Cancelled by the booker" not in text(client.get(page("house", beat.fishery.slug)))


OF_A_LET = ["my-let", "my-let-confirm", "my-let-cancel", "my-let-party", "my-let-permit"]


@pytest.mark.parametrize("name", OF_A_LET)
def test_nobody_elses_let_is_there(client, let, friend, beat, name):
    fishes = guest_with_account(beat.fishery)
    RodDay.objects.filter(rod=2).update(guest=fishes)
    people = [
        guest_with_account(beat.fishery).user, fishes.user, guest_with_account(BeatFactory().fishery).user,
        keeper(beat.fishery, "ghillie"), keeper(beat.fishery), keeper(BeatFactory().fishery),
    ]  # fmt: skip
    for who in people:
        client.force_login(who)
        for answer in (client.get(page(name, let.pk)), client.post(page(name, let.pk), {"key": "k"})):
            assert answer.status_code in {404, 405}, (name, who)
            assert "Una Teal" not in text(answer)
    let.refresh_from_db()
    assert let.status == "confirmed"


@pytest.mark.parametrize("name", ["my-statement", "my-statement-paper"])
def test_nobody_elses_statement_is_there(client, let, booker, beat, name):
    for who in (guest_with_account(beat.fishery).user, keeper(beat.fishery), keeper(BeatFactory().fishery)):
        client.force_login(who)
        assert client.get(page(name, booker.pk)).status_code == 404


def test_a_let_that_was_handed_on_is_not_the_old_bookers_any_more(me, let, booker, friend):
    Let.objects.filter(pk=let.pk).update(booker=friend)
    assert me.get(page("my-let", let.pk)).status_code == 404
    assert page("my-let", let.pk) not in text(me.get(page("my-statement", booker.pk)))


def test_one_person_at_two_fisheries_sees_both(me, let, booker):
    elsewhere = BeatFactory(name="Lower", fishery__name="Other Water")
    entry = Guest.objects.create(fishery=elsewhere.fishery, name="U. Teal", user=booker.user)
    booker.user.memberships.create(fishery=elsewhere.fishery, role="guest")
    other = made(elsewhere, keeper(elsewhere.fishery), entry, rods=1)
    listed = text(me.get(page("my-lets")))
    assert page("my-let", let.pk) in listed
    assert page("my-let", other.pk) in listed


def test_the_pages_ask_as_often_for_many_lets_as_for_one(me, beat, owner, booker, django_assert_max_num_queries):
    def ask():
        with django_assert_max_num_queries(12) as told:
            me.get(page("my-lets"))
        return len(told)

    made(beat, owner, booker, rods=1)
    one = ask()
    for week in range(1, 9):
        days = dt.timedelta(days=7 * week)
        made(beat, owner, booker, rods=1, first_on=WEDNESDAY + days, last_on=THURSDAY + days)
    assert ask() == one
