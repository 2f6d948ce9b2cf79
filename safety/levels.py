"""The words of public warnings, mildest first, and which of them call rods off the water. Pure.

Weather: Met Office, "Weather warnings guide" (colours by likelihood and impact: yellow be aware, amber be
prepared, red take action). Flood: Environment Agency and SEPA (alert: be prepared; warning: act;
severe: danger to life). Neither says what an angler should do: what calls a beat in is its owner's policy.
"""

WEATHER = {"yellow": "be aware", "amber": "be prepared", "red": "take action"}
FLOOD = {"alert": "be prepared", "warning": "act now", "severe": "danger to life"}
BY_KIND = {"weather": WEATHER, "flood": FLOOD}
NEVER = "never"


def reaches(kind: str, level: str, mark: str) -> bool:
    """Whether a warning is as grave as the policy's mark, or graver."""
    order = list(BY_KIND[kind])
    return mark != NEVER and order.index(level) >= order.index(mark)


def gravest(warnings: list[tuple[str, str, str]]) -> tuple[str, str, str]:
    """Of (kind, level, text), the one to say first."""
    return max(warnings, key=lambda each: list(BY_KIND[each[0]]).index(each[1]))


NAMES = {
    ("weather", "yellow"): "A yellow weather warning",
    ("weather", "amber"): "An amber weather warning",
    ("weather", "red"): "A red weather warning",
    ("flood", "alert"): "A flood alert",
    ("flood", "warning"): "A flood warning",
    ("flood", "severe"): "A severe flood warning",
}


def sentence(kind: str, level: str, text: str) -> str:
    """The warning in a sentence, with the public body's own word of advice."""
    return f"{NAMES[kind, level]} is in force ({BY_KIND[kind][level]}): {text.rstrip('.')}."
