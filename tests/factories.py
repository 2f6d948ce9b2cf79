"""Rows for tests. Everything is invented."""

import datetime as dt
from decimal import Decimal

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory
from rest_framework.test import APIClient

from beats.authentication import issue_token
from beats.models import Beat, DayPart, Fishery, Gauge, GaugeKey, Membership, Pool, PoolClosure, Reading, User
from bookings.models import Guest, Let, RodDay
from safety.models import Alarm, Delivery
from sessions.models import (
    BoardKey,
    Catch,
    MonthlyTotal,
    OldBook,
    Outing,
    Return,
    ReturnDue,
    Rota,
    RotaJob,
    Turn,
)
from sessions.snapshot import content_hash, snapshot

NOON = dt.datetime(2026, 5, 6, 11, 0, tzinfo=dt.UTC)
"""Wednesday 6 May 2026, noon in Britain: an open day in most districts."""


class UserFactory(DjangoModelFactory):
    class Meta:
        model = User

    email = factory.Sequence(lambda n: f"person{n}@example.org")
    name = factory.Sequence(lambda n: f"Person {n}")


class FisheryFactory(DjangoModelFactory):
    class Meta:
        model = Fishery

    slug = factory.Sequence(lambda n: f"water-{n}")
    name = factory.Sequence(lambda n: f"Water {n}")
    river = "Testwater"
    time_zone = "Europe/London"
    district = "51"
    latitude = 57.61
    longitude = -5.35


class DayPartFactory(DjangoModelFactory):
    class Meta:
        model = DayPart

    fishery = factory.SubFactory(FisheryFactory)
    slug = "morning"
    name = "morning"
    starts = dt.time(9)
    ends = dt.time(13)


class GaugeFactory(DjangoModelFactory):
    class Meta:
        model = Gauge

    fishery = factory.SubFactory(FisheryFactory)
    slug = factory.Sequence(lambda n: f"gauge-{n}")
    name = "Bridge"
    stale_after_minutes = 60


class GaugeKeyFactory(DjangoModelFactory):
    class Meta:
        model = GaugeKey

    gauge = factory.SubFactory(GaugeFactory)
    label = "logger at the bridge"
    digest = factory.Sequence(lambda n: f"{n:064d}")
    created_at = NOON
    expires_at = NOON + dt.timedelta(days=365)


class ReadingFactory(DjangoModelFactory):
    class Meta:
        model = Reading

    gauge = factory.SubFactory(GaugeFactory)
    at = factory.Sequence(lambda n: NOON - dt.timedelta(minutes=15 * n))
    level_m = 0.6


class BeatFactory(DjangoModelFactory):
    class Meta:
        model = Beat

    fishery = factory.SubFactory(FisheryFactory)
    slug = factory.Sequence(lambda n: f"beat-{n}")
    name = factory.Sequence(lambda n: f"Beat {n}")
    order = factory.Sequence(lambda n: n + 1)
    rods = 4
    longest_outing_minutes = 600
    grace_minutes = 15
    lone_grace_minutes = 0


class PoolFactory(DjangoModelFactory):
    class Meta:
        model = Pool

    beat = factory.SubFactory(BeatFactory)
    slug = factory.Sequence(lambda n: f"pool-{n}")
    name = factory.Sequence(lambda n: f"Pool {n}")
    order = factory.Sequence(lambda n: n + 1)
    bank = "left"
    flow_bearing_deg = 200.0
    length_m = 100.0
    width_m = 20.0
    depth_m = 1.5
    velocity_mps = 0.8
    rods_at_once = 1
    wading_grade = 1
    worth = 10


class PoolClosureFactory(DjangoModelFactory):
    class Meta:
        model = PoolClosure

    pool = factory.SubFactory(PoolFactory)
    from_on = dt.date(2026, 5, 4)
    to_on = factory.Sequence(lambda n: dt.date(2026, 5, 5) + dt.timedelta(days=n % 200))
    reason = "tree down"


class GuestFactory(DjangoModelFactory):
    class Meta:
        model = Guest

    fishery = factory.SubFactory(FisheryFactory)
    name = factory.Sequence(lambda n: f"Guest {n}")
    phone = "+447700900111"
    wading_grade = 2


class LetFactory(DjangoModelFactory):
    class Meta:
        model = Let

    beat = factory.SubFactory(BeatFactory)
    booker = factory.SubFactory(GuestFactory, fishery=factory.SelfAttribute("..beat.fishery"))
    first_on = dt.date(2026, 5, 4)
    last_on = dt.date(2026, 5, 9)
    rods = 1
    made_at = NOON


class RodDayFactory(DjangoModelFactory):
    class Meta:
        model = RodDay

    let = factory.SubFactory(LetFactory)
    beat = factory.SelfAttribute("let.beat")
    day = dt.date(2026, 5, 4)
    rod = factory.Sequence(lambda n: n + 1)


class OutingFactory(DjangoModelFactory):
    class Meta:
        model = Outing

    beat = factory.SubFactory(BeatFactory)
    guest = factory.SubFactory(GuestFactory, fishery=factory.SelfAttribute("..beat.fishery"))
    alone = True
    checked_in_at = NOON
    due_back_at = NOON + dt.timedelta(hours=4)
    alarm_at = factory.SelfAttribute("due_back_at")


