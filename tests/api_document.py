"""The committed API document, read once a run: it is long, and reading it takes seconds."""

import copy
from functools import cache
from pathlib import Path

import yaml

COMMITTED = Path(__file__).parents[1] / "config" / "openapi.yaml"


@cache
def _read():
    return yaml.load(COMMITTED.read_text(encoding="utf-8"), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))


def the_document():
    """A copy of your own, to change as you like."""
    return copy.deepcopy(_read())
