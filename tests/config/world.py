"""One of everything in one fishery, with people of every part."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from beats.models import User
from tests.factories import (
    AlarmFactory,
    BeatFactory,
    BoardKeyFactory,
    CatchFactory,
    DayPartFactory,
    DeliveryFactory,
    FisheryFactory,
    GaugeFactory,
    GaugeKeyFactory,
    LetFactory,
    OldBookFactory,
    OutingFactory,
    PoolClosureFactory,
    PoolFactory,
    ReadingFactory,
    ReturnDueFactory,
    ReturnFactory,
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
        return {kind: row.pk for kind, row in self.rows.items()} | {"slug": self.rows["fishery"].slug}


def build() -> World:
    fishery = FisheryFactory()
    guest, other = guest_with_account(fishery), guest_with_account(fishery)
    rows = _water(fishery) | {"guest": guest, "other": other}
    beat = rows["beat"]
    let = LetFactory(beat=beat, booker=guest)
    rota = RotaFactory(beat=beat, status="published")
    now = timezone.now()
    outing = OutingFactory(
        beat=beat, guest=guest, checked_in_at=now - dt.timedelta(hours=1), due_back_at=now + dt.timedelta(hours=1)
    )
    alarm = AlarmFactory(outing=outing)
    DeliveryFactory(alarm=alarm)
    rows |= {
        "let": let,
        "rod_day": RodDayFactory(let=let, guest=guest, rod=1),
        "rota": rota,
        "turn": TurnFactory(rota=rota, rod=1, guest=guest, pool=rows["pool"], part=rows["part"]),
        "job": RotaJobFactory(beat=beat),
        "outing": outing,
        "catch": CatchFactory(beat=beat, guest=guest),
        "alarm": alarm,
        "signed": ReturnFactory(fishery=fishery),
        "due": ReturnDueFactory(fishery=fishery),
        "old_book": OldBookFactory(fishery=fishery),
        "board_key": BoardKeyFactory(fishery=fishery),
    }
    people = {"anonymous": None, "guest": guest.user, "other": other.user}
    people |= {role: keeper(fishery, role) for role in ("ghillie", "owner")}
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
