"""What is recorded, file by file: compared, or written anew with RECORD=1."""

import os
from pathlib import Path

HERE = Path(__file__).parent
RECORD = os.environ.get("RECORD")


def compare(folder: str, found: dict[str, str]) -> None:
    """With what is recorded, file by file; with RECORD set, write it instead."""
    place = HERE / folder
    if RECORD:
        place.mkdir(exist_ok=True)
        for old in place.iterdir():
            old.unlink()
        for name, text in found.items():
            (place / name).write_bytes(text.encode())
    recorded = {path.name: path.read_bytes().decode() for path in place.iterdir()}
    assert sorted(found) == sorted(recorded)
    changed = [name for name in found if found[name] != recorded[name]]
    for name in changed[:3]:
        assert found[name].splitlines() == recorded[name].splitlines(), name
    assert not changed
