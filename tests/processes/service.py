"""The real processes, started by the very commands of docker-compose.yml."""

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import yaml

from tests import servers

ROOT = Path(__file__).parents[2]
COMPOSE = yaml.safe_load((ROOT / "docker-compose.yml").read_text(encoding="utf-8"))["services"]
OWNER = "isla.renwick@durrisk.example"
PROGRAMS = Path(sys.executable).parent
WORKERS = ("watch-worker", "alarm-worker", "worker", "bulk-worker")


def until(ask, seconds, what):
    """Ask again and again until the answer is true, and return it; fail by name at the deadline."""
    end = time.monotonic() + seconds
    while not (answer := ask()):
        assert time.monotonic() < end, f"{what}: not within {seconds:g} s"
        time.sleep(0.2)
    return answer


class Service:
    """One fishery's service on a database and a broker of its own. Processes come and go by name."""

    def __init__(self, folder: Path, *, database_url: str, broker_port: int) -> None:
        self.folder, self.port = folder, servers.free_port()
        self.mail = folder / "mail"
        self.running: dict[str, subprocess.Popen] = {}
        self.token = ""
        self.environment = {
            "PATH": f"{PROGRAMS}:{os.environ['PATH']}",
            "HOSTNAME": socket.gethostname(),  # a container engine sets it
            "SECRET_KEY": "for-the-processes-of-this-test-only-nQ4x8Zt1Lk7Rb2Wm5Ys9Dv3Hc6",
            "ALLOWED_HOSTS": "127.0.0.1",
            "BEHIND_TLS_PROXY": "true",
            "DATABASE_URL": database_url,
            "REDIS_URL": f"redis://127.0.0.1:{broker_port}/0",
            "EMAIL_URL": f"file:///{self.mail}",
            "PYTHONUNBUFFERED": "1",
        }

    def command(self, words: list[str]) -> list[str]:
        """Compose's words, with this machine's port and paths."""
        swaps = {
            "0.0.0.0:8000": f"127.0.0.1:{self.port}",
            "/tmp/schedule": str(self.folder / "schedule"),
        }
        return [swaps.get(word, word.replace(":8000/", f":{self.port}/").replace("$$", "$")) for word in words]

    def once(self, *words: str) -> str:
        """Run one command to its end and return what it said."""
        done = subprocess.run(
            words, env=self.environment, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
        )
        assert done.returncode == 0, f"{' '.join(words)}\n{done.stdout}{done.stderr}"
        return done.stdout.strip()

    def start(self, *names: str) -> None:
        """Start those of `names` that are not running."""
        for name in names:
            if name not in self.running:
                with self.log(name).open("ab") as log:
                    self.running[name] = subprocess.Popen(
                        self.command(COMPOSE[name]["command"]), env=self.environment, cwd=ROOT,
                        stdin=subprocess.DEVNULL, stdout=log, stderr=log, start_new_session=True,
                    )  # fmt: skip

    def stop(self, *names: str, seconds: float = 15) -> dict[str, int | str]:
        """Ask them to end, all at once, as a container engine does, and say how each did: 0 is cleanly."""
        ending = {name: self.running.pop(name) for name in names if name in self.running}
        for process in ending.values():
            process.terminate()
        end = time.monotonic() + seconds
        return {name: ended(process, end) for name, process in ending.items()}

    def only(self, *names: str) -> None:
        """Let these run, and no others."""
        self.stop(*(set(self.running) - set(names)))
        self.start(*names)
        until(lambda: not asked(self, "/health/ready")[0] // 100 - 2, 40, "the web answers")

    def healthy(self, name: str) -> bool:
        """What compose's health check of this service says now."""
        kind, *words = self.command(COMPOSE[name]["healthcheck"]["test"])
        words = ["sh", "-c", *words] if kind == "CMD-SHELL" else words
        with self.log(f"{name}-health").open("ab") as log:
            done = subprocess.run(
                words, env=self.environment, cwd=ROOT, stdout=log, stderr=log, timeout=30, check=False
            )
        return done.returncode == 0

    def log(self, name: str) -> Path:
        return self.folder / f"{name}.log"

    def said(self) -> str:
        """What every process has written, the end of it."""
        return "\n".join(
            f"----- {path.stem}\n{path.read_text(errors='replace')[-6000:]}"
            for path in sorted(self.folder.glob("*.log"))
        )


@contextlib.contextmanager
def begun(folder: Path, *, database_url: str, broker_port: int, **environment: str) -> Iterator[Service]:
    """A service that knows a fishery, with its owner's token in hand; nothing of it runs afterwards."""
    service = Service(folder, database_url=database_url, broker_port=broker_port)
    service.environment |= environment
    service.once("python", "manage.py", "migrate", "--noinput")
    service.once("python", "manage.py", "load_fishery", "beats/data/durrisk.toml")
    service.token = service.once("python", "manage.py", "issue_token", OWNER)
    try:
        yield service
    finally:
        for process in service.running.values():
            kill(process)


def second(command, folder):
    """The same command beside the first: its own name and its own book of what was scheduled."""
    swaps = {"/tmp/schedule": str(folder / "schedule-2"), "worker@%h": "second@%h"}
    swaps |= {f"{name}@%h": f"second-{name}@%h" for name in WORKERS if name != "worker"}
    return [swaps.get(word, word) for word in command]


def ended(process: subprocess.Popen, end: float) -> int | str:
    """How a process that was asked to end has ended; nothing of it is left afterwards."""
    try:
        code = process.wait(max(end - time.monotonic(), 0))
        return "left children behind" if kill(process) else code
    except subprocess.TimeoutExpired:
        kill(process)
        return "had to be killed"


def kill(process: subprocess.Popen) -> bool:
    """Kill a process and its children. False when nothing was left of them."""
    try:
        os.killpg(process.pid, signal.SIGKILL)
    except ProcessLookupError:
        return False
    process.wait(5)
    return True


def asked(service: Service, path: str, body: dict | None = None) -> tuple[int, dict]:
    """One request as it comes from the proxy: the status, 0 when nobody answers, and the JSON."""
    headers = {"Content-Type": "application/json", "X-Forwarded-Proto": "https"}
    if service.token:
        headers["Authorization"] = f"Bearer {service.token}"
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(f"http://127.0.0.1:{service.port}{path}", data=data, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=20) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as refusal:
        with refusal:
            return refusal.code, json.loads(refusal.read() or b"{}")
    except (urllib.error.URLError, ConnectionError):
        return 0, {}
