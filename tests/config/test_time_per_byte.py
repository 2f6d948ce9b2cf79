"""Every pattern that text from outside may meet takes time in proportion to its length, and no more.

The patterns are found in the modules themselves, so a new one is measured, too. The texts are made to be almost
what a pattern looks for, over and over.
"""

import functools
import importlib
import os
import pkgutil
import random
import re
import time

import pytest

from config.logs.redaction import LONGEST, redacted

PACKAGES = ("beats", "bookings", "sessions", "safety", "config")
LONG = 16_000
MOST_S = 0.25
"""For 16,000 characters. Linear time is near 0.001 s; a pattern that starts anew at each character takes 1 s."""
PIECES = (
    "a", "A1-", "_", "a_", "@", "a@", "a@a", ".", "a.", "://", ":", "a:", "0", "0 ", "01(", "+4", "(", "-",
    " ", "\t",
    "%40", "token", "token=", "code ", "Bearer ", "/feeds/", "<",
    "<textarea", "whsec_", "[", "1 lb ", ",", ",123",
    "\n", "\u00e9", "\u05d0", "=",
)  # fmt: skip


def patterns():
    """(module and name, pattern) of every compiled pattern that a module keeps, in a tuple or by itself."""
    found = {}
    for package in PACKAGES:
        root = importlib.import_module(package)
        for info in pkgutil.walk_packages(root.__path__, f"{package}."):
            if ".migrations" in info.name or ".management" in info.name:
                continue
            for name, value in vars(importlib.import_module(info.name)).items():
                for number, one in enumerate(_compiled(value)):
                    found.setdefault(one, f"{info.name}.{name}.{number}")
    return sorted((where, one) for one, where in found.items())


def _compiled(value):
    if isinstance(value, re.Pattern):
        return [value]
    if isinstance(value, tuple | list):
        return [each for part in value for each in _compiled(part)]
    return []


def texts():
    """Pieces alone and in pairs, repeated; and mixtures drawn anew each time."""
    seed = int(os.environ.get("TIME_SEED", random.SystemRandom().randrange(10**6)))
    print(f"TIME_SEED={seed}")  # noqa: T201 - shown where it fails
    chance = random.Random(seed)
    yield from PIECES
    yield from (f"{one}{other}" for one in PIECES for other in chance.sample(PIECES, 4))
    yield from ("".join(chance.choices(PIECES, k=chance.randrange(2, 30))) for _ in range(40))


def seconds(act, unit: str, length: int) -> float:
    text = (unit * (length // len(unit) + 1))[:length]
    return min(_once(act, text) for _ in range(2))


def _once(act, text: str) -> float:
    start = time.perf_counter()
    act(text)
    return time.perf_counter() - start


FOUND = patterns()


def test_there_are_patterns_to_measure():
    assert len(FOUND) > 15, FOUND


@pytest.mark.parametrize("pattern", [one for _, one in FOUND], ids=[where for where, _ in FOUND])
def test_a_pattern_takes_time_in_proportion_to_the_text(pattern):
    worst = 0.0, ""
    for unit in texts():
        for act in (functools.partial(pattern.sub, ""), pattern.fullmatch):
            worst = max(worst, (seconds(act, unit, LONG), unit))
            assert worst[0] < MOST_S, f"{worst[0]:.2f} s for {LONG} characters of {worst[1]!r}"
    print(f"{1e9 * worst[0] / LONG:.0f} ns a character at worst, of {worst[1]!r}")  # noqa: T201 - with -s


def test_what_is_left_out_of_a_log_line_takes_time_in_proportion_to_it():
    for unit in texts():
        taken = seconds(redacted, unit, LONG)
        assert taken < MOST_S, f"{taken:.2f} s for {LONG} characters of {unit!r}"


def test_a_long_text_is_logged_without_its_middle():
    told = redacted("start " + "x" * 20 + " word" * 1_000_000 + " end")
    assert len(told) < LONGEST + 50
    assert told.startswith("start ")
    assert told.endswith(" end")
    assert "characters left out" in told


def test_no_part_of_a_secret_is_left_at_the_cut():
    secret = "correct.horse@example.org"
    for before in range(LONGEST // 2 - len(secret) - 2, LONGEST // 2 + 2):
        told = redacted("x " * (before // 2) + secret + " y" * LONGEST)
        assert "horse" not in told
    assert "k" not in redacted("k" * 3 * LONGEST).replace("characters left out", "")
