"""Writing fish into the book, truthfully, whatever the law says of them; correcting and striking out."""

import datetime as dt
import hashlib
from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.http import Http404

from beats.audit import record
from beats.models import Beat, Membership, Pool, User
from beats.queries import local_day, require_role, role_in, rulings, zone_of
from beats.season import LawNotHeld, Ruling, Status
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal, Stale
from beats.shared.rows import locked
from bookings.models import Guest
from sessions import plausible, weights
from sessions.models import Catch, Outing, Return
from sessions.queries import water_at

CLOCK_SKEW = dt.timedelta(minutes=2)


class NotYetCaught(Refusal):
    """A fish from the future."""

    code = "caught-in-the-future"
    title = say("Not caught yet")
    status = 400


class NoSuchFish(Refusal):
    """Facts that no fish can have, or that do not go together."""

    code = "no-such-fish"
    title = say("No fish is like that")
    status = 400


class StruckOut(Refusal):
    """The entry has been struck out of the book."""

    code = "struck-out"
    title = say("Struck out")


def note_catch(
    beat: Beat,
    *,
    pool: Pool | None,
    guest: Guest | None,
    caught_at: dt.datetime,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
    **told: Any,
) -> tuple[Catch, bool]:
    """Write one fish down. Returns (fish, new?).

    `told` are columns of Catch by name, `kind` and `fate` at least. Level and temperature that nobody
    told are filled in from the gauge. Guests write their own fish, keepers anybody's. A fish the law or
    the house would not allow is still written as it was, with a flag for the owner. Raises
    NotYetCaught, NoSuchFish, KeyReused; Http404 for water or guests that are not the caller's.
    """
    _require_own(beat, guest, by)
    if pool is not None and pool.beat_id != beat.pk:
        raise Http404
    if caught_at > now + CLOCK_SKEW:
        raise NotYetCaught(say("The fish is dated in the future. Give the time it was caught."))

    def make(columns: dict[str, Any]) -> Catch:
        fish = Catch(beat=beat, pool=pool, guest=guest, caught_at=caught_at, **told, **columns)
        settle(fish)
        fish.save(force_insert=True)
        facts = {"kind": fish.kind, "fate": fish.fate, "weight_kg": fish.weight_kg, "caught_on": fish.caught_on}
        record("note catch", fish, by=by, now=now, fishery=beat.fishery, after=facts)
        return fish

    return make_once(Catch, by=by, once=once, make=make)


@transaction.atomic
def note_fish_of(
    outing: Outing, fish: Sequence[dict[str, Any]], *, by: User, now: dt.datetime, once: Once | None = None
) -> list[tuple[Catch, bool]]:
    """Write down all the fish of an outing, or none. Raises as `note_catch` does."""
    return [
        note_catch(
            outing.beat, guest=outing.guest, outing=outing, **facts, by=by, now=now, once=_nth(once, number)
        )
        for number, facts in enumerate(fish)
    ]  # fmt: skip


def _nth(once: Once | None, number: int) -> Once | None:
    """The key of one fish among those of one request."""
    if once is None:
        return None
    return Once(hashlib.sha256(f"{once.key}:{number}".encode()).hexdigest(), once.fingerprint)


@transaction.atomic
def correct_catch(
    fish: Catch, *, changes: dict[str, Any], reason: str, version: int, by: User, now: dt.datetime
) -> Catch:
    """Change what the book says of a fish; what it said before stays in its history.

    Raises Stale, StruckOut, and as `note_catch` does.
    """
    fish = _held(fish, version=version, by=by)
    if changes.get("caught_at", fish.caught_at) > now + CLOCK_SKEW:
        raise NotYetCaught(say("The fish is dated in the future. Give the time it was caught."))
    if (pool := changes.get("pool")) is not None and pool.beat_id != fish.beat_id:
        raise Http404
    before = {name: getattr(fish, name) for name in changes}
    for name, value in changes.items():
        setattr(fish, name, value)
    if {"length_cm", "weight_how"} & set(changes) and fish.weight_how == Catch.WeightHow.FROM_LENGTH:
        before["weight_kg"], fish.weight_kg = fish.weight_kg, None
    settle(fish, moved="caught_at" in changes)
    fish.version += 1
    fish.save()
    after = {name: getattr(fish, name) for name in before} | {"reason": reason}
    record("correct catch", fish, by=by, now=now, fishery=fish.beat.fishery, before=before, after=after)
    return fish


@transaction.atomic
def strike_out(fish: Catch, *, reason: str, by: User, now: dt.datetime) -> Catch:
    """Take a fish out of every figure, as when two people wrote the same one. It stays to be read.

    A second time changes nothing.
    """
    fish = _locked(fish, by=by)
    if fish.struck_out_at is None:
        fish.struck_out_at, fish.version = now, fish.version + 1
        fish.save(update_fields=["struck_out_at", "version"])
        record("strike out catch", fish, by=by, now=now, fishery=fish.beat.fishery, after={"reason": reason})
    return fish


def _held(fish: Catch, *, version: int, by: User) -> Catch:
    fish = _locked(fish, by=by)
    if fish.struck_out_at:
        raise StruckOut(
            say("This fish has been struck out of the book. Write it down anew if it was one after all.")
        )
    if fish.version != version:
        raise Stale(say("Somebody changed this fish since you read it. Read it again, then make your change."))
    return fish


