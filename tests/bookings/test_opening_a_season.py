"""Last year's tenant first, then the waiting list in order, each with a time to answer.

The season of 2026 begins on Wednesday 11 February, that of 2027 on Thursday 11 February (SSI 2014/327,
Schedule, entry 51).
"""

import datetime as dt

import pytest

from beats.models import AuditEntry
from beats.shared.refusals import NotYours, Stale
from bookings.models import Let, LettingPolicy, LettingSeason, Offer, RodDay, SameWeek
from bookings.services.claims import RodsTaken
from bookings.services.holds import cancel_let, confirm_let
from bookings.services.seasons import BadSeason, open_season
from bookings.services.sweep import Swept, sweep
from bookings.services.waiting import join_waiting, leave_waiting
from tests.bookings.book import let
from tests.factories import BeatFactory, GuestFactory, client_of, guest_with_account, keeper

pytestmark = pytest.mark.django_db

AUTUMN = dt.datetime(2026, 10, 5, 9, tzinfo=dt.UTC)
ANSWER_BY = dt.date(2026, 11, 30)
TOO_LATE = dt.datetime(2026, 12, 1, tzinfo=dt.UTC)  # midnight at the river, in winter time
WEEK = [dt.date(2027, 5, 10) + dt.timedelta(days=n) for n in range(6)]


@pytest.fixture
def beat():
    return BeatFactory(rods=3)


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


@pytest.fixture
def tenant(beat):
    return guest_with_account(beat.fishery)


@pytest.fixture
def last_let(beat, tenant):
    """Monday to Saturday of week 14 in 2026."""
    return let(beat, booker=tenant, kind="week")


def opened(beat, owner, **asked):
    facts = {"year": 2027, "answer_by": ANSWER_BY, "by": owner, "now": AUTUMN}
    return open_season(beat.fishery, **facts | asked)


def wait(where, owner, *, guest=None, minutes=0, **asked):
    facts = {"beat": None, "week": None, "rods": 1, "by": owner, "now": AUTUMN + dt.timedelta(minutes=minutes)}
    return join_waiting(where.fishery, guest=guest or GuestFactory(fishery=where.fishery), **facts | asked)[0]


def test_each_let_of_last_year_is_held_in_the_same_week_until_the_answer_date(beat, owner, tenant, last_let):
    opened(beat, owner)
    assert sweep(AUTUMN) == Swept(0, 1)
    held = Offer.objects.get().let
    assert (held.booker, held.status, held.kind, held.rods) == (tenant, "held", "week", 2)
    assert list(held.rod_days.order_by("day").values_list("day", flat=True).distinct()) == WEEK
    assert held.expires_at == TOO_LATE
    assert (SameWeek.objects.get().week, last_let.first_on) == (14, dt.date(2026, 5, 11))


def test_a_second_sweep_does_nothing(beat, owner, last_let):
    opened(beat, owner)
    assert [sweep(AUTUMN) for _ in range(3)] == [Swept(0, 1), Swept(0, 0), Swept(0, 0)]
    assert opened(beat, owner)[1] is False
    assert (LettingSeason.objects.count(), AuditEntry.objects.filter(verb="open season").count()) == (1, 1)


def test_nobody_can_be_sold_a_week_while_its_tenant_thinks(beat, owner, last_let):
    opened(beat, owner)
    sweep(AUTUMN)
    with pytest.raises(RodsTaken):
        let(beat, first_on=WEEK[0], last_on=WEEK[0], rods=2, now=AUTUMN)


def test_lets_that_were_cancelled_held_or_of_another_water_come_not_again(beat, owner):
    cancel_let(let(beat), by=owner, now=AUTUMN - dt.timedelta(days=200))
    let(BeatFactory())
    let(beat, hold=True, now=AUTUMN)
    opened(beat, owner)
    assert (sweep(AUTUMN).offers, SameWeek.objects.count()) == (0, 0)


def test_the_tenant_takes_the_week_themselves(beat, owner, tenant, last_let):
    opened(beat, owner)
    sweep(AUTUMN)
    taken = confirm_let(Offer.objects.get().let, by=tenant.user, now=AUTUMN)
    assert (taken.status, taken.rod_days.count()) == ("confirmed", 12)
    assert sweep(TOO_LATE) == Swept(0, 0)


def test_declining_a_week_that_was_taken_meanwhile_cancels_nothing(beat, owner, tenant, last_let):
    opened(beat, owner)
    sweep(AUTUMN)
    held = Offer.objects.get().let
    taken = confirm_let(held, by=tenant.user, now=AUTUMN)
    with pytest.raises(Stale):
        cancel_let(held, by=tenant.user, now=AUTUMN, version=held.version)
    assert cancel_let(taken, by=tenant.user, now=AUTUMN, version=taken.version).status == "cancelled"


