"""One seed after another: anglers, keepers, two watchers, and a hand that ends them at named points.

Run as a process of its own with the service's settings (`python -m tests.crash.runner FIRST LAST`); each
deed is done by a forked child with a connection of its own, so that what it is killed by is a real
SIGKILL. Prints one JSON object: seeds, faults by seed, how often each point was met.
"""

import collections
import datetime as dt
import json
import os
import random
import shutil
import signal
import sys
import traceback
from pathlib import Path

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
import django

django.setup()

from django.conf import settings  # noqa: E402
from django.db import connection, connections  # noqa: E402

from beats.models import Beat, Membership, User  # noqa: E402
from safety.models import Alarm, Delivery  # noqa: E402
from safety.services.answering import answer_for  # noqa: E402
from safety.services.deliver import deliver  # noqa: E402
from safety.services.points import POINTS, arm  # noqa: E402
from safety.services.sweep import sweep  # noqa: E402
from sessions.models import Outing  # noqa: E402
from sessions.services.outings import check_out, extend  # noqa: E402
from tests.crash import auditor  # noqa: E402
from tests.factories import BeatFactory, GuestFactory, OutingFactory, keeper  # noqa: E402

MINUTE, HOUR = dt.timedelta(minutes=1), dt.timedelta(hours=1)
STARTS = (
    dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC),
    dt.datetime(2027, 3, 28, 0, 20, tzinfo=dt.UTC),  # the clocks go forward at 01:00 UTC
    dt.datetime(2027, 10, 31, 0, 20, tzinfo=dt.UTC),  # and back
)
LADDER = {
    "stages": [
        {"after_minutes": 0, "who": ["keeper"]},
        {"after_minutes": 2, "who": ["keeper", "owner"]},
        {"after_minutes": 4, "who": ["owner"], "repeat_minutes": 2},
    ]
}
WINDOW = ("after send", "before send")
RARE = ("before commit of a repeat", "before commit of an all-clear")