def _locked(fish: Catch, *, by: User) -> Catch:
    """The fish, held. Once its season is signed only the owner may touch it, who will have to amend."""
    _require_own(fish.beat, fish.guest, by)
    if Return.objects.filter(fishery=fish.beat.fishery_id, season=fish.caught_on.year).exists():
        require_role(by, fish.beat.fishery, Membership.Role.OWNER)
    return locked(Catch.objects.select_related("beat__fishery", "beat__gauge", "guest", "pool"), pk=fish.pk)


def settle(fish: Catch, *, moved: bool = True) -> None:
    """Fill in what follows from what was told. Raises NoSuchFish."""
    fish.caught_on = local_day(fish.beat.fishery, fish.caught_at)
    _settle_size(fish)
    if moved:
        _settle_part(fish)
        _settle_water(fish)
    fish.flag = " ".join(law_of(fish))[:300]


def _settle_size(fish: Catch) -> None:
    reckoned = fish.weight_how == Catch.WeightHow.FROM_LENGTH
    if reckoned and fish.length_cm is None:
        raise _no_fish("length_cm", "Give the length the weight is to be reckoned from.")
    if reckoned and fish.weight_kg is not None and fish.weight_kg != weights.from_length(fish.length_cm).middle:
        raise _no_fish("weight_kg", "Leave the weight out, and it is reckoned from the length.")
    if reckoned:
        fish.weight_kg = weights.from_length(fish.length_cm).middle
    if fish.weight_how and fish.weight_kg is None:
        raise _no_fish("weight_kg", "You say how the weight was got, but not the weight. Give both or neither.")
    if fish.length_how and fish.length_cm is None:
        raise _no_fish("length_cm", "You say how the length was got, but not the length. Give both or neither.")
    if wall := plausible.impossible(fish.weight_kg, fish.length_cm):
        raise _no_fish("length_cm", wall)


def _no_fish(field: str, sentence: str) -> NoSuchFish:
    return NoSuchFish(sentence, errors={field: [sentence]})


def _settle_part(fish: Catch) -> None:
    """The part of the day it was caught in, when nobody said; a part named must be one of the fishery's."""
    parts = {part.slug: part for part in fish.beat.fishery.parts.all()}
    if fish.part and fish.part not in parts:
        raise _no_fish("part", f"There is no part of the day called {fish.part}. There is: {', '.join(parts)}.")
    if not fish.part:
        local = fish.caught_at.astimezone(zone_of(fish.beat.fishery)).time()
        fish.part = next((slug for slug, part in parts.items() if part.starts <= local < part.ends), "")


def _settle_water(fish: Catch) -> None:
    """Level and temperature as the gauge had them then, unless somebody told them."""
    if fish.level_read_at is not None:  # filled in before, for another time
        fish.level_m = fish.water_c = fish.level_read_at = None
    if fish.level_m is not None or fish.beat.gauge_id is None:
        return
    if reading := water_at(fish.beat.gauge, fish.caught_at):
        fish.level_m, fish.level_read_at = reading.level_m, reading.at
        fish.water_c = reading.water_c if fish.water_c is None else fish.water_c


def cautions_of(fish: Catch) -> list[str]:
    """What somebody should look at: the law first, then what is unlikely, then a fish written twice."""
    odd = plausible.doubts(
        fish.kind, month=fish.caught_on.month, weight_kg=fish.weight_kg, length_cm=fish.length_cm
    )
    return [*law_of(fish), *odd, *_twice(fish)]


def _twice(fish: Catch) -> list[str]:
    if fish.weight_kg is None and fish.length_cm is None:
        return []
    same = Catch.objects.standing().filter(
        beat=fish.beat_id, caught_on=fish.caught_on, pool=fish.pool_id, kind=fish.kind, fate=fish.fate,
        weight_kg=fish.weight_kg, length_cm=fish.length_cm,
    )  # fmt: skip
    if not same.exclude(pk=fish.pk).exists():
        return []
    told = "A fish just like this one stands in the book for the same pool and day."
    return [f"{told} If it is the same, strike one out."]


def law_of(fish: Catch) -> list[str]:
    """What the law or the house has against it: caught on a closed day, or kept when it had to go back."""
    try:
        (ruling,) = rulings(fish.beat.fishery, [fish.caught_on])
    except LawNotHeld as unknown:  # an old book: the fish is in, and nobody here can judge it
        return [unknown.sentence]
    return judged(fish.kind, fish.fate, ruling)


def judged(kind: str, fate: str, ruling: Ruling) -> list[str]:
    """What the ruling of its day has against a fish."""
    if ruling.status is Status.CLOSED:
        return [f"Caught on a closed day. {ruling.reasons[0].text} Written down as it was; tell the owner."]
    sea_trout = kind in {Catch.Kind.SEA_TROUT, Catch.Kind.FINNOCK}
    back = [
        reason
        for reason in ruling.reasons
        if reason.status is Status.RELEASE_ONLY and not (sea_trout and reason.fish == "salmon")
    ]
    if back and fate == Catch.Fate.KEPT and kind != Catch.Kind.NON_NATIVE:
        return [f"Kept when it had to go back. {back[0].text} Written down as it was; tell the owner."]
    return []


def _require_own(beat: Beat, guest: Guest | None, by: User) -> None:
    role = role_in(by, beat.fishery)
    if role in Membership.KEEPERS:
        if guest is not None and guest.fishery_id != beat.fishery_id:
            raise Http404
        return
    if role is None or guest is None or guest.user_id != by.pk or guest.fishery_id != beat.fishery_id:
        raise Http404
