"""Values of the pure modules as plain data for JSON: a dataclass by its field names, a tuple as a list."""

import datetime as dt
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any


def plain(value: Any, zone: dt.tzinfo = dt.UTC) -> Any:
    """Dataclasses to dicts, tuples to lists and instants to the zone's, all the way down; the rest as it is."""
    kind: Any = type(value)
    if kind is tuple or kind is list:
        return [plain(one, zone) for one in value]
    if kind is dt.datetime:
        return value.astimezone(zone)
    if (names := _names(kind)) is not None:
        return {name: plain(getattr(value, name), zone) for name in names}
    return value


@cache
def _names(kind: Any) -> tuple[str, ...] | None:
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else None
