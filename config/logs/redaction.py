"""What never stands in a log line: addresses, telephone numbers, tokens, secrets and codes. Pure.

A last net, not the first: no call of ours logs any of these. But a mail server's refusal names the
recipient, and a traceback shows whatever the exception was told.

Anybody may send a text that ends up here, so the time it takes must grow with its length and no faster: no rule
may start again within what it has already looked through. `tests/config/test_time_per_byte.py` measures it.
"""

import re

HIDDEN = "[hidden]"
LONGEST = 16_384
"""Characters of one text that are kept: a long traceback has fewer."""
_RULES: tuple[tuple[re.Pattern[str], str], ...] = (
    # The secret of a calendar's address, which is all that guards it.
    (re.compile(r"(/feeds/)[^/\s?\"']+(\.ics)"), r"\1...\2"),
    # USER:PASSWORD@ of a database, broker or mail server.
    (re.compile(r"(://)[^/\s@:]*:[^\s@]{0,512}@"), rf"\1{HIDDEN}@"),
    (re.compile(r"(?i)\b(bearer|basic)(\s+)[^\s\"',]+"), rf"\1\2{HIDDEN}"),
    # NAME=VALUE and "NAME": "VALUE", in an address or in a body.
    (
        re.compile(
            r"(?i)\b((?:[a-z]+_)*(?:token|secret|password|passwd|code|csrfmiddlewaretoken|sessionid|csrftoken)s?"
            r"[\"']?\s*[=:]\s*[\"']?)[^\s\"'&,;}]+(?: \d{2,6})?"
        ),
        rf"\1{HIDDEN}",
    ),
    (re.compile(r"\bwhsec_[A-Za-z0-9+/=_-]+"), HIDDEN),
    (re.compile(r"(?i)(?<![\w.+-])[\w.+-]+(?:@|%40)[\w-]+(?:\.[\w-]+)+"), HIDDEN),
    # 32 random bytes in base64url are 43 letters of both cases: tokens and keys, with their marks before.
    (
        re.compile(r"(?<![\w-])(?=[\w-]*[a-z])(?=[\w-]*[A-Z])(?=[\w-]*\d)[A-Za-z0-9_-]{40,}(?![\w-])"),
        HIDDEN,
    ),
    # Telephone numbers as people and gateways write them: +44..., 0044..., 07... with gaps.
    (re.compile(r"(?i)(?<![\w.:-])(?:\+|%2B|00?)[1-9](?:[ ()./-]{0,2}\d){7,14}(?![\w-])"), HIDDEN),
    # A code as a letter says it: eight figures, in one or with a gap; and the one a text message carries.
    (re.compile(r"(?<![\w.:+-])\d{4} ?\d{4}(?![\w:-])"), HIDDEN),
    (re.compile(r"(?i)\b((?:code|off|out|ok|late \d{1,3})(?: is)? )\d{4,8}\b"), rf"\1{HIDDEN}"),
)


def redacted(text: str) -> str:
    """The same text with every secret in it hidden, and the middle left out of one longer than `LONGEST`."""
    text = _shortened(text)
    for pattern, instead in _RULES:
        text = pattern.sub(instead, text)
    return text


def _shortened(text: str) -> str:
    """The start and the end of a text that is too long, without the words that the cut goes through."""
    if len(text) <= LONGEST:
        return text
    first, last = text[: LONGEST // 2].rsplit(None, 1)[0], text[-LONGEST // 2 :].split(None, 1)[-1]
    if len(first) + len(last) == LONGEST:  # one word, which may be a secret
        first = last = ""
    return f"{first} [{len(text) - len(first) - len(last)} characters left out] {last}"
