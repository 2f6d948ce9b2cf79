"""Values of the pure modules as plain data for JSON: a dataclass by its field names, a tuple as a list."""

from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any


def plain(value: Any) -> Any:
    """Dataclasses to dicts and tuples to lists, all the way down; anything else is passed on as it is."""
    kind = type(value)
    if kind is tuple or kind is list:
        return [plain(one) for one in value]
    if (names := _names(kind)) is not None:
        return {name: plain(getattr(value, name)) for name in names}
    return value


@cache
def _names(kind: type) -> tuple[str, ...] | None:
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else None