class CatchFactory(DjangoModelFactory):
    class Meta:
        model = Catch

    beat = factory.SubFactory(BeatFactory)
    caught_at = NOON
    caught_on = factory.LazyAttribute(lambda fish: fish.caught_at.date())
    kind = "msw"
    fate = "released"
    weight_kg = Decimal("4.50")


class OldBookFactory(DjangoModelFactory):
    class Meta:
        model = OldBook

    fishery = factory.SubFactory(FisheryFactory)
    what = "months"
    name = "old.csv"
    digest = factory.Sequence(lambda n: f"{n:064d}")
    plan = factory.LazyFunction(dict)
    rows = 1
    brought_in_at = NOON


class MonthlyTotalFactory(DjangoModelFactory):
    class Meta:
        model = MonthlyTotal

    old_book = factory.SubFactory(OldBookFactory)
    fishery = factory.SelfAttribute("old_book.fishery")
    season = 2025
    month = 5
    kind = "msw"
    fate = "kept"
    number = 12
    weight_kg = Decimal("54.50")
    old_row = 2


class ReturnFactory(DjangoModelFactory):
    class Meta:
        model = Return

    fishery = factory.SubFactory(FisheryFactory)
    season = 2025
    version = 1
    state = "nil"
    snapshot = factory.LazyAttribute(
        lambda row: snapshot((), fishery=row.fishery.name, district="51", season=row.season, state="nil")
    )
    fish = factory.LazyFunction(list)
    content_hash = factory.LazyAttribute(lambda row: content_hash(row.snapshot))
    signed_by = factory.SubFactory(UserFactory)
    signed_at = NOON


class ReturnDueFactory(DjangoModelFactory):
    class Meta:
        model = ReturnDue

    fishery = factory.SubFactory(FisheryFactory)
    season = 2025
    due_on = dt.date(2025, 12, 31)


class BoardKeyFactory(DjangoModelFactory):
    class Meta:
        model = BoardKey

    fishery = factory.SubFactory(FisheryFactory)
    label = "district board"
    digest = factory.Sequence(lambda n: f"{n:064d}")
    created_at = NOON
    expires_at = NOON + dt.timedelta(days=365)


class RotaFactory(DjangoModelFactory):
    class Meta:
        model = Rota

    beat = factory.SubFactory(BeatFactory)
    first_on = dt.date(2026, 5, 4)
    version = factory.Sequence(lambda n: n + 1)
    certificate = factory.LazyFunction(
        lambda: {
            "status": "proven best", "policy": "all-the-water", "cut_short": "", "goals": [], "worth_by_rod": [],
            "second_visits": 0, "follows": [], "binding": [], "closed_pools": {}, "notes": [],
        }
    )  # fmt: skip
    made_at = NOON


class RotaJobFactory(DjangoModelFactory):
    class Meta:
        model = RotaJob

    beat = factory.SubFactory(BeatFactory)
    first_on = dt.date(2026, 5, 4)
    asked_by = factory.SubFactory(UserFactory)
    asked_at = NOON


class TurnFactory(DjangoModelFactory):
    class Meta:
        model = Turn

    rota = factory.SubFactory(RotaFactory)
    day = dt.date(2026, 5, 4)
    part = factory.SubFactory(DayPartFactory, fishery=factory.SelfAttribute("..rota.beat.fishery"))
    rod = factory.Sequence(lambda n: n + 1)
    pool = factory.SubFactory(PoolFactory, beat=factory.SelfAttribute("..rota.beat"))


class AlarmFactory(DjangoModelFactory):
    class Meta:
        model = Alarm

    outing = factory.SubFactory(OutingFactory)
    deadline_number = 1
    due_back_at = factory.SelfAttribute("outing.due_back_at")
    raised_at = factory.SelfAttribute("outing.alarm_at")


class DeliveryFactory(DjangoModelFactory):
    class Meta:
        model = Delivery

    alarm = factory.SubFactory(AlarmFactory)
    about = "overdue"
    channel = "email"
    recipient = factory.Sequence(lambda n: f"keeper{n}@example.org")
    subject = "OVERDUE: somebody"
    body = "Ring them."
    written_at = NOON
    next_try_at = NOON


def client_of(user: User | None) -> APIClient:
    """A client that sends a real token of this person; None for nobody's."""
    client = APIClient()
    if user is not None:
        token = issue_token(user, label="test", now=timezone.now())
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def keeper(fishery: Fishery, role: str = "owner") -> User:
    """A new owner or ghillie of a fishery."""
    user = UserFactory()
    Membership.objects.create(user=user, fishery=fishery, role=role)
    return user


def guest_with_account(fishery: Fishery, **facts) -> Guest:
    """A guest of the fishery who can sign in."""
    user = UserFactory()
    Membership.objects.create(user=user, fishery=fishery, role="guest")
    return GuestFactory(fishery=fishery, user=user, email=user.email, **facts)
