"""Keeping the diary behind the calendars in step with a let's rod-days."""

import datetime as dt
from collections import Counter

from bookings.models import DiaryDay, Let

Key = tuple[dt.date, int | None]


def keep_diary(let: Let, *, now: dt.datetime) -> None:
    """Bring the diary to what the let's rod-days say; inside the transaction that changed them.

    Days taken off stay, marked as gone; a day that comes back is the same event again.
    """
    wanted = _wanted(let)
    known = {(row.day, row.guest_id): row for row in let.diary.all()}
    DiaryDay.objects.bulk_create(
        DiaryDay(let=let, beat_id=let.beat_id, day=day, guest_id=guest, rods=rods, changed_at=now)
        for (day, guest), rods in wanted.items()
        if (day, guest) not in known
    )
    changed = [row for key, row in known.items() if _adjust(row, wanted.get(key), let, now)]
    DiaryDay.objects.bulk_update(changed, ["rods", "beat", "sequence", "changed_at", "gone_at"])


def _wanted(let: Let) -> dict[Key, int]:
    """Rods for each day, for the beat (None) and for each guest: who booked sees every day."""
    rods: Counter[Key] = Counter()
    for day, guest, sharer in let.rod_days.values_list("day", "guest", "sharer"):
        for whose in {None, let.booker_id, guest, sharer}:
            rods[day, whose] += 1
    return dict(rods)


def _adjust(row: DiaryDay, rods: int | None, let: Let, now: dt.datetime) -> bool:
    """Whether the row had to change."""
    if rods is None:
        if row.gone_at is not None:
            return False
        row.gone_at = now
    elif (row.rods, row.gone_at, row.beat_id) == (rods, None, let.beat_id):
        return False
    else:
        row.rods, row.gone_at, row.beat_id = rods, None, let.beat_id
    row.sequence, row.changed_at = row.sequence + 1, now
    return True
