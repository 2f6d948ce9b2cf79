"""One of everything in one fishery, with people of every part."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from beats.authentication import digest_of
from beats.models import User
from bookings.models import RodDay
from safety.services.pulse import beat_pulse
from tests.factories import (
    AlarmFactory,
    AnglerMessageFactory,
    AreaWarningFactory,
    BeatClosureFactory,
    BeatFactory,
    BoardKeyFactory,
    CalendarFeedFactory,
    CatchFactory,
    DayPartFactory,
    DeliveryFactory,
    DrillFactory,
    DutyFactory,
    FisheryFactory,
    GaugeFactory,
    GaugeKeyFactory,
    HookFactory,
    HookMessageFactory,
    IncidentFactory,
    LedgerEntryFactory,
    LetFactory,
    OfferFactory,
    OldBookFactory,
    OutingFactory,
    PaymentKeyFactory,
    PlanFactory,
    PoolClosureFactory,
    PoolFactory,
    PushAddressFactory,
    ReadingFactory,
    RecallCallFactory,
    RecallFactory,
    ReturnDueFactory,
    ReturnFactory,
    RodDayFactory,
    RotaFactory,
    RotaJobFactory,
    TariffFactory,
    TermsFactory,
    TurnFactory,
    WaitingFactory,
    guest_with_account,
    keeper,
)


@dataclass
class World:
    """People by their part, and one row of each kind; all of it is the guest's where it can be."""

    people: dict[str, User | None]
    rows: dict[str, Any]

    def ids(self) -> dict[str, Any]:
        """What a path or a body may name, by kind."""
        return {kind: row.pk for kind, row in self.rows.items()} | {
            "slug": self.rows["fishery"].slug,
            "monday": self.rows["rota"].first_on.isoformat(),
            "ghillie_user": self.people["ghillie"].pk,
            "soon": (timezone.now() + dt.timedelta(hours=1)).isoformat(),
            "later": (timezone.now() + dt.timedelta(hours=3)).isoformat(),
        }


def build() -> World:
    fishery = FisheryFactory()
    guest, other = guest_with_account(fishery), guest_with_account(fishery)
    rows = _water(fishery) | {"guest": guest, "other": other}
    beat = rows["beat"]
    let = LetFactory(beat=beat, booker=guest)
    now = timezone.now()
    monday = now.date() + dt.timedelta(days=7 - now.weekday())  # still to come: a turn that is fished stays
    rota = RotaFactory(beat=beat, status="published", first_on=monday)
    outing = OutingFactory(
        beat=beat, guest=guest, checked_in_at=now - dt.timedelta(hours=1), due_back_at=now + dt.timedelta(hours=1)
    )
    alarm = AlarmFactory(outing=outing)
    DeliveryFactory(alarm=alarm)
    failed = DeliveryFactory(
        alarm=alarm, channel="text", recipient="+447700900199", person=f"guest:{guest.pk}", state="given_up",
        last_fault="NotTaken: The server answered 400.", fault_kind="address", failed_at=now,
    )  # fmt: skip
    recall = RecallFactory(beat=beat)
    RecallCallFactory(recall=recall, outing=outing)
    beat_pulse("sweep", now=now)
    rows |= (
        {
            "let": let,
            "hold": (
                hold := LetFactory(
                    beat=beat,
                    booker=guest,
                    status="held",
                    expires_at=now + dt.timedelta(days=2),
                    first_on=dt.date(2099, 5, 11),
                    last_on=dt.date(2099, 5, 12),
                )
            ),
            "offer": (offer := OfferFactory(let=hold, same_week__last_let=let)),
            "same_week": offer.same_week,
            "waiting": WaitingFactory(guest=guest),
            "beat_closure": BeatClosureFactory(beat=beat),
            "rod_day": RodDayFactory(let=let, guest=guest, rod=1, day=monday),
            "rota": rota,
            "turn": TurnFactory(rota=rota, rod=1, day=monday, guest=guest, pool=rows["pool"], part=rows["part"]),
            "job": RotaJobFactory(beat=beat),
            "outing": outing,
            "catch": CatchFactory(beat=beat, guest=guest),
            "alarm": alarm,
            "undelivered": failed,
            "plan": PlanFactory(
                beat=beat,
                guest=guest,
                out_at=now + dt.timedelta(days=1),
                due_back_at=now + dt.timedelta(days=1, hours=4),
            ),
            "recall": recall,
            "quiet_beat": BeatFactory(fishery=fishery),
        }
        | _money(fishery, guest)
        | _book(fishery)
    )
    people = {"anonymous": None, "guest": guest.user, "other": other.user}
    people |= {role: keeper(fishery, role) for role in ("ghillie", "owner")}
    rows |= {
        "warning": AreaWarningFactory(fishery=fishery),
        "duty": DutyFactory(fishery=fishery, user=people["ghillie"]),
        "drill": DrillFactory(fishery=fishery),
        "incident": IncidentFactory(fishery=fishery, outing=outing),
        "angler_message": AnglerMessageFactory(fishery=fishery, guest=guest, outing=outing),
        "push_address": PushAddressFactory(user=guest.user),
    }
    return World(people | {"stranger": keeper(FisheryFactory())}, rows)


def move_rod_days_to_an_open_day() -> None:
    """The world's rod-days are next Monday's, which the law may close; this day it leaves open."""
    RodDay.objects.update(day=dt.date(2099, 5, 13))


def _money(fishery, guest) -> dict[str, Any]:
    """The guest owes nothing, and their feed's secret is `feed-` and its fishery."""
    hook = HookFactory(fishery=fishery)
    return {
        "terms": TermsFactory(fishery=fishery),
        "price": TariffFactory(fishery=fishery),
        "entry": LedgerEntryFactory(guest=guest),
        "feed": CalendarFeedFactory(guest=guest, made_by=guest.user, digest=digest_of(f"feed-{fishery.slug}")),
        "hook": hook,
        "hook_message": HookMessageFactory(hook=hook),
        "payment_key": PaymentKeyFactory(fishery=fishery),
    }


def _book(fishery) -> dict[str, Any]:
    return {
        "signed": ReturnFactory(fishery=fishery),
        "due": ReturnDueFactory(fishery=fishery),
        "old_book": OldBookFactory(fishery=fishery),
        "board_key": BoardKeyFactory(fishery=fishery),
    }


def _water(fishery) -> dict[str, Any]:
    gauge = GaugeFactory(fishery=fishery)
    beat = BeatFactory(fishery=fishery, gauge=gauge)
    pools = PoolFactory.create_batch(3, beat=beat, wading_grade=0, reference_level_m=0.6)
    ReadingFactory(gauge=gauge, at=timezone.now() - dt.timedelta(minutes=1))
    return {
        "fishery": fishery,
        "part": DayPartFactory(fishery=fishery),
        "gauge": gauge,
        "reading": ReadingFactory(gauge=gauge),
        "key": GaugeKeyFactory(gauge=gauge),
        "beat": beat,
        "pool": pools[0],
        "closure": PoolClosureFactory(pool=pools[0], from_on=dt.date(2026, 6, 1), to_on=dt.date(2026, 6, 2)),
    }