class World:
    """What one seed plays with."""

    def __init__(self, seed: int, mail: Path) -> None:
        self.dice, self.mail = random.Random(seed), mail
        self.now = self.dice.choice(STARTS)
        self.windows = 0
        self.fates: dict[int, str] = {}
        self.met: collections.Counter = collections.Counter()
        self.stopped: list[int] = []
        self.beat = BeatFactory(watch_policy={"ladder": LADDER}, lone_grace_minutes=0, grace_minutes=2)
        self.owner = keeper(self.beat.fishery)
        keeper(self.beat.fishery, "ghillie")
        for _ in range(self.dice.randint(2, 5)):
            self.go_out()

    def go_out(self) -> None:
        due = self.now + self.dice.randint(1, 5) * MINUTE
        alone = self.dice.random() < 0.6
        OutingFactory(
            beat=self.beat, guest=GuestFactory(fishery=self.beat.fishery), alone=alone, due_back_at=due,
            checked_in_at=self.now - MINUTE, alarm_at=due + (0 if alone else 2) * MINUTE,
        )  # fmt: skip

    def round(self) -> None:
        """Two watchers at once; now and then one of them is ended, held, cut off, or has a clock of its own."""
        pids = [self.fork(self.watch, self.fate(), self.step()) for _ in range(2)]
        if self.dice.random() < 0.8:
            pids.append(self.fork(self.deed, self.fate(("before commit of an answer",))))
        if connection.vendor == "postgresql" and self.dice.random() < 0.1:
            cut_off()
            self.windows += 2 * len(pids)  # whoever was between sending and noting it
        for pid in pids:
            self.wait(pid)
        self.now += dt.timedelta(seconds=self.dice.randint(40, 160))
        if self.dice.random() < 0.5:
            self.let_go()

    def fate(self, points=POINTS) -> tuple | None:
        if self.dice.random() > 0.8:
            return None
        held = points is POINTS and self.dice.random() < 0.15
        rare = points is POINTS and not held and self.dice.random() < 0.4
        name = self.dice.choice(WINDOW if held else RARE if rare else points)
        passing = 1 if rare else self.dice.choice((1, 1, 2))
        return name, passing, signal.SIGSTOP if held else signal.SIGKILL

    def step(self) -> dt.timedelta:
        """How far this watcher's clock was set: mostly right, at times an hour back or ahead."""
        step = self.dice.choice([0] * 12 + [-60, 60]) * MINUTE
        self.windows += 20 * bool(step)  # clocks so far apart do not agree on a lease
        return step

    def watch(self, step: dt.timedelta) -> None:
        sweep(now=self.now + min(step, 0 * MINUTE))  # ahead, it would only raise what is not due yet
        deliver(clock=lambda: self.now + step)

    def deed(self) -> None:
        """Somebody acts: comes back, asks for more time, answers for an alarm."""
        out = list(Outing.objects.filter(beat=self.beat, checked_out_at__isnull=True))
        alarms = list(Alarm.objects.filter(outing__beat=self.beat, cleared_at__isnull=True))
        what = self.dice.choice(("back", "more", "answer", "answer"))
        if what == "answer" and alarms:
            answer_for(self.dice.choice(alarms), minutes=self.dice.randint(2, 6), by=self.owner, now=self.now)
        elif what == "more" and out:
            later = self.now + self.dice.randint(2, 9) * MINUTE
            extend(self.dice.choice(out), due_back_at=later, by=self.owner, now=self.now)
        elif what == "back" and out:
            check_out(self.dice.choice(out), by=self.owner, now=self.now)

    def fork(self, act, fate, *facts) -> int:
        luck = self.dice.random()
        connections.close_all()
        pid = os.fork()
        if pid:
            self.fates[pid] = fate[0] if fate else ""
            return pid
        self.dice = random.Random(luck)
        code = 0
        try:
            if fate:
                arm(fate[0], passing=fate[1], by=fate[2])
            act(*facts)
        except Exception:  # noqa: BLE001 - it is written down, and the auditor has the last word
            code = 3
            with (self.mail.parent / "errors.log").open("a") as log:
                traceback.print_exc(file=log)
        finally:
            os._exit(code)

    def wait(self, pid: int) -> None:
        _, status = os.waitpid(pid, os.WUNTRACED)
        if os.WIFSTOPPED(status):
            self.stopped.append(pid)
            self.windows += 1
            self.met["held"] += 1
        elif os.WIFSIGNALED(status):
            self.met["killed"] += 1
            self.met[self.fates[pid]] += 1
            self.windows += self.fates[pid] == "after send"  # taken by the channel, and not noted
        elif os.WEXITSTATUS(status):
            self.met["refused"] += 1

    def let_go(self) -> None:
        """Whoever was held goes on, past its lease: what it notes must not count."""
        self.now += 2 * MINUTE
        for pid in self.stopped:
            os.kill(pid, signal.SIGCONT)
        for pid in self.stopped:
            self.wait_end(pid)
        self.stopped = []

    def wait_end(self, pid: int) -> None:
        while True:
            _, status = os.waitpid(pid, os.WUNTRACED)
            if not os.WIFSTOPPED(status):
                return
            os.kill(pid, signal.SIGCONT)

    def heal(self) -> None:
        """Nobody is ended any more; a quarter of an hour passes."""
        self.let_go()
        for _ in range(11):
            sweep(now=self.now)
            deliver(clock=lambda: self.now)
            self.now += MINUTE
        sweep(now=self.now)
        deliver(clock=lambda: self.now)

    def faults(self) -> list[str]:
        at = connection.ops.adapt_datetimefield_value(self.now)
        with connection.cursor() as cursor:
            return auditor.faults(cursor, now=at, mail=self.mail, windows=self.windows)


def cut_off() -> None:
    """Every connection is ended from the server's side, as a restart of the database does."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


def play(seed: int, mail: Path, met: collections.Counter) -> list[str]:
    """One seed from an empty book to the auditor's word."""
    clear()
    shutil.rmtree(mail, ignore_errors=True)
    mail.mkdir()
    world = World(seed, mail)
    for _ in range(world.dice.randint(5, 7)):
        world.round()
    world.heal()
    met.update(world.met)
    met["alarms"] += Alarm.objects.count()
    met["messages"] += Delivery.objects.count()
    return world.faults()


def clear() -> None:
    for model in (Alarm, Outing):
        model.objects.all().delete()
    Beat.objects.all().delete()
    Membership.objects.all().delete()
    User.objects.all().delete()


def main(first: int, last: int) -> None:
    mail = Path(settings.EMAIL_FILE_PATH)
    met: collections.Counter = collections.Counter()
    wrong = {}
    for seed in range(first, last):
        if found := play(seed, mail, met):
            wrong[seed] = found
    print(json.dumps({"seeds": last - first, "faults": wrong, "met": met}))  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
