"""What a soak is made of: anglers and keepers who keep a ledger of what they were told, and a hand that kills.

Nothing here knows the code: it speaks HTTP to the web, signals to the processes, SQL to the tables.
"""

import collections
import contextlib
import datetime as dt
import http.client
import json
import os
import random
import signal
import threading
import time
import urllib.error
import urllib.request
import uuid
from pathlib import Path

GIVES_UP_S = 120
SENDERS = 17
"""So many messages one process may have under way: the threads of `sender_pool.LANES`."""
HERE = "/api/v1/fisheries/durrisk-water"
READS = (
    "/api/v1/outings/", "/api/v1/alarms/", "/api/v1/catches/totals/?by=beat", "/api/v1/catches/", "/api/v1/lets/",
    "/api/v1/turns/", f"{HERE}/tally/", f"{HERE}/fish/", "/health/watch",
)  # fmt: skip


class Ledger:
    """What the service has said yes to: nothing of it may be missing in the end."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.outings: dict[int, str] = {}  # by its id, the key it was asked with
        self.back: set[int] = set()
        self.fish: collections.Counter = collections.Counter()  # by outing
        self.lets: set[int] = set()
        self.jobs: set[int] = set()
        self.answers: collections.Counter = collections.Counter()  # by status, 0 when nobody answered
        self.faults: list[str] = []


class Caller:
    """One person's HTTP, through whichever of the webs stands. It asks again, with the same key, until told."""

    def __init__(self, ledger: Ledger, ports: list[int], dice: random.Random, stop: threading.Event) -> None:
        self.ledger, self.ports, self.dice, self.stop = ledger, ports, dice, stop

    def once(self, path: str, token: str, body: dict | None, key: str) -> tuple[int, bytes]:
        headers = {"Content-Type": "application/json", "X-Forwarded-Proto": "https", "Idempotency-Key": key}
        if token:
            headers["Authorization"] = f"Bearer {token}"
        data = None if body is None else json.dumps(body).encode()
        url = f"http://127.0.0.1:{self.dice.choice(self.ports)}{path}"
        try:
            request = urllib.request.Request(url, data=data, headers=headers)
            with urllib.request.urlopen(request, timeout=20) as answer:
                return answer.status, answer.read()
        except urllib.error.HTTPError as refusal:
            with refusal:
                return refusal.code, refusal.read()
        except (OSError, ValueError, http.client.HTTPException):
            return 0, b""

    def ask(self, path: str, token: str = "", body: dict | None = None) -> tuple[int, dict]:
        """The last answer: 2xx, a refusal, or what there was when the patience ended."""
        key, end = str(uuid.uuid4()), time.monotonic() + GIVES_UP_S
        while True:
            status, said = self.once(path, token, body, key)
            with self.ledger.lock:
                self.ledger.answers[status] += 1
                if status == 500:
                    self.ledger.faults.append(f"500 from {path}: {said[:200]!r}")
            if status not in (0, 500, 502, 503) or time.monotonic() > end:
                return status, {"key": key, "text": said[:300]} | _json(said)
            time.sleep(0.5)

    def rest(self, most_s: float) -> None:
        self.stop.wait(self.dice.uniform(0, most_s))


def _json(said: bytes) -> dict:
    try:
        found = json.loads(said or b"{}")
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


def angler(call: Caller, people: list[dict]) -> None:
    """Out, fish, more time, back; now and then late enough for the alarm, now and then never back at all."""
    free = list(people)
    while not call.stop.is_set() and free:
        person = free.pop(0)
        if _day_out(call, person):
            free.append(person)


def _day_out(call: Caller, person: dict) -> bool:
    """One outing. False when this angler stays out."""
    dice, ledger, token = call.dice, call.ledger, person["token"]
    due = dt.datetime.now(dt.UTC) + dt.timedelta(seconds=dice.uniform(8, 20))
    facts = {"guest": person["guest"], "beat": person["beat"], "alone": dice.random() < 0.7,
             "due_back_at": due.isoformat()}  # fmt: skip
    status, outing = call.ask("/api/v1/outings/", token, facts)
    if status not in (200, 201):
        too_late = "bad-due-back" in str(outing["text"])  # asked again and again until the time back was over
        with ledger.lock:
            ledger.faults += [] if status in (0, 503) or too_late else [f"check-in: {status} {outing['text']}"]
        return True
    with ledger.lock:
        ledger.outings[outing["id"]] = outing["key"]
    here = f"/api/v1/outings/{outing['id']}"
    call.rest(3)
    if dice.random() < 0.5:
        _fish(call, here, token, outing["id"])
    if dice.random() < 0.3:
        call.ask(f"{here}/fine/", token, {})
    if dice.random() < 0.05:
        return False
    if dice.random() < 0.4:
        call.stop.wait(max((due - dt.datetime.now(dt.UTC)).total_seconds(), 0) + 15)  # past the alarm
    status, _ = call.ask(f"{here}/check-out/", token, {})
    if status == 200:
        with ledger.lock:
            ledger.back.add(outing["id"])
    return status == 200


