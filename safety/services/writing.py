"""What each person is told of an alarm, as rows for the outbox. Nothing is saved here."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

from beats.queries import level_at, light_on, local_day
from safety import card, ladder, wording
from safety.grid_reference import grid_reference
from safety.ladder import Who
from safety.models import Acknowledgement, Alarm, Delivery
from safety.priority import priority_of
from safety.queries import answers_of
from safety.services.channels_available import text_number
from safety.services.people import Crew, Person, angler, pushes_of
from safety.watch_limits import meeting
from sessions.models import Outing

FIRST_ASKED = ladder.Stage(dt.timedelta(0), (Who.ANGLER,))
"""Stage 0: a contact was missed, and the angler alone is asked before anybody else."""


def stage_of(alarm: Alarm, crew: Crew) -> ladder.Stage:
    rungs = crew.policy(alarm.outing.beat).ladder
    return FIRST_ASKED if alarm.stage == 0 else rungs.stages[min(alarm.stage, rungs.last) - 1]


def alarm_messages(alarm: Alarm, crew: Crew, *, now: dt.datetime) -> list[Delivery]:
    """Everybody of the alarm's stage, each by what reaches them; `alarm.unreached` says whom nothing does."""
    outing, fishery = alarm.outing, alarm.outing.beat.fishery
    stage, rules = stage_of(alarm, crew), crew.policy(outing.beat)
    local = now.astimezone(ZoneInfo(fishery.time_zone)).time()
    by = stage.by if alarm.stage == 0 else ladder.channels(
        rules.ladder, alarm.stage, alone=outing.alone, local=local
    )  # fmt: skip
    texts = _Texts(alarm, last=rules.ladder.last, now=now, phone=fishery.phone)
    made: dict[tuple[str, str], Delivery] = {}
    unreached = []
    for who in stage.who:
        found, why = crew.people(who, outing.guest, fishery)
        unreached += [why] if why else []
        for person in found:
            ways = person.ways(by)
            if not ways:
                whom = f"the {who}" if who in (Who.ANGLER, Who.CONTACT) else f"{person.name} ({who})"
                unreached.append(f"{whom} has no address or number that we can use")
            for channel, recipient, rank in (*ways, *crew.pushes(person)):
                said = texts.of(who, channel)
                wait = dt.timedelta(seconds=rules.receipt_seconds) * rank
                made.setdefault(
                    (channel, recipient), _row(alarm, said, (channel, recipient, rank), person, now=now, wait=wait)
                )
    log = _row(alarm, texts.full(), (Delivery.Channel.LOG, fishery.slug, 0), Person("log", "", "", ""), now=now)
    alarm.unreached = "; ".join(dict.fromkeys(unreached))
    return [*made.values(), log]


class _Texts:
    """The three texts of one stage, each worked out when it is first wanted."""

    def __init__(self, alarm: Alarm, *, last: int, now: dt.datetime, phone: str) -> None:
        self.alarm, self.last, self.now, self.phone = alarm, last, now, phone
        self.missing = missing_of(alarm)
        self._full: wording.Words | None = None
        self._answer: list[Acknowledgement] | None = None

    def full(self) -> wording.Words:
        if self._full is None:
            alarm, missing = self.alarm, self.missing
            said = wording.overdue(
                missing, now=self.now, kind=alarm.kind, stage=alarm.stage, turn=alarm.turn, last=self.last,
                answer=self.answer(),
            )  # fmt: skip
            if alarm.stage >= self.last > 1 or alarm.kind == Alarm.Kind.HELP:
                said = wording.Words(
                    said.subject, f"{said.body}\n\n{card.text(card_of(alarm, now=self.now), now=self.now)}"
                )
            self._full = said
        return self._full

    def of(self, who: Who, channel: str) -> wording.Words:
        alarm = self.alarm
        if who is Who.ANGLER:
            return wording.to_the_angler(self.missing, kind=alarm.kind, code=alarm.outing.code)
        if who is Who.CONTACT:
            return wording.to_the_contact(self.missing, kind=alarm.kind, keepers_phone=self.phone)
        said = self.full()
        if channel == Delivery.Channel.EMAIL:
            return said
        text = wording.short(said, self.missing, stage=alarm.stage, now=self.now, answer=self.answer())
        return wording.Words(said.subject, text)

    def answer(self) -> wording.Answer | None:
        """The last answer of the occasion; before the first stage was sent nobody can have given one."""
        first = 0 if self.alarm.kind == Alarm.Kind.CONTACT else 1
        if self.alarm.stage <= first and not self.alarm.turn:
            return None
        if self._answer is None:
            self._answer = answers_of(self.alarm)[:1]
        return next((wording.Answer(row.name, row.at, row.promised_until) for row in self._answer), None)


