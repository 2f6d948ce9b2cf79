"""Records who entered something about an outing, and on whose report."""

import datetime as dt
from dataclasses import dataclass

from beats.models import User
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from sessions.models import Outing, OutingEntry

Act = OutingEntry.Act


class BadReport(Refusal):
    """A report that names nobody, or that somebody other than a keeper entered."""

    code = "bad-report"
    title = say("Check who reported this")
    status = 400


@dataclass(frozen=True)
class Report:
    """Who told the keeper, and by what (`OutingEntry.Via`); both empty where the keeper saw it themselves."""

    by: str = ""
    via: str = ""

    def __bool__(self) -> bool:
        return bool(self.by or self.via)

    def as_facts(self) -> dict[str, str]:
        """For the audit row; empty without a report."""
        return {"reported_by": self.by, "reported_via": self.via} if self else {}


NO_REPORT = Report()


def is_angler(outing: Outing, by: User | None) -> bool:
    """True for the angler themselves; a signed text message (`by` None) comes from their number or a keeper's."""
    return by is not None and outing.guest.user_id == by.pk


def add_entry(
    outing: Outing, act: str, *, by: User | None, report: Report, now: dt.datetime,
    heard_before_at: dt.datetime | None = None,
) -> None:  # fmt: skip
    """Add an entry inside the transaction that changes the outing.

    An angler's own check-in or new return time needs none: the outing and the audit row show it. Raises
    BadReport.
    """
    angler = is_angler(outing, by)
    _check(report, by_keeper=by is not None and not angler)
    if angler and act in (Act.CHECK_IN, Act.MORE_TIME):
        return
    OutingEntry.objects.create(
        outing=outing, act=act, at=now, by=by, by_name=str(by)[:120] if by else "", by_angler=angler,
        reported_by=report.by, reported_via=report.via, heard_before_at=heard_before_at,
    )  # fmt: skip


def _check(report: Report, *, by_keeper: bool) -> None:
    if report and not by_keeper:
        raise BadReport(say("Only a keeper enters what somebody else reported. Leave the report out."))
    if report.via and not report.by:
        sentence = say("Give the name of the person who told you.")
        raise BadReport(sentence, errors={"reported_by": [sentence]})
    if report.by and not report.via:
        sentence = say("Choose how they told you.")
        raise BadReport(sentence, errors={"reported_via": [sentence]})
