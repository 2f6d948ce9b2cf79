"""One cell of an old book as a date, a time, a weight, a length or a count; or what is wrong with it."""

import datetime as dt
import re
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from beats.shared.phrases import say
from sessions.old_books.sheet import Cell

KG_IN_LB = Decimal("0.45359237")
"""Exact by the international yard and pound agreement of 1959."""
CM_IN_INCH = Decimal("2.54")
POUNDS_AND_OUNCES = re.compile(
    r"(\d{1,3})\s*(?:lbs?\.?)?[\s,./-]+(\d{1,2})\s*(?:oz\.?)?|(\d{1,3})\s*(?:lbs?\.?)?", re.IGNORECASE | re.ASCII
)
HUNDREDTH, TENTH = Decimal("0.01"), Decimal("0.1")
ORDERS = {"iso": ("%Y-%m-%d",), "day-first": ("%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y"), "month-first": ("%m/%d/%Y",)}
EXAMPLES = {"iso": "1998-07-24", "day-first": "24/07/1998", "month-first": "07/24/1998"}
NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,20})?")


class Fault(ValueError):
    """What is wrong with a cell, and what to write instead."""


def day(cell: Cell, order: str) -> dt.date:
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, dt.date):
        return cell
    return _day(shown(cell), order)


@lru_cache(maxsize=20_000)
def _day(text: str, order: str) -> dt.date:
    """A book has many fish of a day, and fifty seasons have fewer days than this keeps."""
    for form in ORDERS[order]:
        if text.isascii() and re.search(r"\d{4}", text):
            try:
                return dt.datetime.strptime(text, form).date()
            except ValueError:
                continue
    raise Fault(f"{text[:30]!r} is no date. Write it like {EXAMPLES[order]}.")


def time(cell: Cell) -> dt.time:
    if isinstance(cell, dt.datetime):
        return cell.time()
    if isinstance(cell, dt.time):
        return cell
    text = shown(cell)
    if re.fullmatch(r"([01]?\d|2[0-3]):[0-5]\d", text, re.ASCII):
        hour, minute = text.split(":")
        return dt.time(int(hour), int(minute))
    raise Fault(f"{text[:30]!r} is no time of day. Write it like 17:30.")


def weight(cell: Cell, unit: str, *, most: int = 60) -> Decimal:
    """Kilograms to the hundredth, more than nought."""
    if unit == "lb-oz":
        if isinstance(cell, Decimal) and cell != int(cell):
            raise Fault(_either(shown(cell)))
        kilograms = _pounds_and_ounces(shown(cell)) * KG_IN_LB
    else:
        kilograms = number(cell) * {"kg": Decimal(1), "lb": KG_IN_LB}[unit]
    kilograms = kilograms.quantize(HUNDREDTH, rounding=ROUND_HALF_UP)
    if not kilograms:
        raise Fault(say("Nought is no weight. Leave it empty where the fish was not weighed."))
    if kilograms > most:
        raise Fault(
            say(
                "{written} is {kg} kg: too much. Check the figure and the unit.",
                written=shown(cell)[:30],
                kg=kilograms,
            )
        )
    return kilograms


def _either(figure: str) -> str:
    """A workbook keeps 12.10 as the number 12.1: ten ounces, one ounce and a tenth of a pound look the same."""
    return say(
        "{figure} in a cell of numbers may be pounds and ounces or parts of a pound. Write it as text, like 12-8, "
        "or choose pounds as the unit.",
        figure=figure[:30],
    )


def _pounds_and_ounces(text: str) -> Decimal:
    found = POUNDS_AND_OUNCES.fullmatch(text)
    if not found:
        raise Fault(f"{text[:30]!r} is no pounds and ounces. Write it like 12-8 or 12 lb 8 oz.")
    pounds, ounces = int(found[1] or found[3]), int(found[2] or 0)
    if ounces > 15:
        raise Fault(f"{text[:30]!r} has {ounces} ounces; a pound has 16. Check the figure.")
    return pounds + Decimal(ounces) / 16


def length(cell: Cell, unit: str) -> Decimal:
    """Centimetres to the tenth."""
    centimetres = number(cell) * {"cm": Decimal(1), "in": CM_IN_INCH}[unit]
    centimetres = centimetres.quantize(TENTH, rounding=ROUND_HALF_UP)
    if not 0 < centimetres <= 200:
        raise Fault(
            say(
                "{written} is {cm} cm: no fish is like that. Check the figure and the unit.",
                written=shown(cell)[:30],
                cm=centimetres,
            )
        )
    return centimetres


def count(cell: Cell) -> int:
    figure = number(cell)
    if figure != int(figure) or figure > 1_000_000:
        raise Fault(f"{shown(cell)[:30]} is no number of fish. Write a whole number.")
    return int(figure)


def number(cell: Cell) -> Decimal:
    """A figure that is nought or more; a formula is not reckoned."""
    text = shown(cell)
    plain = re.sub(r",(?=\d{3}(?:\D|$))", "", text)
    if text.startswith("="):
        raise Fault(f"{text[:30]!r} is a formula, which is not reckoned here. Put its value in the cell.")
    if not NUMBER.fullmatch(plain):
        raise Fault(f"{text[:30]!r} is no number. Write the figure alone, like 4.5.")
    return Decimal(plain)


def shown(cell: Cell) -> str:
    if isinstance(cell, Decimal):
        return f"{cell:f}".removesuffix(".0")
    return "" if cell is None else str(cell).strip()
