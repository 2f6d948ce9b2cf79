"""A first alarm while the mail server takes 12 s a letter and much else waits, beside one loop that does it all.

What waits is written first, then a lone angler falls due, and the clock runs
until a text about them has been taken by the gateway. The other side is one loop that sweeps, then sends
everything that is due in turn, as one thread does; it is stopped after `NAIVE_S`.
"""

import datetime as dt
import multiprocessing
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager

from django.conf import settings
from django.db import connections
from django.utils import timezone

from beats.models import Beat, Fishery, Membership, User
from beats.shared.bench import Row
from beats.shared.signing import new_secret
from bookings.models import Guest, Let
from bookings.services.papers import send_papers
from safety import channels
from safety.benches.stubs import Gateway, Mail, gateway, mail_server
from safety.models import Alarm, Delivery, Drill
from safety.services.drills import start_drill
from safety.services.queueing import due_deliveries, take
from safety.services.sending import send_taken
from safety.services.sweep import sweep
from safety.services.watching import Watcher
from sessions.models import Outing

LETTER_S = 12.0
WITHIN_S = 5.0
OURS_S, NAIVE_S = 30.0, 25.0
FISHERIES = 20
ANGLERS_PHONE = "+447700900123"
HOUR = dt.timedelta(hours=1)
Prepare = Callable[[list[Beat]], None]


def rows(*, letters: int, all_clears: int, drills: int, engine: str) -> list[Row]:
    """One row a case, in the present database, which is a benchmark's own. A count of 0 leaves its case out."""
    cases: tuple[tuple[int, str, Prepare], ...] = (
        (letters, "letters", lambda beats: _letters(beats, letters)),
        (all_clears, "all-clears", lambda beats: _all_clears(beats, all_clears)),
        (drills, "drills", lambda beats: _drills(beats, drills)),
    )
    made = []
    for count, kind, prepare in cases:
        if not count:
            continue
        what = f"{count} {kind}"
        ours = _apart(prepare, _threads, patience_s=OURS_S)
        naive = _apart(prepare, _one_loop, patience_s=NAIVE_S)
        beside = f"one loop: {naive:.1f} s" if naive < NAIVE_S else f"one loop: not within {NAIVE_S:g} s"
        case = f"first alarm's text, {what} wait, mail {LETTER_S:g} s a letter ({beside}), {engine}"
        made.append(Row(case, round(ours, 2), "s", round(naive, 1), f"under {WITHIN_S:g} s", ours < WITHIN_S))
    return made


def _apart(prepare: Prepare, side: Callable, *, patience_s: float) -> float:
    """`_measured` in a process of its own, which is ended with all its threads: they would write for minutes."""
    fork = multiprocessing.get_context("fork")
    hears, says = fork.Pipe(duplex=False)
    connections.close_all()
    child = fork.Process(target=lambda: says.send(_measured(prepare, side, patience_s=patience_s)), daemon=True)
    child.start()
    says.close()
    try:
        return hears.recv()
    finally:
        child.kill()
        child.join()
        time.sleep(0.5)  # until the database has noticed


def _measured(prepare: Prepare, side: Callable, *, patience_s: float) -> float:
    """Seconds from due until the gateway took a text about the angler, or `patience_s`."""
    _settle()
    beats = _fisheries()
    with ExitStack() as stack:
        mail, texts = stack.enter_context(mail_server(letter_s=LETTER_S)), stack.enter_context(gateway())
        _ways_out(mail, texts)
        prepare(beats)
        stack.enter_context(side())
        _until(lambda: mail.began > 0, 20.0)
        due = timezone.now() + dt.timedelta(seconds=2)
        _go_out(beats[0], due)
        began = time.monotonic() + 2.0
        _until(lambda: any(each.recipient == ANGLERS_PHONE for each in texts.taken), patience_s + 2.0)
        found = [each.at_s for each in texts.taken if each.recipient == ANGLERS_PHONE]
    return max(found[0] - began, 0.0) if found else patience_s


def _until(ask: Callable[[], bool], seconds: float) -> None:
    end = time.monotonic() + seconds
    while not ask() and time.monotonic() < end:
        time.sleep(0.02)


def _ways_out(mail: Mail, texts: Gateway) -> None:
    """From here on this process sends by this mail server and this gateway."""
    wanted = {
        "EMAIL_BACKEND": "django.core.mail.backends.smtp.EmailBackend", "EMAIL_HOST": "127.0.0.1",
        "EMAIL_PORT": mail.port, "EMAIL_HOST_USER": "", "EMAIL_HOST_PASSWORD": "", "EMAIL_USE_TLS": False,
        "EMAIL_USE_SSL": False, "GATEWAY_URL": texts.url, "GATEWAY_SECRETS": [new_secret()],
    }  # fmt: skip
    for name, value in wanted.items():
        setattr(settings, name, value)
    channels.DOOR = texts.door()


# --- The two sides -----------------------------------------------------------------------------


@contextmanager
def _threads() -> Iterator[None]:
    """The watch as it runs, and the bulk worker's letters in a thread beside it."""
    watcher = Watcher(every_s=2.0).start()
    with _loop(lambda: send_papers(clock=timezone.now)):
        try:
            yield
        finally:
            watcher.senders.stop(within_s=0.0)


