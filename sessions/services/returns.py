"""Signing the return, and when it is due."""

import calendar
import datetime as dt
from decimal import Decimal

from django.db import transaction

from beats.audit import record
from beats.models import Fishery, User
from beats.queries import Role, require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import joined, say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from sessions.declaration import DECLARATION, Signer
from sessions.models import EffortDecision, Return, ReturnDue
from sessions.returns import SeasonReturn, counted, season_return
from sessions.snapshot import differences


class BookChanged(Refusal):
    """The figures are no longer those the owner read."""

    code = "book-changed"
    title = say("The book changed meanwhile")


class NothingNew(Refusal):
    """The same figures are signed already."""

    code = "nothing-new"
    title = say("Signed already")


class TooManyRodDays(Refusal):
    """More rod-days than there are rods and days."""

    code = "too-many-rod-days"
    title = say("More rods than there are")
    status = 400


class SeasonNotRecorded(Refusal):
    """A month has no record, or the season has not begun or is not over."""

    code = "season-not-recorded"
    title = say("The record is not complete")


class SignerWanted(Refusal):
    """The signer's name, capacity or address is missing, or the declaration."""

    code = "signer-wanted"
    title = say("Say who signs")
    status = 400


class ReasonWanted(Refusal):
    """A signed return is amended without a word why."""

    code = "reason-wanted"
    title = say("Say why")
    status = 400


def sign_return(
    fishery: Fishery,
    season: int,
    *,
    content_hash: str,
    signer: Signer,
    reason: str = "",
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Return, bool]:
    """Freeze the season's figures as the owner read them. Returns (version, new?).

    `content_hash` names the figures that were read; when the book says otherwise by now nothing is
    signed. A later signing is an amendment, a version of its own, and needs a reason. Raises SignerWanted,
    BookChanged, SeasonNotRecorded, NothingNew, ReasonWanted, NotYours, KeyReused.
    """
    require_role(by, fishery, Role.OWNER)
    if missing := signer.missing():
        raise SignerWanted(joined([text for texts in missing.values() for text in texts]), errors=missing)

    def make(columns: dict) -> Return:
        locked(Fishery.objects, pk=fishery.pk)  # one signing at a time
        made, fish = _figures(fishery, season, content_hash, now)
        if made.obstacles:
            raise SeasonNotRecorded(joined(made.obstacles))
        last = Return.objects.filter(fishery=fishery, season=season).order_by("-version").first()
        _look_at_last(last, made, reason)
        signed = Return.objects.create(
            fishery=fishery, season=season, version=last.version + 1 if last else 1, state=made.state,
            snapshot=made.snapshot, fish=fish, content_hash=made.content_hash,
            findings=[vars(finding) for finding in made.findings],
            differences=differences(last.snapshot, made.snapshot) if last else [],
            reason=reason if last else "", signed_by=by, signed_at=now,
            signer_name=signer.name.strip(), signer_capacity=signer.capacity,
            signer_address=signer.address.strip(), declaration=str(DECLARATION), **columns,
        )  # fmt: skip
        facts = {"season": season, "version": signed.version, "hash": made.content_hash, "reason": reason,
                 "capacity": signer.capacity}  # fmt: skip
        record("sign return", signed, by=by, now=now, fishery=fishery, after=facts)
        return signed

    return make_once(Return, by=by, once=once, make=make)


def _figures(fishery: Fishery, season: int, asked: str, now: dt.datetime) -> tuple[SeasonReturn, list]:
    """The figures and the fish they are made of, which must be the ones asked for."""
    made = season_return(fishery, season, now=now)
    rows = list(counted(fishery, season).order_by("id").values_list("id", "version", "weight_kg"))
    caught = sum((weight or Decimal(0) for *_, weight in rows), Decimal(0))
    cells = [cell for kinds in made.totals.values() for cell in kinds.values()]
    same = (len(rows), caught) == (sum(cell.number for cell in cells), sum(cell.weight_kg for cell in cells))
    if made.made_of == "months":
        same = not rows  # the figures came in one question; no fish may have come since
    if made.content_hash != asked or not same:
        raise BookChanged(say("The book changed since you read these figures. Read them again, then sign."))
    return made, [[pk, version] for pk, version, _ in rows]


def _look_at_last(last: Return | None, made: SeasonReturn, reason: str) -> None:
    if last is None:
        return
    if last.content_hash == made.content_hash:
        raise NothingNew(
            say("Version {last_version} says exactly this. There is nothing to amend.", last_version=last.version)
        )
    if not reason.strip():
        raise ReasonWanted(
            say("This season is signed already. Say why it is amended."),
            errors={"reason": [say("Say why it is amended.")]},
        )


@transaction.atomic
def set_due(
    fishery: Fishery,
    season: int,
    *,
    due_on: dt.date,
    anglers_due_on: dt.date | None,
    remind_days: int,
    by: User,
    now: dt.datetime,
) -> ReturnDue:
    """Say when a season's return is to be in; a new date is reminded of anew."""
    require_role(by, fishery, Role.OWNER)
    facts = {"due_on": due_on, "anglers_due_on": anglers_due_on, "remind_days": remind_days}
    due, _ = ReturnDue.objects.update_or_create(
        fishery=fishery, season=season, defaults=facts | {"reminded_at": None, "leased_until": None}
    )
    record("set return due", due, by=by, now=now, fishery=fishery, after=facts | {"season": season})
    return due


def decide_effort(
    fishery: Fishery,
    season: int,
    *,
    month: int,
    rod_days: int,
    reason: str,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[EffortDecision, bool]:
    """The owner's word on a month's rod-days, over what lets and check-ins say. Returns (decision, new?).

    Raises TooManyRodDays when the fishery has not so many rods, NotYours, KeyReused.
    """
    require_role(by, fishery, Role.OWNER)
    rods = sum(fishery.beats.values_list("rods", flat=True))
    most = rods * calendar.monthrange(season, month)[1]
    if rod_days > most:
        told = f"With {rods} rods that month has {most} rod-days at most. Count each rod once a day."
        raise TooManyRodDays(told, errors={"rod_days": [told]})

    def make(columns: dict) -> EffortDecision:
        facts = {"season": season, "month": month, "rod_days": rod_days, "reason": reason}
        made = EffortDecision.objects.create(fishery=fishery, decided_by=by, decided_at=now, **facts, **columns)
        record("decide effort", made, by=by, now=now, fishery=fishery, after=facts)
        return made

    return make_once(EffortDecision, by=by, once=once, make=make)
