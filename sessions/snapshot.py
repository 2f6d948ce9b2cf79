"""A return as plain data: what is signed, its hash, and how one differs from another."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from sessions.monthly import Cell, Month, totals

FIGURES = ("number", "weight_kg", "unweighed")


def snapshot(rows: Iterable[Month], *, fishery: str, district: str, season: int, state: str) -> dict[str, Any]:
    """The table as JSON can hold it; weights are text, so that no digit is lost."""
    rows = list(rows)
    rod_days, sums = totals(rows)
    return {
        "fishery": fishery,
        "district": district,
        "season": season,
        "state": state,
        "months": [
            {"month": row.month, "name": row.name, "rod_days": row.rod_days, "catch": _cells(row.cells)}
            for row in rows
        ],
        "rod_days": rod_days,
        "totals": _cells(sums),
    }


def months_of(made: Mapping[str, Any]) -> list[Month]:
    """The rows of a snapshot again."""
    return [
        Month(row["month"], row["rod_days"], {fate: _of(kinds) for fate, kinds in row["catch"].items()})
        for row in made["months"]
    ]


def content_hash(made: Mapping[str, Any]) -> str:
    """SHA-256 of the snapshot, keys in order and nothing between them."""
    text = json.dumps(made, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Every figure that is not the same: month, what, before and after. A month not there counts as zero."""
    old, new = _flat(before), _flat(after)
    return [
        {"month": month, "what": what, "before": old.get((month, what), "0"), "after": new.get((month, what), "0")}
        for month, what in sorted(old.keys() | new.keys())
        if Decimal(old.get((month, what), "0")) != Decimal(new.get((month, what), "0"))
    ]


def adds_up(made: Mapping[str, Any]) -> bool:
    """Whether the months of a snapshot add up to its totals."""
    rod_days, sums = totals(months_of(made))
    return bool(rod_days == made["rod_days"] and _cells(sums) == made["totals"])


def _flat(made: Mapping[str, Any]) -> dict[tuple[int, str], str]:
    found = {(row["month"], "rod days"): str(row["rod_days"]) for row in made["months"]}
    for row in made["months"]:
        for fate, kinds in row["catch"].items():
            for kind, cell in kinds.items():
                found |= {(row["month"], f"{kind} {fate} {name}"): str(cell[name]) for name in FIGURES}
    return found


def _cells(cells: Mapping[str, Mapping[str, Cell]]) -> dict[str, Any]:
    return {
        fate: {
            kind: {"number": cell.number, "weight_kg": f"{cell.weight_kg:.2f}", "unweighed": cell.unweighed}
            for kind, cell in kinds.items()
        }
        for fate, kinds in cells.items()
    }


def _of(kinds: Mapping[str, Mapping[str, Any]]) -> dict[str, Cell]:
    return {
        kind: Cell(cell["number"], Decimal(cell["weight_kg"]), cell["unweighed"]) for kind, cell in kinds.items()
    }
