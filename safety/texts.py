"""What an angler's text message asks for: OFF 4821, ON 4821, LATE 30 4821, OK 4821, HELP. Pure.

The number a text comes from can be forged, so whatever quiets the watch needs a code; HELP needs none. OUT
and IN are read by some as "off the water" and by others as "gone out": they are recognised and never acted on.
Grammar: the command is the first word (after a greeting), its code follows, other words may come after it.
Whatever is not clearly one of these changes nothing and goes to a person.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

MOST_MINUTES = 240
LONGEST_TEXT = 1600
"""Characters kept and read: a text of ten parts (common practice, no source)."""


class Verb(StrEnum):
    OFF = "off"
    ON = "on"
    LATE = "late"
    OK = "ok"
    HELP = "help"
    AMBIGUOUS = "ambiguous"


@dataclass(frozen=True)
class Asked:
    """A text understood. `code` is empty where none was given."""

    verb: Verb
    code: str = ""
    minutes: int = 0


HOW = (
    "Text OFF and your code when you are off the water, ON and your code before you go on it, LATE 30 and your "
    "code for more time, OK and your code, or HELP."
)
NOT_UNDERSTOOD = f"Not understood; nothing was changed. {HOW} In danger ring 999 or 112."
HELP_WORDS = {"HELP", "SOS", "MAYDAY", "HILFE", "NOTFALL", "NOTRUF", "EMERGENCY", "AMBULANCE", "DROWNING"}
NOT_HELP = {"HELPED", "HELPER", "HELPERS", "HELPFUL", "HELPING", "HELPS"}
GREETINGS = {"HI", "HELLO", "HALLO", "HEY", "PLEASE", "NOW", "IM", "I", "M", "AM", "WE", "ARE", "RE", "BIN", "WIR"}
BETWEEN = {"THE", "WATER", "RIVER", "CODE", "MY", "IS", "NOW", "NR", "NUMBER"}
COURTESY = {
    "THANKS", "THANK", "THX", "YOU", "U", "CHEERS", "TA", "DANKE", "PLEASE", "MATE", "ALL", "GOOD", "FINE", "WELL",
    "TIGHT", "LINES", "SAFE", "HOME", "BYE", "SORRY",
}  # fmt: skip
"""Words that ask nothing of anybody; any other beside a command is told to the keeper on duty."""
DOUBT = {
    "NOT", "DONT", "CANT", "WONT", "ISNT", "ARENT", "NEVER", "YET", "SOON", "LATER", "NEARLY", "ALMOST", "WHEN",
    "UNTIL", "TILL", "IF", "WILL", "LL", "LATE", "HOUR", "HOURS", "MIN", "MINS", "MINUTES", "TOMORROW", "NICHT",
}  # fmt: skip
"""A command with one of these behind it, or with another number, is for a person to read."""
COMMANDS = {
    "OFF": Verb.OFF, "ON": Verb.ON, "OK": Verb.OK, "OKAY": Verb.OK, "LATE": Verb.LATE, "OUT": Verb.AMBIGUOUS,
    "IN": Verb.AMBIGUOUS,
}  # fmt: skip
HOURS = {"H", "HR", "HRS", "HOUR", "HOURS"}
_TOKEN = re.compile(r"[^\W\d_]+|\d+")
_JOINERS = {0xFE0E: None, 0xFE0F: None, 0x20E3: None, 0x200B: None, 0x200D: None, 0x2060: None, 0xFEFF: None,
            ord("'"): None, 0x2019: None}  # fmt: skip
"""What makes keycaps of figures, no width, and apostrophes: taken out, so that 4821 and DONT stay in one piece."""
_SOS_SIGN = "\N{SQUARED SOS}"


def clean(text: str) -> str:
    """The words as they are kept: control characters out, no longer than `LONGEST_TEXT`."""
    kept = (char for char in text if char in "\n\t" or unicodedata.category(char) not in ("Cc", "Cs"))
    return "".join(kept)[:LONGEST_TEXT].strip()


def understand(text: str) -> Asked | str:
    """What is asked, or the sentence that says how to ask. Anything with HELP in it is a call for help."""
    words = _words(text)
    if _SOS_SIGN in text or any(_is_help(word) for word in words):
        return Asked(Verb.HELP, next((word for word in words if _is_code(word)), ""))
    while words and words[0] in GREETINGS:
        words.pop(0)
    verb = COMMANDS.get(words[0]) if words else None
    if verb is None:
        return NOT_UNDERSTOOD
    if verb is Verb.AMBIGUOUS:
        return _ambiguous(words[1:])
    return _late(words[1:]) if verb is Verb.LATE else _with_code(verb, words[1:])


def only_help(text: str) -> bool:
    """Whether a call for help holds nothing else but a code."""
    return all(_is_help(word) or _is_code(word) or word in GREETINGS for word in _words(text))


def says_more(text: str) -> bool:
    """Whether a text that was understood holds words beside its command, its figures and courtesies."""
    known = GREETINGS | BETWEEN | COURTESY | HOURS | COMMANDS.keys() | {"MIN", "MINS", "MINUTE", "MINUTES"}
    return any(not word.isdigit() and word not in known for word in _words(text))


def _words(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKC", text[:LONGEST_TEXT]).translate(_JOINERS).upper()
    return [_figures(word) for word in _TOKEN.findall(plain)]


def _figures(word: str) -> str:
    """Figures of any script as 0 to 9."""
    return "".join(str(unicodedata.digit(char)) for char in word) if word.isdigit() else word


def _is_help(word: str) -> bool:
    return word in HELP_WORDS or (word.startswith("HELP") and word not in NOT_HELP)


def _is_code(word: str) -> bool:
    return word.isdigit() and 4 <= len(word) <= 6


def _ambiguous(words: list[str]) -> Asked | str:
    """OUT and IN with a code or nothing behind them; "in trouble" is no command."""
    while words and words[0] in BETWEEN:
        words = words[1:]
    if not words:
        return Asked(Verb.AMBIGUOUS)
    return Asked(Verb.AMBIGUOUS, words[0]) if _is_code(words[0]) else NOT_UNDERSTOOD


def _with_code(verb: Verb, words: list[str]) -> Asked | str:
    """OFF, ON and OK: the code comes next, or none at all; what follows may not cast doubt on it."""
    while words and words[0] in BETWEEN:
        words = words[1:]
    if not words:
        return Asked(verb)
    code, rest = words[0], words[1:]
    if code.isdigit() and len(code) < 4 and rest and rest[0].isdigit() and len(code + rest[0]) == 4:
        code, rest = code + rest[0], rest[1:]  # "48 21"
    if not _is_code(code):
        return NOT_UNDERSTOOD
    if any(word.isdigit() or word in DOUBT for word in rest):
        return NOT_UNDERSTOOD
    return Asked(verb, code)


def _late(words: list[str]) -> Asked | str:
    numbers = [word for word in words if word.isdigit()]
    codes = [word for word in numbers if _is_code(word)]
    given = [word for word in numbers if not _is_code(word)]
    if len(given) != 1 or len(codes) > 1 or len(given[0]) > 3:
        return NOT_UNDERSTOOD
    minutes = int(given[0])
    after = words[words.index(given[0]) + 1 :]
    if after and after[0] in HOURS:
        minutes *= 60
    if not 1 <= minutes <= MOST_MINUTES:
        return f"LATE takes 1 to {MOST_MINUTES} minutes. Nothing was changed. {HOW}"
    return Asked(Verb.LATE, codes[0] if codes else "", minutes)
