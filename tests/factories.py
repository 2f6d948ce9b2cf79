"""Rows for tests. Everything is invented."""

import datetime as dt
from decimal import Decimal

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory
from rest_framework.test import APIClient

from beats.authentication import issue_token
from beats.models import (
    Beat,
    DayPart,
    Fishery,
    Gauge,
    GaugeKey,
    Membership,
    Observation,
    Pool,
    PoolClosure,
    Reading,
    TideWater,
    User,
)
from beats.shared.signing import new_secret
from bookings.models import (
    BeatClosure,
    CalendarFeed,
    Guest,
    Hook,
    HookMessage,
    LedgerEntry,
    Let,
    LettingSeason,
    Offer,
    Paper,
    PaymentKey,
    RodDay,
    SameWeek,
    Tariff,
    Terms,
    Waiting,
)
from safety.models import (
    Alarm,
    AnglerMessage,
    AreaWarning,
    Delivery,
    Drill,
    Duty,
    Incident,
    PushAddress,
    Recall,
    RecallCall,
)
from sessions.models import (
    BoardKey,
    Catch,
    EffortDecision,
    MonthlyTotal,
    MonthStatement,
    OldBook,
    Outing,
    Plan,
    Return,
    ReturnDue,
    ReviewAnswer,
    Rota,
    RotaJob,
    Turn,
)
from sessions.snapshot import content_hash, snapshot

NOON = dt.datetime(2026, 5, 6, 11, 0, tzinfo=dt.UTC)
"""Wednesday 6 May 2026, noon in Britain: an open day in most districts."""


ONE_STAGE = {"stages": [{"after_minutes": 0, "who": ["keeper"]}]}
"""A ladder of one rung, for tests of what happens on a rung; `watch_policy=None` is the usual ladder."""


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
    watch_policy = factory.LazyFunction(lambda: {"ladder": ONE_STAGE})


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


class TideWaterFactory(DjangoModelFactory):
    class Meta:
        model = TideWater

    beat = factory.SubFactory(BeatFactory)
    at = NOON
    height_m = 4.0
    kind = "high"


class ObservationFactory(DjangoModelFactory):
    class Meta:
        model = Observation

    beat = factory.SubFactory(BeatFactory)
    at = NOON
    wind_from_deg = 240.0
    wind_mps = 5.0


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
    status = "confirmed"
    confirmed_at = factory.LazyAttribute(lambda let: let.made_at if let.status == "confirmed" else None)
    expires_at = factory.LazyAttribute(lambda let: NOON + dt.timedelta(days=2) if let.status == "held" else None)


class RodDayFactory(DjangoModelFactory):
    class Meta:
        model = RodDay

    let = factory.SubFactory(LetFactory)
    beat = factory.SelfAttribute("let.beat")
    day = dt.date(2026, 5, 4)
    rod = factory.Sequence(lambda n: n + 1)


class BeatClosureFactory(DjangoModelFactory):
    class Meta:
        model = BeatClosure

    beat = factory.SubFactory(BeatFactory)
    from_on = dt.date(2026, 6, 1)
    to_on = factory.Sequence(lambda n: dt.date(2026, 6, 2) + dt.timedelta(days=n % 100))
    reason = "the bridge is out"


class LettingSeasonFactory(DjangoModelFactory):
    class Meta:
        model = LettingSeason

    fishery = factory.SubFactory(FisheryFactory)
    year = factory.Sequence(lambda n: 2028 + n % 99)  # 2027 is left to the tests that open a season
    answer_by = dt.date(2026, 12, 1)
    opened_at = NOON


class SameWeekFactory(DjangoModelFactory):
    class Meta:
        model = SameWeek

    last_let = factory.SubFactory(LetFactory)
    season = factory.SubFactory(LettingSeasonFactory, fishery=factory.SelfAttribute("..last_let.beat.fishery"))
    week = 13
    first_on = dt.date(2027, 5, 3)
    last_on = dt.date(2027, 5, 8)


class OfferFactory(DjangoModelFactory):
    class Meta:
        model = Offer

    let = factory.SubFactory(LetFactory, status="held")
    same_week = factory.SubFactory(SameWeekFactory, last_let__beat=factory.SelfAttribute("...let.beat"))
    number = 0


class WaitingFactory(DjangoModelFactory):
    class Meta:
        model = Waiting

    guest = factory.SubFactory(GuestFactory)
    fishery = factory.SelfAttribute("guest.fishery")
    since = NOON


class TermsFactory(DjangoModelFactory):
    class Meta:
        model = Terms

    fishery = factory.SubFactory(FisheryFactory)


class TariffFactory(DjangoModelFactory):
    class Meta:
        model = Tariff

    fishery = factory.SubFactory(FisheryFactory)
    first_on = factory.Sequence(lambda n: dt.date(2026, 1, 1) + dt.timedelta(days=n % 90))
    rod_day = Decimal("100.00")


class LedgerEntryFactory(DjangoModelFactory):
    class Meta:
        model = LedgerEntry

    guest = factory.SubFactory(GuestFactory)
    fishery = factory.SelfAttribute("guest.fishery")
    kind = "payment"
    amount = Decimal("-50.00")
    currency = "GBP"
    booked_on = NOON.date()
    entered_at = NOON


