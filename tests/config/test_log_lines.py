"""What a log line holds, and what it never may: read back from the very formatters the service uses."""

import io
import json
import logging

import pytest
from django.test import Client
from django.utils import timezone

from beats.authentication import issue_token
from beats.services.sign_in import ask_for_code, code_of, send_codes
from bookings.services.feeds import open_feed
from config.celery import app
from config.logs import about, on_celery
from config.logs.lines import SHAPES
from config.logs.redaction import redacted
from safety.services.deliver import deliver
from safety.services.sweep import sweep
from sessions.services.outings import check_out
from tests.factories import OutingFactory

# Every one invented. Telephone numbers are from the ranges Ofcom keeps for drama
# (ofcom.org.uk, "Telephone numbers for use in TV and radio drama programmes").
SECRETS = [
    "isla@rods.example.org",
    "isla%40rods.example.org",
    "+447700900123",
    "+44 7700 900 123",
    "07700 900123",
    "0044 20 7946 0123",
    "%2B447700900123",
    "pQ7-xZ3vN8kL2mB5tY9wR4cF6hJ1dG0sA_eUiOoPqWz",
    "gauge-pQ7xZ3vN8kL2mB5tY9wR4cF6hJ1dG0sAxeUiOoPqWz",
    "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
    "4821 7730",
    "48217730",
]


@pytest.fixture
def lines():
    """Everything anybody logs, at every level, as it would stand in the service's log."""
    written, root = io.StringIO(), logging.getLogger()
    handler, level = logging.StreamHandler(written), root.level
    handler.setFormatter(SHAPES["json"]())
    root.addHandler(handler)
    root.setLevel(logging.DEBUG)
    yield written
    root.removeHandler(handler)
    root.setLevel(level)


def told(lines):
    return [json.loads(line) for line in lines.getvalue().splitlines()]


@pytest.mark.parametrize("shape", sorted(SHAPES))
@pytest.mark.parametrize("secret", SECRETS)
def test_no_secret_gets_through_as_an_argument_an_extra_or_in_a_traceback(shape, secret):
    error = OSError(f"refused: {secret}")
    facts = {
        "name": "a test", "levelno": logging.ERROR, "levelname": "ERROR", "exc_info": (OSError, error, None),
        "msg": "could not reach %s, %s", "args": (secret, {"at": secret}), "body": {"to": [secret]},
    }  # fmt: skip
    line = SHAPES[shape]().format(logging.makeLogRecord(facts))
    assert secret not in line
    assert "OSError: refused: [hidden]" in line


@pytest.mark.parametrize(
    ("line", "left"),
    [
        ("GET /api/v1/feeds/Zm9vYmFy.ics HTTP/1.1", "GET /api/v1/feeds/....ics HTTP/1.1"),
        ("postgresql://rodtally:hunter2@db:5432/rodtally", "postgresql://[hidden]@db:5432/rodtally"),
        ("Authorization: Bearer abc", "Authorization: Bearer [hidden]"),
        ("/sign-in/?code=1234&next=/day/", "/sign-in/?code=[hidden]&next=/day/"),
        ('{"code": "4821 7730", "x": 1}', '{"code": "[hidden]", "x": 1}'),
        ("text OUT 4821", "text OUT [hidden]"),
    ],
)
def test_what_is_hidden_leaves_the_rest_of_the_line(line, left):
    assert redacted(line) == left


@pytest.mark.parametrize(
    "line",
    [
        "Task safety.sweep[0d1c2f3e-1234-5678-9abc-0123456789ab] succeeded in 0.0123456789s: None",
        "2026-05-06 11:00:00,123 INFO Listening at: http://0.0.0.0:8000 (4711)",
        "2026-05-06T11:00:00.123456+00:00 outing 123456789 of beat 12 is out at 20260506",
        "GET /api/v1/lets/12/?day=2026-05-06&page=2 HTTP/1.1",
        'File "/app/safety/services/deliver.py", line 182, in a_name_that_is_longer_than_forty_letters_is_kept',
    ],
)
def test_what_an_operator_needs_is_left_alone(line):
    # A date without gaps reads like a code of eight figures, and is hidden with them.
    assert redacted(line) == line.replace("20260506", "[hidden]")


@pytest.mark.parametrize("named", ["abcdefgh", "0f3c-1.2_X" * 3, "A" * 64])
def test_a_sane_request_id_is_kept_and_given_back(named):
    assert Client().get("/health/live", headers={"X-Request-ID": named})["X-Request-ID"] == named