def _row(alarm, said, way, person, *, now, wait=dt.timedelta(0), about=Delivery.About.OVERDUE) -> Delivery:
    channel, recipient, rank = way
    priority = priority_of(about, kind=alarm.kind, alone=alarm.outing.alone, stage=alarm.stage, repeat=alarm.turn)
    return Delivery(
        alarm_id=alarm.pk, fishery_id=alarm.outing.beat.fishery_id, priority=priority,
        about=about, turn=alarm.turn, channel=channel, recipient=recipient, person=person.key, rank=rank,
        subject=said.subject[:200], body=said.body, written_at=now, next_try_at=now + wait,
    )  # fmt: skip


def all_clear_messages(alarm: Alarm, words: wording.Words, *, now: dt.datetime) -> list[Delivery]:
    """The end of an alarm, to whoever had word of it, once for all its stages and turns."""
    same = Delivery.objects.filter(
        alarm__outing=alarm.outing, alarm__kind=alarm.kind, alarm__deadline_number=alarm.deadline_number,
        alarm__occasion=alarm.occasion,
    )  # fmt: skip
    told = set(same.filter(about=Delivery.About.ALL_CLEAR).values_list("channel", "recipient"))
    had = alarm.deliveries.filter(about=Delivery.About.OVERDUE).exclude(state=Delivery.State.NOT_NEEDED)
    rows = had.values_list("channel", "recipient", "person").order_by("channel", "recipient").distinct()
    return [
        _row(
            alarm,
            words,
            (channel, recipient, 0),
            Person(person, "", "", ""),
            now=now,
            about=Delivery.About.ALL_CLEAR,
        )
        for channel, recipient, person in rows
        if (channel, recipient) not in told
    ]


def angler_messages(outing: Outing, words: wording.Words, *, about: str, turn: int, now: dt.datetime, wait_s: int,
                    recall=None) -> list[Delivery]:  # fmt: skip
    """One message to the angler by each way that reaches them, and a copy to their phones that take pushes."""
    person = angler(outing.guest)
    pushes = pushes_of([person.account]).get(person.account, []) if person.account else []
    return [
        Delivery(
            outing=outing, recall=recall, fishery_id=outing.beat.fishery_id, priority=priority_of(about),
            about=about, turn=turn, channel=channel, recipient=recipient,
            person=person.key, rank=rank, subject=words.subject[:200], body=words.body, written_at=now,
            next_try_at=now + rank * dt.timedelta(seconds=wait_s),
        )
        for channel, recipient, rank in (*person.ways(tuple(ladder.By)), *pushes)
    ]  # fmt: skip


def missing_of(alarm: Alarm) -> wording.Missing:
    found = missing(alarm.outing, number=alarm.pk, due_back_at=alarm.due_back_at)
    return replace(found, words=alarm.words) if alarm.words else found


def missing(outing: Outing, *, number: int, due_back_at: dt.datetime) -> wording.Missing:
    guest, beat, pool, fishery = outing.guest, outing.beat, outing.pool, outing.beat.fishery
    contact = ", ".join(filter(None, (
        guest.emergency_contact_name, guest.emergency_contact_phone, guest.emergency_contact_email,
    )))  # fmt: skip
    zone = ZoneInfo(fishery.time_zone)
    expected = meeting(one_line(outing.meeting_person), outing.meeting_at and outing.meeting_at.astimezone(zone))
    position = ""
    if pool and pool.latitude is not None:
        position = f"{pool.latitude:.5f}, {pool.longitude:.5f} (latitude, longitude)"
    return wording.Missing(
        alarm=number,
        name=one_line(guest.name),
        phone=guest.phone,
        contact=one_line(contact),
        alone=outing.alone,
        fishery=fishery.name,
        river=fishery.river,
        beat=one_line(beat.name),
        pool=pool.name if pool else "",
        access=pool.access if pool else beat.meeting_point,
        position=position,
        tidal=beat.tidal,
        plan=one_line(outing.plan),
        checked_in_at=outing.checked_in_at,
        due_back_at=due_back_at,
        zone=zone,
        heard_at=outing.heard_at,
        meeting=expected,
        text_in=text_number(guest),
    )


