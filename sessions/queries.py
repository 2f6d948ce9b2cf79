"""Who may see which turns, outings and catches; who is out now."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from beats.models import AuditEntry, Beat, Fishery, Gauge, Membership, Reading, User
from beats.queries import beats_kept_by, fisheries_kept_by, kept_by, role_in
from bookings.models import Guest, RodDay
from bookings.queries import own_guests
from sessions.models import BoardKey, Catch, CatchQuerySet, OldBook, Outing, Plan, Return, Rota, RotaJob, Turn


def rotas_visible_to(user: User) -> QuerySet[Rota]:
    """Keepers see every rota; a guest sees published ones they have a turn in."""
    mine = Turn.objects.filter(_own_line(user)).values("rota")
    seen = Q(beat__in=beats_kept_by(user)) | Q(pk__in=mine)
    return Rota.objects.filter(seen).select_related("beat__fishery", "beat__gauge")


def rota_jobs_visible_to(user: User) -> QuerySet[RotaJob]:
    """For keepers alone."""
    return RotaJob.objects.filter(beat__fishery__in=fisheries_kept_by(user)).select_related("beat__fishery")


def turns_visible_to(user: User) -> QuerySet[Turn]:
    """Keepers see every turn, by its part of the day; a guest sees their own line of published rotas."""
    seen = _own_line(user) | Q(part__fishery__in=kept_by(user))
    return Turn.objects.filter(seen).select_related("part", "pool", "guest", "sharer", "rota")


def _own_line(user: User) -> Q:
    """Turns of a published rota on a rod the person fishes or shares."""
    own = own_guests(user)
    return Q(rota__status=Rota.Status.PUBLISHED) & (Q(guest__in=own) | Q(sharer__in=own))


def outings_visible_to(user: User) -> QuerySet[Outing]:
    """Keepers see everybody; a guest sees their own."""
    seen = Q(guest__in=own_guests(user)) | Q(beat__in=beats_kept_by(user))
    return Outing.objects.filter(seen).select_related("guest", "beat__fishery", "pool")


def open_outing(guest: Guest) -> Outing | None:
    """The one they are on the water for, with where it is. One query."""
    rows = Outing.objects.filter(guest=guest, checked_out_at__isnull=True)
    return rows.select_related("beat__fishery", "beat__gauge", "pool").first()


def lately_out(guest: Guest, *, now: dt.datetime) -> Outing | None:
    """The last one that ended within a day: who asks for help just after it is still looked for. One query."""
    rows = Outing.objects.filter(guest=guest, checked_out_at__gte=now - dt.timedelta(hours=24))
    return rows.select_related("beat__fishery", "pool").order_by("-checked_out_at").first()


def plans_visible_to(user: User) -> QuerySet[Plan]:
    """Keepers see everybody's; a guest sees their own."""
    seen = Q(guest__in=own_guests(user)) | Q(beat__in=beats_kept_by(user))
    return Plan.objects.filter(seen).select_related("guest", "beat__fishery", "pool")


def catches_visible_to(user: User) -> CatchQuerySet:
    """Fish that stand in the book: all of them for keepers, your own for guests."""
    return catches_ever_visible_to(user).standing()


def catches_ever_visible_to(user: User) -> CatchQuerySet:
    """Those struck out, too."""
    seen = Q(guest__in=own_guests(user)) | Q(beat__in=beats_kept_by(user))
    return Catch.objects.filter(seen).select_related("beat__fishery", "beat__gauge", "pool", "guest")


def flagged_fish(fishery: Fishery, season: int) -> QuerySet[Catch]:
    """Those the law or the house has something against, in the order they were caught."""
    fish = Catch.objects.standing().filter(beat__fishery=fishery, caught_on__year=season).exclude(flag="")
    return fish.select_related("beat", "pool").order_by("caught_on", "id")


def anglers_about(fishery: Fishery, *, day: dt.date) -> QuerySet[Guest]:
    """Who may have caught something: with a rod, or out, in the week up to a day."""
    since = day - dt.timedelta(days=6)
    rods = RodDay.objects.filter(beat__fishery=fishery, day__range=(since, day))
    outings = Outing.objects.filter(Q(checked_in_at__date__gte=since) | Q(checked_out_at__isnull=True))
    seen = Q(pk__in=rods.values("guest")) | Q(pk__in=rods.values("sharer")) | Q(pk__in=outings.values("guest"))
    return Guest.objects.filter(seen, fishery=fishery).order_by("name", "id")


def rods_let(fishery: Fishery) -> QuerySet[RodDay]:
    """Rod-days of confirmed lets, the days fished of one cancelled half-way included; a hold is no effort yet."""
    return RodDay.objects.filter(beat__fishery=fishery, let__confirmed_at__isnull=False)


def outings_seen() -> QuerySet[Outing]:
    """Outings that somebody was seen on: one that a plan began alone proves nothing until its angler is heard."""
    began_alone = Q(unconfirmed=True) & (
        Q(checked_out_at__isnull=True) | Q(begun_from__called_off_at__isnull=False)
    )
    return Outing.objects.exclude(began_alone)


def history_of(fish: Catch) -> QuerySet[AuditEntry]:
    """What was done to a fish, oldest first."""
    return AuditEntry.objects.filter(subject=f"fishing_sessions.catch:{fish.pk}").order_by("at", "id")