@pytest.mark.parametrize("named", ["", "short", "a b c d e f g h", "x" * 65, "-leading-dash", 'quote"quote"'])
def test_any_other_is_replaced(named):
    answered = Client().get("/health/live", headers={"X-Request-ID": named} if named else {})["X-Request-ID"]
    assert answered != named
    assert about.SANE.fullmatch(answered)


def test_two_requests_never_share_an_id():
    assert len({Client().get("/health/live")["X-Request-ID"] for _ in range(50)}) == 50


@pytest.mark.django_db
def test_a_refused_request_s_line_carries_its_id_and_its_outing(lines):
    Client().get("/api/v1/outings/4711/", headers={"X-Request-ID": "from-the-proxy-1"})
    [line] = [line for line in told(lines) if line["logger"] == "django.request"]
    assert (line["request_id"], line["outing_id"], line["level"]) == ("from-the-proxy-1", 4711, "WARNING")
    assert set(line) >= {"time", "message", "status_code"}


@pytest.mark.django_db
def test_an_alarm_s_line_names_the_outing_and_nobody(lines):
    """From the alarm to its end; the number is enough to find everybody by."""
    outing = OutingFactory(guest__name="Una Featherstone")
    sweep(now=timezone.now())
    deliver(clock=timezone.now)
    check_out(outing, by=outing.guest.user, now=timezone.now())
    sweep(now=timezone.now())
    deliver(clock=timezone.now)
    written = [line for line in told(lines) if line["logger"] == "rodtally.alarm"]
    assert {line["outing_id"] for line in written} == {outing.pk}
    assert [line["message"].split(" [")[0] for line in written] == ["Overdue", "All Clear"]
    ours = [line for line in told(lines) if not line["logger"].startswith("factory.")]
    assert [line for line in ours if "Una" in str(line)] == []


@pytest.mark.django_db
def test_a_day_with_every_secret_in_it_writes_none_down(lines, beat, owner, mailoutbox):
    now = timezone.now()
    token = issue_token(owner, label="a program", now=now)
    _feed, calendar, _made = open_feed(beat.fishery, label="all of it", by=owner, now=now)
    signing_in = ask_for_code(owner.email, client="192.0.2.1", language="en-gb", now=now)
    send_codes(clock=timezone.now)
    code = code_of(signing_in.pk)
    client = Client()
    for path in (f"/api/v1/feeds/{calendar}.ics", f"/api/v1/feeds/{calendar[:-1]}.ics", "/api/v1/lets/0/"):
        client.get(path, headers={"Authorization": f"Bearer {token}"})
    client.get("/api/v1/me/", headers={"Authorization": f"Bearer {token[:-1]}x"})
    client.post("/sign-in/", {"email": owner.email})
    client.post("/sign-in/code/", {"code": code[:-1] + "0"})
    logging.getLogger("rodtally.test").error("the letter was %s", mailoutbox[0].message())
    written = lines.getvalue()
    assert len(told(lines)) > 3
    for secret in (token, calendar, owner.email, code, f"{code[:4]} {code[4:]}"):
        assert secret not in written


def test_a_task_s_message_carries_the_id_of_the_request_that_sent_it(monkeypatch):
    """A real broker in memory, the message read back from it."""
    about.request_id.set("asked-by-a-page")
    try:
        with app.connection_for_write("memory://") as connection:
            app.send_task("safety.sweep", queue="log-lines", connection=connection)
            with connection.SimpleQueue("log-lines") as queue:
                message = queue.get(timeout=5)
                message.ack()
    finally:
        about.forget()
    assert message.headers[on_celery.KEY] == "asked-by-a-page"


def test_a_task_takes_the_id_up_and_leaves_nothing_behind():
    seen = []

    @app.task(name="tests.what_is_it_about")
    def what_is_it_about():
        seen.append(about.request_id.get())

    try:
        about.request_id.set("the-one-before")
        what_is_it_about.apply(headers={on_celery.KEY: "asked-by-a-page"})
        what_is_it_about.apply()
        left = about.request_id.get()
    finally:
        about.forget()
        app.tasks.pop("tests.what_is_it_about")
    assert seen[0] == "asked-by-a-page"
    assert about.SANE.fullmatch(seen[-1])
    assert left == "the-one-before"
