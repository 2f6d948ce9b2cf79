"""Lines of a backup: written with a count and a hash at the end, read back and held to both."""

import gzip
import hashlib
import json
import os
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from io import BufferedReader
from pathlib import Path
from typing import IO, Any

import pyrage

FORMAT = 1
SEALED = b"age-encryption.org/"


class NotABackup(Exception):
    """The file cannot be believed; the text says why and what to do."""


def write(path: Path, lines: Iterable[Any], *, recipients: list[str]) -> int:
    """Write all lines to a file that only its owner may read, whole or not at all. Returns the count of lines."""
    part = path.with_name(path.name + ".part")
    try:
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
            with _sealed(out, recipients) as plain, gzip.GzipFile(fileobj=plain, mode="wb", mtime=0) as packed:
                count = _write_lines(packed, lines)
            os.fsync(out.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return count


def read(path: Path, *, identities: list[str]) -> Iterator[Any]:
    """Each line but the last. Raises NotABackup at a file cut off or changed, however far it was read."""
    digest, count, last = hashlib.sha256(), 0, None
    try:
        with path.open("rb") as raw, _opened(raw, identities) as plain, gzip.GzipFile(fileobj=plain) as packed:
            for text in packed:
                if last is not None:
                    raise NotABackup(f"{path} goes on after its end. Take another copy.")
                line = json.loads(text)
                if isinstance(line, dict) and "sha256" in line:
                    last = line
                    continue
                digest.update(text)
                count += 1
                yield line
    except (OSError, EOFError, ValueError, pyrage.DecryptError) as fault:
        raise NotABackup(f"{path} cannot be read ({fault}). Take another copy.") from fault
    if last is None or (last.get("lines"), last["sha256"]) != (count, digest.hexdigest()):
        raise NotABackup(f"{path} was cut off or changed. Take another copy.")


def _write_lines(out: IO[bytes], lines: Iterable[Any]) -> int:
    digest, count = hashlib.sha256(), 0
    for line in lines:
        text = _text(line)
        digest.update(text)
        out.write(text)
        count += 1
    out.write(_text({"lines": count, "sha256": digest.hexdigest()}))
    return count


def _text(line: Any) -> bytes:
    return json.dumps(line, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


@contextmanager
def _sealed(out: IO[bytes], recipients: list[str]) -> Iterator[IO[bytes]]:
    if not recipients:
        yield out
        return
    try:
        keys = [pyrage.x25519.Recipient.from_str(each) for each in recipients]
    except pyrage.RecipientError as fault:
        raise NotABackup(f"A recipient is an age public key, age1…: {fault}.") from fault
    reader, writer = os.pipe()
    seal = _closing(reader, "rb", lambda source: pyrage.encrypt_io(source, out, keys))
    with _beside(seal), os.fdopen(writer, "wb") as plain:
        yield plain


@contextmanager
def _opened(raw: BufferedReader, identities: list[str]) -> Iterator[IO[bytes]]:
    if raw.peek(len(SEALED))[: len(SEALED)] != SEALED:
        yield raw
        return
    if not identities:
        raise NotABackup("This backup is sealed. Name the file of the key that opens it with --identity.")
    try:
        keys = [pyrage.x25519.Identity.from_str(each) for each in identities]
    except pyrage.IdentityError as fault:
        raise NotABackup(f"That is no age key ({fault}). One begins with AGE-SECRET-KEY-1.") from fault
    reader, writer = os.pipe()
    unseal = _closing(writer, "wb", lambda target: pyrage.decrypt_io(raw, target, keys))
    with _beside(unseal), os.fdopen(reader, "rb") as plain:
        yield plain


def _closing(end: int, mode: str, work: Callable[[IO[bytes]], None]) -> Callable[[], None]:
    def run() -> None:
        with os.fdopen(end, mode) as other:
            work(other)

    return run


@contextmanager
def _beside(work: Callable[[], None]) -> Iterator[None]:
    """Work in a thread at a pipe's other end, so that nothing unsealed touches a disk; its fault is raised."""
    faults: list[Exception] = []

    def run() -> None:
        try:
            work()
        except Exception as fault:  # noqa: BLE001 - raised below, where somebody hears it
            faults.append(fault)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()
    if faults:
        raise faults[0]