HAPPENED = {
    "overdue": "Has not come off the water by the time given and does not answer.",
    "contact": "Has missed an agreed contact and does not answer.",
    "help": "Has asked for help.",
    "recall": "Was called off the water and does not answer.",
}


def _happened(alarm: Alarm) -> str:
    said = f" Their words: {wording.quoted(alarm.words)}" if alarm.words else ""
    return HAPPENED[alarm.kind] + said


def card_of(alarm: Alarm, *, now: dt.datetime) -> card.Facts:
    """What 999 asks, from all that is known. Six queries at most."""
    return _card(alarm.outing, missing_of(alarm), _happened(alarm), now=now)


def card_of_outing(outing: Outing, *, now: dt.datetime) -> card.Facts:
    """The same for somebody without an alarm: what happened is for the caller to say."""
    return _card(outing, missing(outing, number=0, due_back_at=outing.due_back_at), "", now=now)


def _card(outing: Outing, known: wording.Missing, happened: str, *, now: dt.datetime) -> card.Facts:
    guest, beat, pool, fishery = outing.guest, outing.beat, outing.pool, outing.beat.fishery
    latitude, longitude = (pool.latitude, pool.longitude) if pool else (None, None)
    located = latitude is not None and longitude is not None
    return card.Facts(
        name=known.name, phone=guest.phone, river=fishery.river, fishery=fishery.name, beat=known.beat,
        pool=known.pool, bank=f"{pool.bank} bank, facing downstream" if pool else "",
        access=pool.access if pool else "",
        meeting_point=beat.meeting_point, latitude=latitude, longitude=longitude,
        grid=grid_reference(latitude, longitude) if located else None, tidal=beat.tidal, party=outing.party,
        alone=outing.alone, what_happened=happened, plan=known.plan, vehicle=one_line(outing.vehicle),
        wearing=one_line(outing.wearing), contact=known.contact, meeting=known.meeting,
        checked_in_at=outing.checked_in_at,
        heard_at=outing.heard_at or outing.checked_in_at, due_back_at=known.due_back_at,
        level_then=_level(beat, outing.checked_in_at), level_now=_level(beat, now),
        light_then=_light(fishery, outing.checked_in_at), light_now=_light(fishery, now),
        zone=known.zone,
    )  # fmt: skip


def _level(beat, at: dt.datetime) -> str:
    level = level_at(beat, at)
    if level is None or level.level_m is None:
        return "not known"
    read = f"read {long_ago(level.age_minutes)} before"
    if not level.trusted and level.unconfirmed is None:
        return f"not known: the gauge at {level.gauge.name}, {read}, is not trusted"
    doubt = "" if level.trusted else ", not confirmed"
    return f"{level.level_m:.2f} m at {level.gauge.name}, {read}{doubt}"


def long_ago(minutes: int) -> str:
    if minutes < 2 * 60:
        return f"{minutes} min"
    hours = minutes // 60
    return f"{hours} h" if hours < 2 * 24 else f"{hours // 24} days"


def _light(fishery, at: dt.datetime) -> str:
    light = light_on(fishery, local_day(fishery, at))
    zone, first, last = ZoneInfo(fishery.time_zone), light.first_light_at, light.last_light_at
    if first is None or last is None:
        return "no darkness that day, or no light: look outside"
    if at < first:
        return f"dark, first light {first.astimezone(zone):%H:%M}"
    return f"{'light, dark from' if at < last else 'dark since'} {last.astimezone(zone):%H:%M}"


def one_line(text: str) -> str:
    """What people typed may not break a subject line, nor pass for a line of the alarm's own."""
    return " ".join(text.split())