def _fish(call: Caller, here: str, token: str, outing: int) -> None:
    at = dt.datetime.now(dt.UTC).isoformat()
    fish = [{"caught_at": at, "kind": "msw", "fate": "released", "weight_kg": str(n)} for n in range(2, 4)]
    fish = fish[: call.dice.randint(1, 2)]
    status, said = call.ask(f"{here}/fish/", token, {"fish": fish})
    if status not in (200, 201):
        with call.ledger.lock:
            call.ledger.faults += [] if status in (0, 503) else [f"fish: {status} {said['text']}"]
        return
    with call.ledger.lock:
        call.ledger.fish[outing] += len(fish)


def keeper(call: Caller, token: str) -> None:
    """Looks at everything, all day."""
    while not call.stop.is_set():
        call.ask(call.dice.choice(READS), token)
        call.rest(0.5)


def owner(call: Caller, token: str, people: list[dict]) -> None:
    """Lets rods and asks for rotas."""
    while not call.stop.is_set():
        first = dt.datetime.now(dt.UTC).date() + dt.timedelta(days=call.dice.randint(5, 500))
        person = call.dice.choice(people)
        facts = {"beat": person["beat"], "booker": person["guest"], "first_on": str(first),
                 "last_on": str(first), "rods": 1}  # fmt: skip
        status, let = call.ask("/api/v1/lets/", token, facts)
        if status == 201:
            with call.ledger.lock:
                call.ledger.lets.add(let["id"])
        if call.dice.random() < 0.3:
            monday = first - dt.timedelta(days=first.weekday())
            facts = {"beat": person["beat"], "first_on": str(monday), "later": True}
            status, job = call.ask("/api/v1/rotas/", token, facts)
            if status == 202:
                with call.ledger.lock:
                    call.ledger.jobs.add(job["id"])
        call.rest(4)


class Memory:
    """What each group of processes holds, in MiB: shared pages counted by their share (PSS), the kernel's own."""

    def __init__(self) -> None:
        self.seen: dict[str, list[tuple[float, float]]] = collections.defaultdict(list)

    def look(self, groups: dict[str, int]) -> None:
        held: collections.Counter = collections.Counter()
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit():
                with contextlib.suppress(OSError):
                    held[os.getpgid(int(entry.name))] += _pss_kib(entry)
        for name, group in groups.items():
            self.seen[name].append((time.monotonic(), held[group] / 1024))

    def over(self, name: str, since: float, until: float) -> float:
        """The middle figure between two shares of the whole time."""
        times = [at for at, _ in self.seen[name]]
        first, whole = times[0], times[-1] - times[0]
        inside = sorted(mib for at, mib in self.seen[name] if since <= (at - first) / whole <= until)
        return inside[len(inside) // 2]


def _pss_kib(process: Path) -> int:
    for line in (process / "smaps_rollup").read_text().splitlines():
        if line.startswith("Pss:"):
            return int(line.split()[1])
    return 0


class Engine:
    """Starts again whatever ended by itself, as compose's `restart: unless-stopped` does, and remembers how."""

    def __init__(self, service) -> None:
        self.service, self.ended = service, []

    def look(self, names) -> None:
        for name in names:
            process = self.service.running.get(name)
            if process is not None and process.poll() is not None:
                last = self.service.log(name).read_text(errors="replace")[-20_000:]
                self.ended.append(f"{name} ended by itself with {process.returncode}:\n{last}")
                self.service.running.pop(name)
                self.service.start(name)


class Hand:
    """Kills, holds, cuts off; and sets going again.

    `senders`: how many messages may have been in a hand that died, each of which may lie in the box twice.
    """

    def __init__(self, service, twins: list[str], database, broker, dice: random.Random) -> None:
        self.service, self.twins, self.database, self.broker, self.dice = service, twins, database, broker, dice
        self.done: collections.Counter = collections.Counter()
        self.senders = 0

    def strike(self) -> None:
        deeds = (
            [self.kill] * 6 + [self.hold] * 2 + [self.kill_a_child] * 2 + [self.empty, self.deafen, self.restart]
        )
        deed = self.dice.choice(deeds)
        deed()
        self.done[deed.__name__] += 1

    def kill(self) -> None:
        name = self.dice.choice(self.twins)
        process = self.service.running.pop(name)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(10)
        self.senders += SENDERS
        time.sleep(self.dice.uniform(0, 6))
        self.service.start(name)

    def hold(self) -> None:
        group = self.service.running[self.dice.choice(self.twins)].pid
        os.killpg(group, signal.SIGSTOP)
        self.senders += SENDERS
        time.sleep(self.dice.uniform(1, 20))
        os.killpg(group, signal.SIGCONT)

    def kill_a_child(self) -> None:
        parent = self.service.running["watch-worker-2"].pid
        listed = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
        with contextlib.suppress(ProcessLookupError, IndexError):
            os.kill(int(self.dice.choice(listed)), signal.SIGKILL)
        self.senders += SENDERS

    def empty(self) -> None:
        self.broker.empty()

    def deafen(self) -> None:
        self.broker.down()
        time.sleep(self.dice.uniform(1, 8))
        self.broker.up()

    def restart(self) -> None:
        self.database.down(signal.SIGQUIT)  # at once, as when the current fails
        self.senders += SENDERS * 6
        time.sleep(self.dice.uniform(0, 5))
        self.database.up()