@pytest.mark.parametrize("declined", [True, False])
def test_an_unclaimed_week_goes_down_the_waiting_list_each_with_a_time(beat, owner, tenant, last_let, declined):
    LettingPolicy.objects.create(fishery=beat.fishery, offer_minutes=60)
    second, first = wait(beat, owner, minutes=5), wait(beat, owner, minutes=1)
    opened(beat, owner)
    assert sweep(AUTUMN).offers == 1
    at = AUTUMN if declined else TOO_LATE
    if declined:
        cancel_let(Offer.objects.get().let, by=tenant.user, now=at)
    asked = []
    for hours in range(4):
        sweep(at + dt.timedelta(hours=hours))
        asked.append(list(Offer.objects.order_by("number").values_list("waiting", "let__status")))
    assert asked == [
        [(None, "cancelled"), (first.pk, "held")],
        [(None, "cancelled"), (first.pk, "cancelled"), (second.pk, "held")],
        *[[(None, "cancelled"), (first.pk, "cancelled"), (second.pk, "cancelled")]] * 2,
    ]
    assert RodDay.objects.filter(day__in=WEEK).count() == 0


def test_who_takes_a_week_leaves_the_list_and_who_does_not_stays(beat, owner, tenant, last_let):
    first, second = wait(beat, owner), wait(beat, owner, minutes=1)
    opened(beat, owner)
    sweep(AUTUMN)
    cancel_let(Offer.objects.get().let, by=tenant.user, now=AUTUMN)
    sweep(AUTUMN)
    confirm_let(Offer.objects.get(waiting=first).let, by=owner, now=AUTUMN)
    for each in (first, second):
        each.refresh_from_db()
    assert (first.left_at, second.left_at) == (AUTUMN, None)


def test_the_list_is_asked_only_for_what_it_waits_for(beat, owner, tenant, last_let):
    other = BeatFactory(fishery=beat.fishery, rods=5)
    for asked in ({"beat": other}, {"week": 13}, {"rods": 3}):
        wait(beat, owner, **asked)
    gone = wait(beat, owner)
    leave_waiting(gone, by=owner, now=AUTUMN)
    wanted = wait(beat, owner, minutes=9, beat=beat, week=14, rods=2)
    opened(beat, owner)
    sweep(AUTUMN)
    cancel_let(Offer.objects.get().let, by=tenant.user, now=AUTUMN)
    sweep(AUTUMN)
    assert list(Offer.objects.filter(number__gte=1).values_list("waiting", flat=True)) == [wanted.pk]


def test_one_person_thinks_about_one_week_at_a_time(beat, owner, tenant):
    let(beat, booker=tenant, kind="week", rods=1)
    let(beat, booker=tenant, kind="week", rods=1)
    wait(beat, owner)
    opened(beat, owner)
    sweep(AUTUMN)
    for offer in Offer.objects.all():
        cancel_let(offer.let, by=owner, now=AUTUMN)
    assert [sweep(AUTUMN).offers for _ in range(2)] == [1, 0]


def test_a_week_sold_already_is_left_to_the_owner_with_the_reason(beat, owner, last_let):
    let(beat, first_on=WEEK[1], last_on=WEEK[1], rods=3, now=AUTUMN)
    opened(beat, owner)
    assert [sweep(AUTUMN).offers for _ in range(2)] == [0, 0]
    assert "Tuesday 11 May: none left" in SameWeek.objects.get().fault
    assert Let.objects.filter(status="held").count() == 0


def test_the_opening_week_loses_the_days_the_season_has_not_reached(beat, owner):
    """Wednesday 11 February 2026 opened the season; in 2027 the Wednesday is still closed."""
    let(beat, kind="week", first_on=dt.date(2026, 2, 11), last_on=dt.date(2026, 2, 14))
    opened(beat, owner)
    sweep(AUTUMN)
    held = Offer.objects.get().let
    assert (held.first_on, held.last_on) == (dt.date(2027, 2, 11), dt.date(2027, 2, 13))


def test_season_rods_come_again_on_their_weekday(beat, owner):
    let(beat, kind="season", weekday=3, first_on=dt.date(2026, 5, 1), last_on=dt.date(2026, 6, 30), rods=1)
    opened(beat, owner)
    sweep(AUTUMN)
    days = Offer.objects.get().let.rod_days.values_list("day", flat=True)
    assert {day.weekday() for day in days} == {3}
    assert (min(days), max(days)) == (dt.date(2027, 5, 6), dt.date(2027, 6, 24))


@pytest.mark.parametrize(
    "asked", [{"answer_by": dt.date(2026, 10, 4)}, {"answer_by": dt.date(2027, 12, 31)}, {"year": 2014}]
)
def test_a_season_that_cannot_be_opened_says_why(beat, owner, asked):
    with pytest.raises(BadSeason):
        opened(beat, owner, **asked)
    assert LettingSeason.objects.count() == 0


def test_only_the_owner_opens(beat):
    with pytest.raises(NotYours):
        opened(beat, keeper(beat.fishery, "ghillie"))


def test_a_guest_joins_and_leaves_the_list_themselves_and_nobody_else(beat, tenant):
    other = guest_with_account(beat.fishery)
    client = client_of(tenant.user)
    body = {"fishery": beat.fishery.slug, "guest": tenant.pk, "rods": 2}
    key = {"Idempotency-Key": "one-place-in-line"}
    sent = [client.post("/api/v1/waiting/", body, format="json", headers=key) for _ in range(2)]
    assert [answer.status_code for answer in sent] == [201, 200]
    assert client.post("/api/v1/waiting/", body | {"rods": 4}, format="json").status_code == 400
    assert client.post("/api/v1/waiting/", body | {"guest": other.pk}, format="json").status_code == 404
    place = f"/api/v1/waiting/{sent[0].json()['id']}/"
    assert [client_of(other.user).delete(place).status_code, client.delete(place).status_code] == [404, 204]