class CalendarFeedFactory(DjangoModelFactory):
    class Meta:
        model = CalendarFeed

    guest = factory.SubFactory(GuestFactory)
    fishery = factory.SelfAttribute("guest.fishery")
    label = "telephone"
    digest = factory.Sequence(lambda n: f"{n:064x}")
    created_at = NOON


class PaperFactory(DjangoModelFactory):
    class Meta:
        model = Paper

    let = factory.SubFactory(LetFactory)
    edition = factory.Sequence(lambda n: n + 1)
    recipient = "guest@example.org"
    written_at = NOON
    next_try_at = NOON


class HookFactory(DjangoModelFactory):
    class Meta:
        model = Hook

    fishery = factory.SubFactory(FisheryFactory)
    url = "https://hooks.example.org/lets"
    label = "the accounts"
    secret = factory.LazyFunction(new_secret)
    created_at = NOON


class HookMessageFactory(DjangoModelFactory):
    class Meta:
        model = HookMessage

    hook = factory.SubFactory(HookFactory)
    event = "let.confirmed"
    body = '{"type": "let.confirmed"}'
    written_at = NOON
    next_try_at = NOON


class PaymentKeyFactory(DjangoModelFactory):
    class Meta:
        model = PaymentKey

    fishery = factory.SubFactory(FisheryFactory)
    label = "the bank"
    secret = factory.LazyFunction(new_secret)
    created_at = NOON


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


class EffortDecisionFactory(DjangoModelFactory):
    class Meta:
        model = EffortDecision

    fishery = factory.SubFactory(FisheryFactory)
    season = 2025
    month = 5
    rod_days = 1
    reason = "counted by hand"
    decided_by = factory.SubFactory(UserFactory)
    decided_at = NOON


class MonthStatementFactory(DjangoModelFactory):
    class Meta:
        model = MonthStatement

    fishery = factory.SubFactory(FisheryFactory)
    season = 2025
    month = 6
    record = "no_fishing"
    stated_by = factory.SubFactory(UserFactory)
    stated_at = NOON


class ReviewAnswerFactory(DjangoModelFactory):
    class Meta:
        model = ReviewAnswer

    fishery = factory.SubFactory(FisheryFactory)
    season = 2025
    code = "flagged"
    question = "1 fish is flagged."
    reason = "Looked at."
    answered_by = factory.SubFactory(UserFactory)
    answered_at = NOON


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
    made_by = factory.SubFactory(UserFactory)
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


class AnglerMessageFactory(DjangoModelFactory):
    class Meta:
        model = AnglerMessage

    fishery = factory.SubFactory(FisheryFactory)
    sender = "+447700900111"
    text = "broke my rod tip"
    received_at = NOON
    outcome = "not understood"
    understood = False


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


class PushAddressFactory(DjangoModelFactory):
    """A phone with the keys of RFC 8291, Appendix A."""

    class Meta:
        model = PushAddress

    user = factory.SubFactory(UserFactory)
    endpoint = factory.Sequence(lambda n: f"https://push.example.org/p/{n}")
    public_key = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
    auth_secret = "BTBZMqHH6r4Tts7J_aSIgg"
    label = "phone"
    made_at = NOON


class PlanFactory(DjangoModelFactory):
    class Meta:
        model = Plan

    beat = factory.SubFactory(BeatFactory)
    guest = factory.SubFactory(GuestFactory, fishery=factory.SelfAttribute("..beat.fishery"))
    alone = True
    out_at = NOON
    due_back_at = NOON + dt.timedelta(hours=4)
    planned_at = NOON - dt.timedelta(hours=12)


class RecallFactory(DjangoModelFactory):
    class Meta:
        model = Recall

    beat = factory.SubFactory(BeatFactory)
    reason = "the river is rising."
    called_at = NOON


class RecallCallFactory(DjangoModelFactory):
    class Meta:
        model = RecallCall

    recall = factory.SubFactory(RecallFactory)
    outing = factory.SubFactory(OutingFactory, beat=factory.SelfAttribute("..recall.beat"))
    told_at = NOON
    due_at = NOON + dt.timedelta(minutes=15)


class AreaWarningFactory(DjangoModelFactory):
    class Meta:
        model = AreaWarning

    fishery = factory.SubFactory(FisheryFactory)
    kind = "flood"
    level = "warning"
    text = "The river is expected to leave its banks"
    from_at = NOON
    until_at = NOON + dt.timedelta(hours=12)
    entered_at = NOON


class DutyFactory(DjangoModelFactory):
    class Meta:
        model = Duty

    fishery = factory.SubFactory(FisheryFactory)
    user = factory.SubFactory(UserFactory)
    from_at = NOON
    until_at = factory.LazyFunction(lambda: timezone.now() + dt.timedelta(days=1))


class DrillFactory(DjangoModelFactory):
    class Meta:
        model = Drill

    fishery = factory.SubFactory(FisheryFactory)
    asked_at = NOON


class IncidentFactory(DjangoModelFactory):
    class Meta:
        model = Incident

    fishery = factory.SubFactory(FisheryFactory)
    kind = "near_miss"
    title = "slipped at the tail"
    opened_at = NOON
    timeline = factory.LazyFunction(
        lambda: [{"at": NOON.isoformat(), "what": "check out", "who": "by the watch", "facts": ""}]
    )


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
