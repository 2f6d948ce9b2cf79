"""Units of height. Only what a feed or its owner states is converted; nothing is guessed."""

from beats.water.feeds.levels import Unreadable

METRE, CENTIMETRE, MILLIMETRE, FOOT = 1.0, 0.01, 0.001, 0.3048
"""The international foot is 0.3048 m exactly (agreement of 1959; Units of Measurement Regulations 1995)."""

FACTORS = {
    "m": METRE, "metre": METRE, "metres": METRE, "meter": METRE, "meters": METRE,
    "masd": METRE, "maod": METRE, "maodn": METRE,  # above the station's datum; above Ordnance Datum
    "cm": CENTIMETRE, "centimetre": CENTIMETRE, "centimetres": CENTIMETRE,
    "mm": MILLIMETRE, "millimetre": MILLIMETRE, "millimetres": MILLIMETRE,
    "ft": FOOT, "[ft_i]": FOOT, "foot": FOOT, "feet": FOOT,  # [ft_i] is UCUM's, as WaterML writes it
}  # fmt: skip


def metres_in(stated: str | None, *, declared: str | None) -> float:
    """How many metres one of the feed's units is.

    `stated` is what the answer says of itself, `declared` what the gauge's owner wrote. Raises
    Unreadable when neither says, when they disagree and when the unit is none of height.
    """
    named = [name.strip().lower() for name in (stated, declared) if name and name.strip()]
    if not named:
        raise Unreadable("The answer states no unit. Ask for it, or give feed_unit: m, cm, mm or ft.")
    for name in named:
        if name not in FACTORS:
            raise Unreadable(f"{name[:20]!r} is no unit of height that is known here: m, cm, mm or ft.")
    if len({FACTORS[name] for name in named}) > 1:
        raise Unreadable(f"The answer states {stated}, but the gauge is declared in {declared}. Mend feed_unit.")
    return FACTORS[named[0]]
