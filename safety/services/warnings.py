"""A public body's warning of weather or flood, entered by a keeper. It may call rods off the water at once."""

import datetime as dt
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import Fishery, Membership, User
from beats.queries import require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from safety import levels
from safety.models import AreaWarning
from safety.services.conditions import look_at_water
from safety.services.writing import one_line

LONGEST = dt.timedelta(days=7)


class BadWarning(Refusal):
    """A warning that no public body gives."""

    code = "bad-warning"
    title = say("That warning will not do")
    status = 400


def enter_warning(
    fishery: Fishery, *, kind: str, level: str, text: str, from_at: dt.datetime, until_at: dt.datetime, by: User,
    now: dt.datetime, once: Once | None = None,
) -> tuple[AreaWarning, bool]:  # fmt: skip
    """Note a warning for the whole water and look at once whom it calls in. Returns (warning, new?).

    Raises NotYours, BadWarning.
    """
    require_role(by, fishery, *Membership.KEEPERS)
    _check(kind, level, from_at, until_at, now)

    def make(columns: dict[str, Any]) -> AreaWarning:
        warning = AreaWarning.objects.create(
            fishery=fishery, kind=kind, level=level, text=one_line(text), from_at=from_at, until_at=until_at,
            entered_at=now, **columns,
        )  # fmt: skip
        facts = {"kind": kind, "level": level, "text": text, "from_at": from_at, "until_at": until_at}
        record("enter warning", warning, by=by, now=now, fishery=fishery, after=facts)
        return warning

    warning, made = make_once(AreaWarning, by=by, once=once, make=make)
    if made:
        look_at_water(now=now, fishery=fishery)
    return warning, made


def _check(kind: str, level: str, from_at: dt.datetime, until_at: dt.datetime, now: dt.datetime) -> None:
    if level not in levels.BY_KIND.get(kind, ()):
        known = "; ".join(f"{name}: {', '.join(words)}" for name, words in levels.BY_KIND.items())
        raise BadWarning(
            say("A warning has a level of its kind. {known}.", known=known),
            errors={"level": [say("Not of this kind.")]},
        )
    if not from_at < until_at <= from_at + LONGEST:
        raise BadWarning(
            say(
                "A warning ends after it begins, within {longest_days} days. Enter it anew when it is renewed.",
                longest_days=LONGEST.days,
            ),
            errors={"until_at": [say("Look again.")]},
        )
    if until_at <= now:
        raise BadWarning(
            say("That warning is over. Enter one that is in force."), errors={"until_at": [say("Past.")]}
        )


def end_warning(warning: AreaWarning, *, by: User, now: dt.datetime) -> AreaWarning:
    """The public body took it back. What it called in is let out again. A second time changes nothing."""
    require_role(by, warning.fishery, *Membership.KEEPERS)
    with transaction.atomic():
        warning = locked(AreaWarning.objects.select_related("fishery"), pk=warning.pk)
        if warning.ended_at is not None:
            return warning
        warning.ended_at = now
        warning.save(update_fields=["ended_at"])
        record("end warning", warning, by=by, now=now, fishery=warning.fishery)
    look_at_water(now=now, fishery=warning.fishery)
    return warning
