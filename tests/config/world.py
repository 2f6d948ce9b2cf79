"""One of everything in one fishery, with people of every part."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from beats.models import User
from safety.services.pulse import beat_pulse
from tests.factories import (
    AlarmFactory,
    BeatFactory,
    CatchFactory,
    DayPartFactory,
    DeliveryFactory,
    DrillFactory,
    DutyFactory,
    FisheryFactory,
    GaugeFactory,
    GaugeKeyFactory,
    IncidentFactory,
    LetFactory,
    OutingFactory,
    PlanFactory,
    PoolClosureFactory,
    PoolFactory,
    ReadingFactory,
    RecallCallFactory,
    RecallFactory,
    RodDayFactory,
    RotaFactory,
    RotaJobFactory,
    TurnFactory,
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
    recall = RecallFactory(beat=beat)
    RecallCallFactory(recall=recall, outing=outing)
    beat_pulse("sweep", now=now)
    rows |= {
        "let": let,
        "rod_day": RodDayFactory(let=let, guest=guest, rod=1, day=monday),
        "rota": rota,
        "turn": TurnFactory(rota=rota, rod=1, day=monday, guest=guest, pool=rows["pool"], part=rows["part"]),
        "job": RotaJobFactory(beat=beat),
        "outing": outing,
        "catch": CatchFactory(beat=beat, guest=guest),
        "alarm": alarm,
        "plan": PlanFactory(
            beat=beat,
            guest=guest,
            out_at=now + dt.timedelta(days=1),
            due_back_at=now + dt.timedelta(days=1, hours=4),
        ),
        "recall": recall,
        "quiet_beat": BeatFactory(fishery=fishery),
    }
    people = {"anonymous": None, "guest": guest.user, "other": other.user}
    people |= {role: keeper(fishery, role) for role in ("ghillie", "owner")}
    rows |= {
        "duty": DutyFactory(fishery=fishery, user=people["ghillie"]),
        "drill": DrillFactory(fishery=fishery),
        "incident": IncidentFactory(fishery=fishery, outing=outing),
    }
    return World(people | {"stranger": keeper(FisheryFactory())}, rows)


def _water(fishery) -> dict[str, Any]:
    gauge = GaugeFactory(fishery=fishery)
    beat = BeatFactory(fishery=fishery, gauge=gauge)
    pools = PoolFactory.create_batch(3, beat=beat, wading_grade=0)
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
