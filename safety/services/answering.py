"""A named person answers for an alarm; an angler asks for help."""

import datetime as dt

from django.db import transaction

from beats.audit import record
from beats.models import Membership, User
from beats.queries import require_role
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from safety.models import Acknowledgement, Alarm
from safety.queries import same_occasion
from safety.services.people import Crew
from safety.services.points import crash_point
from safety.services.raising import raise_all
from sessions.models import Outing
from sessions.services.outings import require_own

SHORTEST, LONGEST = 2, 60
"""Minutes a promise may last. Common practice, no source: nobody is out of mind for longer than an hour."""


class AlarmOver(Refusal):
    """The alarm has been cleared: its angler is back or was heard from."""

    code = "alarm-over"
    title = say("That alarm is over")


class BadPromise(Refusal):
    """A promise too short to be kept or too long to be trusted."""

    code = "bad-promise"
    title = say("That promise will not do")
    status = 400


@transaction.atomic
def answer_for(alarm: Alarm, *, minutes: int, note: str = "", by: User, now: dt.datetime) -> Acknowledgement:
    """`by` goes and looks, and says by when they will have an answer; until then the ladder holds still.

    If nothing is heard by then, the alarm comes back with its next stage. Raises NotYours, AlarmOver,
    BadPromise.
    """
    require_role(by, alarm.outing.beat.fishery, *Membership.KEEPERS)
    if not SHORTEST <= minutes <= LONGEST:
        raise BadPromise(
            say(
                "Promise an answer within {shortest} to {longest} minutes. The alarm comes back after that.",
                shortest=SHORTEST,
                longest=LONGEST,
            ),
            errors={"minutes": [say("From {shortest} to {longest}.", shortest=SHORTEST, longest=LONGEST)]},
        )
    locked(Outing.objects, pk=alarm.outing_id)
    newest = _newest(alarm)
    if newest.cleared_at is not None:
        raise AlarmOver(
            say("This alarm is over: they are off the water, or were heard from. Nothing is left to answer for.")
        )
    until = now + dt.timedelta(minutes=minutes)
    ack = Acknowledgement.objects.create(
        alarm=newest, by=by, name=str(by), at=now, promised_until=until, note=note.strip()
    )
    newest.next_at = until
    newest.save(update_fields=["next_at"])
    record("answer for alarm", newest, by=by, now=now, fishery=alarm.outing.beat.fishery,
           after={"promised_until": until, "stage": newest.stage})  # fmt: skip
    crash_point("before commit of an answer")
    return ack


def _newest(alarm: Alarm) -> Alarm:
    """The highest stage of the same occasion: that is the one that climbs."""
    return same_occasion(alarm).order_by("-stage").first()


@transaction.atomic
def ask_for_help(
    outing: Outing, *, by: User | None, now: dt.datetime, occasion: int = 0, words: str = ""
) -> Alarm:
    """The angler asks for help: the ladder begins now, whatever the time. Asked again, it is the same alarm.

    `words` came with the call and are kept; more of them later are added. An outing that has ended can have one.
    """
    if by is not None:
        require_own(outing.guest, by)
    outing = locked(Outing.objects.select_related("guest", "beat__fishery", "pool"), pk=outing.pk)
    asked = Alarm.objects.filter(outing=outing, kind=Alarm.Kind.HELP, cleared_at__isnull=True).order_by("stage")
    words = words.strip()
    if first := asked.first():
        _add_words(list(asked), words)
        return first
    count = Alarm.objects.filter(outing=outing, kind=Alarm.Kind.HELP).values("occasion").distinct().count()
    alarm = Alarm(
        outing=outing, kind=Alarm.Kind.HELP, deadline_number=0, occasion=occasion or count + 1, stage=1,
        due_back_at=outing.due_back_at, alarm_at=now, raised_at=now, words=words,
    )  # fmt: skip
    raise_all([alarm], Crew(now), now=now)
    return alarm


def _add_words(alarms: list[Alarm], words: str) -> None:
    for alarm in alarms:
        if words and words not in alarm.words:
            alarm.words = f"{alarm.words}\n{words}".strip()
            alarm.save(update_fields=["words"])
