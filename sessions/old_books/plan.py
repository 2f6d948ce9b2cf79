"""How the columns of an old book are to be read: what its owner says of it before it comes in."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from beats.shared.refusals import Refusal
from sessions.monthly import CLASSES, METHODS, MONTHS
from sessions.old_books.sheet import Sheet

FISH, MONTHLY = "fish", "months"
FISH_FIELDS = (
    "caught_on", "time", "beat", "pool", "kind", "fate", "weight", "length", "fly", "method", "sex", "note",
)  # fmt: skip
CLASS_FIELDS = tuple(f"{kind}_{what}" for kind in CLASSES for what in ("number", "weight"))
MONTH_FIELDS = ("season", "month", "kind", "fate", "number", "weight", *CLASS_FIELDS)
FIELDS = {FISH: FISH_FIELDS, MONTHLY: MONTH_FIELDS}
NEEDED = {FISH: ("caught_on", "kind", "fate"), MONTHLY: ("season", "month", "fate")}
KINDS = (*CLASSES, "kelt", "non_native")
WORDS: dict[str, dict[str, str]] = {
    "kind": {kind: kind for kind in KINDS} | {name.casefold(): kind for kind, name in CLASSES.items()},
    "fate": {"kept": "kept", "released": "released"} | {name.casefold(): fate for fate, name in METHODS.items()},
    "month": {name.casefold(): str(number) for number, name in enumerate(MONTHS, start=1)},
    "method": {word: word for word in ("fly", "spinner", "bait", "other")},
    "sex": {word: word for word in ("cock", "hen")},
}
"""What needs no translation: our own words and those of the published statistics."""


class WrongMapping(Refusal):
    """The plan does not fit the file."""

    code = "wrong-mapping"
    title = "The columns do not fit"
    status = 400


@dataclass(frozen=True)
class Plan:
    """Which column holds what (`columns`), what is the same in every row (`fixed`), what words mean (`words`)."""

    what: str
    columns: Mapping[str, str]
    fixed: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    weight_unit: str = "kg"
    length_unit: str = "cm"
    dates: str = "iso"
    sheet: str = ""

    def meaning(self, name: str, text: str) -> str | None:
        """Our word for one of the book's; None where nobody said what it means."""
        return self._meanings.get(name, {}).get(text.casefold())

    @cached_property
    def _meanings(self) -> dict[str, dict[str, str]]:
        """By field; the owner's words stand before those that need no translation."""
        return {
            name: WORDS.get(name, {})
            | {word.casefold(): meaning for word, meaning in self.words.get(name, {}).items() if meaning}
            for name in {*WORDS, *self.words}
        }


def places(plan: Plan, sheet: Sheet) -> dict[str, int]:
    """Where each mapped field stands in a row. Raises WrongMapping with every fault by field."""
    known, faults = FIELDS[plan.what], {}
    there = {name.casefold(): place for place, name in enumerate(sheet.names) if name}
    for name in (*plan.columns, *plan.fixed):
        if name not in known:
            faults[name] = f"There is no such field. For {plan.what} there is: {', '.join(known)}."
    for name, column in plan.columns.items():
        if column.strip().casefold() not in there:
            listed = ", ".join(one for one in sheet.names if one)[:300]
            faults.setdefault(name, f"The file has no column {column[:40]!r}. It has: {listed}.")
        elif name in plan.fixed:
            faults.setdefault(name, "Say it once: from a column, or the same for every row.")
    for name in NEEDED[plan.what]:
        if name not in plan.columns and name not in plan.fixed:
            faults.setdefault(name, "This is needed. Name its column, or say it once for every row in fixed.")
    if plan.what == MONTHLY and not faults:
        faults |= _figures(plan)
    if faults:
        first, text = next(iter(faults.items()))
        raise WrongMapping(f"{first}: {text}", errors={name: [text] for name, text in faults.items()})
    return {name: there[column.strip().casefold()] for name, column in plan.columns.items()}


def _figures(plan: Plan) -> dict[str, str]:
    """A row is one class, or has a column for each class; not both."""
    given = {*plan.columns, *plan.fixed}
    wide, long = given & set(CLASS_FIELDS), given & {"kind", "number", "weight"}
    if wide and long:
        return {min(long): "Give kind and number, or a column for each class; not both."}
    if not wide and not {"kind", "number"} <= given:
        return {"number": "Give kind and number, or a column for each class, such as msw_number."}
    alone = [
        one for one in wide if one.endswith("_weight") and f"{one.removesuffix('_weight')}_number" not in wide
    ]
    return dict.fromkeys(sorted(alone), "A weight needs its number. Map that, too.")