def water_at(gauge: Gauge, at: dt.datetime) -> Reading | None:
    """What the gauge read at an instant, faults left out; None when that was too old by then. One query."""
    believed = Q(trusted__isnull=True) | Q(trusted=True)
    reading = Reading.objects.filter(believed, gauge=gauge, at__lte=at).order_by("-at").first()
    stale = dt.timedelta(minutes=gauge.stale_after_minutes)
    return reading if reading and at - reading.at <= stale else None


def rota_as_seen_by(user: User, pk: int) -> Rota:
    """One rota with the turns this person may see; its certificate only for keepers. Three queries."""
    rota = get_object_or_404(rotas_visible_to(user), pk=pk)
    rota.seen_turns = list(turns_visible_to(user).filter(rota=rota).order_by("day", "part__starts", "rod"))
    if role_in(user, rota.beat.fishery) not in Membership.KEEPERS:
        rota.certificate = None
    return rota


@dataclass(frozen=True)
class BeatDay:
    """A beat on a day: the rota in force, its turns that day, and a newer draft nobody has published."""

    beat: Beat
    rota: Rota | None
    turns: list[Turn]
    draft: Rota | None


def rotas_of_day(fishery: Fishery, day: dt.date) -> list[BeatDay]:
    """Every beat's rota on a day, in order down the river. Three queries."""
    monday = day - dt.timedelta(days=day.weekday())
    week = Rota.objects.filter(beat__fishery=fishery, first_on=monday).exclude(status=Rota.Status.SUPERSEDED)
    newest = {(rota.beat_id, rota.status): rota for rota in week.defer("certificate").order_by("version")}
    turns: dict[int, list[Turn]] = {}
    standing = Turn.objects.filter(rota__in=[rota for rota in newest.values() if _stands(rota)], day=day)
    for turn in standing.select_related("part", "pool", "guest", "sharer").order_by("part__starts", "rod"):
        turns.setdefault(turn.rota_id, []).append(turn)
    told = []
    for beat in fishery.beats.order_by("order", "id"):
        rota, draft = (newest.get((beat.pk, status)) for status in (Rota.Status.PUBLISHED, Rota.Status.DRAFT))
        newer = draft if draft and (rota is None or draft.version > rota.version) else None
        told.append(BeatDay(beat, rota, turns.get(rota.pk, []) if rota else [], newer))
    return told


def _stands(rota: Rota) -> bool:
    return rota.status == Rota.Status.PUBLISHED


def tally(fishery: Fishery, *, now: dt.datetime) -> list[Outing]:
    """Who is out now, the one to look for first at the top: overdue longest, then due soonest."""
    out = Outing.objects.filter(beat__fishery=fishery, checked_out_at__isnull=True)
    rows = list(out.select_related("guest", "beat", "pool").order_by("alarm_at", "-alone", "id"))
    for outing in rows:
        outing.standing = standing(outing, now)
    return rows


def standing(outing: Outing, now: dt.datetime) -> str:
    """One word for where an outing stands: out, late (past due back), overdue (alarm due), back."""
    if outing.checked_out_at:
        return "back"
    if now >= outing.alarm_at:
        return "overdue"
    return "late" if now >= outing.due_back_at else "out"


def turns_withdrawn(user: User, rota: Rota) -> QuerySet[Turn]:
    """Turns of the versions that a published rota replaced: all of them for keepers, your own for guests."""
    mine = Q(guest__user=user) | Q(rota__beat__fishery__in=fisheries_kept_by(user))
    replaced = Turn.objects.filter(
        rota__beat=rota.beat_id, rota__first_on=rota.first_on, rota__status=Rota.Status.SUPERSEDED
    )
    return replaced.filter(mine).select_related("part", "pool", "guest").order_by("rota__version", "id")


def rota_in_force(rota: Rota) -> Rota:
    """The rota itself, or the published one that replaced it."""
    if rota.status != Rota.Status.SUPERSEDED:
        return rota
    week = Rota.objects.filter(beat=rota.beat_id, first_on=rota.first_on, status=Rota.Status.PUBLISHED)
    return week.select_related("beat__fishery").first() or rota


def rota_before(rota: Rota) -> Rota | None:
    """What a published rota replaced last, or what a draft would replace."""
    week = Rota.objects.filter(beat=rota.beat_id, first_on=rota.first_on)
    if rota.status == Rota.Status.DRAFT:
        return week.filter(status=Rota.Status.PUBLISHED).first()
    return week.filter(status=Rota.Status.SUPERSEDED).order_by("-published_at", "-version").first()


def last_signed(fishery: Fishery, season: int) -> Return | None:
    return Return.objects.filter(fishery=fishery, season=season).order_by("-version").defer("fish").first()


def board_keys_visible_to(user: User) -> QuerySet[BoardKey]:
    """Keys of the fisheries one belongs to; only the owner may list or revoke them."""
    return BoardKey.objects.filter(fishery__memberships__user=user).select_related("fishery")


def old_books_visible_to(user: User) -> QuerySet[OldBook]:
    """Those of the fisheries one belongs to; only the owner may list or take them out."""
    return OldBook.objects.filter(fishery__memberships__user=user).select_related("fishery")
