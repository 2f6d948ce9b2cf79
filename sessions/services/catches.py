"""Writing a fish into the book, truthfully, whatever the law says of it."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.http import Http404

from beats.audit import record
from beats.models import Beat, Membership, Pool, User
from beats.queries import local_day, role_in, rulings
from beats.season import LawNotHeld, Status
from beats.shared.once import Once, make_once
from beats.shared.refusals import Refusal
from bookings.models import Guest
from sessions.models import Catch

CLOCK_SKEW = dt.timedelta(minutes=2)


class NotYetCaught(Refusal):
    """A fish from the future."""

    code = "caught-in-the-future"
    title = "Not caught yet"
    status = 400


def note_catch(
    beat: Beat,
    *,
    pool: Pool | None,
    guest: Guest | None,
    caught_at: dt.datetime,
    kind: str,
    fate: str,
    weight_kg: Decimal | None = None,
    length_cm: Decimal | None = None,
    fly: str = "",
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Catch, bool]:
    """Write one fish down. Returns (fish, new?).

    Guests write their own fish, keepers anybody's. A fish the law or the house would not allow is
    still written as it was; `cautions_of` says what is the matter. Raises NotYetCaught, KeyReused;
    Http404 for water or guests that are not the caller's.
    """
    _require_own(beat, guest, by)
    if pool is not None and pool.beat_id != beat.pk:
        raise Http404
    if caught_at > now + CLOCK_SKEW:
        raise NotYetCaught("The fish is dated in the future. Give the time it was caught.")

    def make(columns: dict[str, Any]) -> Catch:
        fish = Catch.objects.create(
            beat=beat, pool=pool, guest=guest, caught_at=caught_at, caught_on=local_day(beat.fishery, caught_at),
            kind=kind, fate=fate, weight_kg=weight_kg, length_cm=length_cm, fly=fly, **columns,
        )  # fmt: skip
        facts = {"kind": kind, "fate": fate, "weight_kg": weight_kg, "caught_on": fish.caught_on}
        record("note catch", fish, by=by, now=now, fishery=beat.fishery, after=facts)
        return fish

    return make_once(Catch, by=by, once=once, make=make)


def cautions_of(fish: Catch) -> list[str]:
    """What the owner should look at: a fish caught on a closed day, or kept when it had to go back."""
    try:
        (ruling,) = rulings(fish.beat.fishery, [fish.caught_on])
    except LawNotHeld as unknown:  # an old book: the fish is in, and nobody here can judge it
        return [unknown.sentence]
    if ruling.status is Status.CLOSED:
        return [f"Caught on a closed day. {ruling.reasons[0].text} Written down as it was; tell the owner."]
    sea_trout = fish.kind in {Catch.Kind.SEA_TROUT, Catch.Kind.FINNOCK}
    back = [
        reason
        for reason in ruling.reasons
        if reason.status is Status.RELEASE_ONLY and not (sea_trout and reason.fish == "salmon")
    ]
    if back and fish.fate == Catch.Fate.KEPT:
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
