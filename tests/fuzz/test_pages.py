"""Every form of every page filled in as nobody would, every query and address bent: no fault of the server, no
script that gets through, and what was typed still there where it is refused.

    FUZZ=120 uv run pytest --on sqlite -m fuzz tests/fuzz/test_pages.py        so many tries a form
"""

import os
import random
import re
import secrets
from urllib.parse import parse_qsl, quote_plus, urlsplit

import pytest
from django.db import transaction

from tests.config.page_table import PEOPLE, ROWS, Place, is_a_word
from tests.pages import Page

pytestmark = [pytest.mark.fuzz, pytest.mark.django_db]

TRIES = int(os.environ.get("FUZZ", "25"))
KNOWN = {200, 302, 303, 400, 403, 404, 405, 409, 410, 412, 413, 422, 429}
SCRIPT = "<script>fished()</script>"
ODD = [
    "", " ", "0", "-1", "1.5", "1,5", "NaN", "Infinity", "-Infinity", "1e400", "0x10", "١٢", "½", "9" * 25,
    str(2**31), str(2**63), "-" + "9" * 20, "1" * 5_000, "0001-01-01", "9999-12-31", "2026-02-30", "2026-13-01",
    "2026-05-04T10:00", "24:00", "25:99", "03:30", "00:00", "true", "null", "{}", "None", "\x00",
    "a\x00b", "\r\nX: y", "=1+1", "@SUM(A1)", SCRIPT, f'" autofocus onfocus="{SCRIPT}', "🐟" * 50, "א" * 30,
    "\u202ea\u202c", "e\u0301" * 40, "x" * 300, "x" * 10_000, "'; DROP TABLE", "../../etc/passwd", "{{ 7*7 }}",
    "%s %(a)s", "{n}", "{0.__class__}", "https://127.0.0.1/", "javascript:fished()", "//water.example",
    "\\\\water.example", "a@b", "+44 7700 900000", b"\xed\xa0\x80", b"\xff\xfe",
]  # fmt: skip
NEAR = {
    "date": ["2026-02-28", "2026-02-29", "2025-01-15", "2026-12-31", "2099-05-11", "2100-01-01", "1950-01-01",
             "2200-12-31"],
    "time": ["00:00", "23:59", "12:00:59.999", "2:5"],
    "number": ["1", "2", "0.1", "1e1", "007", "+3", "100000"],
    "select": ["1", "2", "99999", "guest", "owner"],
}  # fmt: skip


@pytest.fixture
def dice(request):
    seed = os.environ.get("FUZZ_SEED", secrets.token_hex(4))
    print(f"FUZZ_SEED={seed}")  # noqa: T201 - pytest shows it with a failure
    return random.Random(f"{seed} {request.node.name}")


@pytest.mark.parametrize(("page", "names", "expected"), ROWS)
def test_whatever_is_typed_or_asked_of_a_page_has_an_answer(page, names, expected, dice, asked):
    place = Place()
    path = place.address(page, names)
    who = [name for name, status in zip(PEOPLE, expected, strict=True) if status in {200, 302, 303}][-1]
    client = place.client(who)
    opened = client.post(path, place.word) if is_a_word(page) else client.get(path)
    shown = Page("" if opened.streaming else opened.content.decode(errors="replace"))
    for form in shown.forms:
        for _ in range(TRIES):
            send(client, path, form, bent(form, dice), asked)
    for _ in range(TRIES):
        look(client, path, shown, dice, asked)
    for _ in range(TRIES // 5 + 1):
        answered(client.get(elsewhere(path, place, names, dice)), asked)


def bent(form, dice):
    """The form as it stands, with one to three things in it otherwise, twice, left out or unasked."""
    typed = form.typed()
    for _ in range(dice.choice((1, 1, 1, 2, 3))):
        luck = dice.random()
        if luck < 0.08 and typed:
            typed.pop(dice.randrange(len(typed)))
        elif luck < 0.14 and typed:
            typed.append(dice.choice(typed))
        elif luck < 0.2 or not form.fields:
            typed.append((dice.choice(("unasked", "pk", "role", "fishery")), dice.choice(ODD)))
        else:
            one = dice.choice(form.fields)
            near = one.choices or NEAR.get(one.kind, ODD)
            value = dice.choice(near if dice.random() < 0.4 else ODD)
            typed = [(name, was) for name, was in typed if name != one.name] + [(one.name, value)]
    return typed


def encoded(typed):
    return "&".join(f"{quote_plus(name)}={quote_plus(value)}" for name, value in typed)


def send(client, path, form, typed, asked):
    target = form.action or path
    if form.method == "get":
        answered(client.get(f"{urlsplit(target).path}?{encoded(typed)}"), asked)
        return
    with transaction.atomic():
        answer = client.post(target, encoded(typed), content_type="application/x-www-form-urlencoded")
        transaction.set_rollback(True)
    content = answered(answer, asked)
    if answer.status_code == 422:
        assert lost(Page(content), form, dict(typed)) == [], (target, typed)
        assert re.search(r'role="alert"|class="fault"|class="care"', content), (target, typed)


WRITTEN = {"text", "textarea", "number", "date", "time", "email", "tel"}


def lost(again, form, typed):
    """Each plain word that was typed into a field which is shown again, without the word."""
    fields = {each.name: each for shown in again.forms for each in shown.fields}
    written = {each.name for each in form.fields if each.kind in WRITTEN} & set(fields) & set(typed)
    return [
        (name, typed[name], fields[name].value)
        for name in written
        if is_plain(typed[name]) and fields[name].value != typed[name]
    ]


def is_plain(value):
    return isinstance(value, str) and value == value.strip() and value.isprintable() and len(value) < 200


def look(client, path, shown, dice, asked):
    """The page asked for with something behind the question mark, in some language."""
    names = {name for link in shown.links for name, _ in parse_qsl(urlsplit(link).query)}
    names |= {each.name for form in shown.forms if form.method == "get" for each in form.fields}
    names = sorted(names | {"next", "day", "month", "lang", "format", "page"})
    query = encoded([(dice.choice(names), dice.choice(ODD)) for _ in range(dice.choice((1, 1, 2)))])
    language = dice.choice(("de", "en", "zz", "x" * 900, ",;q=,", "de;q=1e9", "*"))
    with transaction.atomic():
        answered(client.get(f"{path}?{query}", headers={"Accept-Language": language}), asked)
        transaction.set_rollback(True)


def elsewhere(path, place, names, dice):
    """The same page of something that is not there, or cannot be."""
    numbers = ("0", "1", str(2**31), str(2**63 - 1), str(2**63), "9" * 30)
    words = ("x", "a" * 300, "-", "ü", "%00", "..", "0")
    parts = path.strip("/").split("/")
    spots = [n for n, part in enumerate(parts) if part in {str(place.names[kind]) for kind in names.values()}]
    if spots:
        spot = dice.choice(spots)
        parts[spot] = dice.choice(numbers if parts[spot].isdigit() else words)
    return "/" + "/".join(parts) + "/"


def answered(answer, asked):
    """The page, once it is known to be an answer."""
    asked["questions"] += 1
    question = answer.request["PATH_INFO"], answer.request["QUERY_STRING"]
    assert answer.status_code in KNOWN, (answer.status_code, question)
    content = "" if answer.streaming else answer.content.decode(errors="replace")
    assert SCRIPT not in content or "html" not in answer["Content-Type"], question
    if answer.status_code in {302, 303}:
        led = answer["Location"]
        assert urlsplit(led)[:2] == ("", ""), led
        assert not re.match(r"[/\\\s]{2}|\\", led), led
    return content
