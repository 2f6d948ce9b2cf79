"""A rod's turns in a guest's calendar, with the same names as in the calendar of the rota."""

import datetime as dt
from collections.abc import Iterable

from django.db.models import Q

from beats.queries import zone_of
from bookings.calendar_sources import calendar_source
from bookings.diary import Happening
from bookings.models import Guest
from sessions.models import Rota, Turn
from sessions.sheets.ical import DO_NOT_FISH, uid_of
from sessions.turn_conditions import add_conditions
from sessions.turn_warnings import calendar_warning


@calendar_source
def turns_of(guest: Guest, now: dt.datetime) -> Iterable[Happening]:
    """Turns of published rotas, with what forbids them; those of replaced ones that are no more as cancelled."""
    mine = Turn.objects.filter(Q(guest=guest) | Q(sharer=guest)).exclude(rota__status=Rota.Status.DRAFT)
    rows = mine.select_related("rota__beat__fishery", "part", "pool").order_by("rota__version", "id")
    newest = {_key(row): row for row in rows}  # a later version stands in the place of an earlier one
    in_force = dict(
        Rota.objects.filter(status=Rota.Status.PUBLISHED, beat__fishery=guest.fishery_id).values_list(
            "pk", "version"
        )
    )
    standing = [row for row in newest.values() if row.rota_id in in_force]
    add_conditions(standing, now=now)
    warned = {row.pk: calendar_warning(row, now.astimezone(zone_of(guest.fishery))) for row in standing}
    for row in newest.values():
        yield _happening(row, cancelled=row.rota_id not in in_force, warning=warned.get(row.pk, ""))


def _key(row: Turn) -> tuple:
    return row.rota.beat_id, row.rota.first_on, row.day, row.part_id, row.rod


def _happening(row: Turn, *, cancelled: bool, warning: str) -> Happening:
    rota, beat = row.rota, row.rota.beat
    return Happening(
        uid=uid_of(beat.fishery.slug, beat.slug, rota.first_on, day=row.day, part=row.part.slug, rod=row.rod),
        day=row.day,
        summary=f"{DO_NOT_FISH if warning else ''}{row.pool.name}, {beat.name}",
        sequence=rota.version + 1 if cancelled else rota.version,
        changed_at=rota.published_at or rota.made_at,
        hours=(row.part.starts, row.part.ends),
        cancelled=cancelled,
        location=f"{row.pool.name}, {beat.name}, {beat.fishery.name}",
        description=f"{warning} Rod {row.rod}, {row.part.name}.".strip(),
    )