@contextmanager
def _one_loop() -> Iterator[None]:
    """One thread: sweep, send the letters, then every message in the order it was written."""

    def act(ended: threading.Event) -> None:
        sweep(now=timezone.now())
        send_papers(clock=timezone.now)
        for pk in list(due_deliveries(timezone.now()).values_list("pk", flat=True)[:200]):
            if ended.is_set():
                return
            _send_as_before(pk)

    with _loop(act, heeds=True):
        yield


def _send_as_before(pk) -> None:
    if delivery := take(pk, now=timezone.now()):
        send_taken(delivery, clock=timezone.now)


@contextmanager
def _loop(act: Callable, *, heeds: bool = False) -> Iterator[None]:
    """A thread that does it again and again; what it is at when the block ends is left to itself."""
    ended = threading.Event()

    def run() -> None:
        while not ended.is_set():
            act(ended) if heeds else act()
            ended.wait(2.0)
        connections.close_all()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()


# --- What waits --------------------------------------------------------------------------------


def _settle() -> None:
    """Nothing of an earlier case is due any more."""
    now = timezone.now()
    Delivery.objects.exclude(state="sent").update(state="sent", sent_at=now)
    Outing.objects.filter(checked_out_at__isnull=True).update(checked_out_at=now)
    Alarm.objects.filter(cleared_at__isnull=True).update(cleared_at=now, next_at=None)
    Drill.objects.update(sent_at=now)
    Let.objects.all().delete()
    Guest.objects.filter(phone=ANGLERS_PHONE).update(phone="")


def _fisheries() -> list[Beat]:
    """Twenty of them, each with a beat, an owner and a ghillie with telephones."""
    beats = []
    made = Fishery.objects.count()
    for number in range(made, made + FISHERIES):
        fishery = Fishery.objects.create(
            slug=f"slow-{number}", name="Bench", river="Bench", time_zone="Europe/London", district="46",
            latitude=57.6, longitude=-5.3,
        )  # fmt: skip
        for who, role in enumerate(("owner", "ghillie")):
            user = User.objects.create(
                email=f"k{number}-{who}@slow.example", name="Keeper", phone=f"+4477009{number:03}{who}0"
            )
            Membership.objects.create(user=user, fishery=fishery, role=role)
        beats.append(
            Beat.objects.create(
                fishery=fishery, slug="bench", name="Bench", order=1, rods=60, longest_outing_minutes=1440,
                grace_minutes=0, lone_grace_minutes=0,
            )
        )  # fmt: skip
    return beats


def _go_out(beat: Beat, due: dt.datetime) -> None:
    guest = Guest.objects.create(
        fishery=beat.fishery, name="Angler", email="angler@bench.example", phone=ANGLERS_PHONE
    )
    _outing(guest, beat, due).save()


def _outing(guest: Guest, beat: Beat, due: dt.datetime) -> Outing:
    return Outing(
        guest=guest, beat=beat, alone=True, checked_in_at=due - HOUR, heard_at=due - HOUR, due_back_at=due,
        alarm_at=due, contact_number=1,
    )  # fmt: skip


def _guests(beats: list[Beat], count: int) -> list[Guest]:
    return Guest.objects.bulk_create(
        [
            Guest(fishery_id=beats[n % FISHERIES].fishery_id, name=f"Guest {n}", email=f"g{n}@bench.example")
            for n in range(count)
        ],
        batch_size=500,
    )


def _letters(beats: list[Beat], count: int) -> None:
    """Confirmed lets nobody has had the permit of."""
    now = timezone.now()
    day = now.date() + dt.timedelta(days=30)
    facts = {"first_on": day, "last_on": day, "rods": 1, "made_at": now, "confirmed_at": now}
    Let.objects.bulk_create(
        [
            Let(beat=beats[n % FISHERIES], booker=guest, **facts)
            for n, guest in enumerate(_guests(beats, count))
        ],
        batch_size=500,
    )  # fmt: skip


def _all_clears(beats: list[Beat], count: int) -> None:
    """Each of an alarm that is over."""
    now = timezone.now()
    outings = [_outing(guest, beats[n % FISHERIES], now - HOUR) for n, guest in enumerate(_guests(beats, count))]
    for outing in outings:
        outing.checked_out_at = now
    Outing.objects.bulk_create(outings, batch_size=500)
    alarms = Alarm.objects.bulk_create(
        [
            Alarm(outing=outing, deadline_number=1, due_back_at=now, alarm_at=now, raised_at=now, cleared_at=now)
            for outing in outings
        ],
        batch_size=500,
    )  # fmt: skip
    Delivery.objects.bulk_create(
        [
            Delivery(
                alarm=alarm, fishery_id=beats[n % FISHERIES].fishery_id, priority=2, about="all_clear",
                channel="email", recipient=f"keeper{n}@bench.example", subject="ALL CLEAR", body="Back.",
                written_at=now, next_try_at=now,
            )
            for n, alarm in enumerate(alarms)
        ],
        batch_size=500,
    )  # fmt: skip


def _drills(beats: list[Beat], count: int) -> None:
    now = timezone.now()
    for n in range(count):
        start_drill(beats[n % FISHERIES].fishery, by=None, now=now)
    while Drill.objects.filter(raised_at__isnull=True).exists():
        sweep(now=timezone.now())
