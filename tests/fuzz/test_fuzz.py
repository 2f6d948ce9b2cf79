"""Everything the API document allows, and much it does not, asked of every operation: no fault of the server,
and every answer as the document declares it. Schemathesis makes the questions and judges the answers.

    FUZZ=120 uv run pytest --on sqlite -m fuzz        so many questions an operation
"""

import os
import random
import sys
from pathlib import Path

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections, transaction
from django.utils import timezone
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from beats.authentication import issue_token
from config.wsgi import application
from tests.config.world import build

pytestmark = [pytest.mark.fuzz, pytest.mark.django_db]

QUESTIONS = int(os.environ.get("FUZZ", "25"))
ROLES = ("owner", "ghillie", "guest", "other", "stranger", "anonymous")
WEIGHTS = (10, 4, 4, 1, 1, 1)
JUDGED = [
    not_a_server_error, status_code_conformance, content_type_conformance, response_headers_conformance,
    response_schema_conformance,
]  # fmt: skip
KINDS = {
    "lets": ("let", "hold"), "closures": ("closure",), "beat-closures": ("beat_closure",), "gauge-keys": ("key",),
    "beats": ("beat", "quiet_beat"), "pools": ("pool",), "gauges": ("gauge",), "readings": ("reading",),
    "guests": ("guest", "other"), "waiting": ("waiting",), "tariff": ("price",), "payment-keys": ("payment_key",),
    "hooks": ("hook",), "feeds": ("feed",), "rotas": ("rota",), "rota-jobs": ("job",), "turns": ("turn",),
    "outings": ("outing",), "catches": ("catch",), "old-books": ("old_book",), "board-keys": ("board_key",),
    "alarms": ("alarm",), "plans": ("plan",), "recalls": ("recall",), "warnings": ("warning",),
    "duties": ("duty",), "drills": ("drill",), "incidents": ("incident",), "push-addresses": ("push_address",),
}  # fmt: skip
NAMED = ("guest", "beat", "booker", "pool", "let", "outing", "turn", "other", "to", "part", "gauge")
"""Fields that name a row: half the time they name one there is."""


@schemathesis.serializer("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
def _as_it_is(_context, value):
    """No workbook, whatever it says it is: whole and broken ones are asked of the parser itself."""
    return value if isinstance(value, bytes) else str(value).encode("utf-8", "surrogatepass")


schemathesis.openapi.format(
    "time-local", st.times(timezones=st.none()).map(lambda time: time.isoformat("minutes"))
)
schema = schemathesis.openapi.from_path(Path(__file__).parents[2] / "config/openapi.yaml")
schema.app = application


@pytest.fixture(scope="session")
def asked(request):
    """How many questions there were: said at the end, whatever pytest keeps back."""
    count = {"questions": 0}
    yield count
    with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
        sys.stdout.write(f"\n{count['questions']} questions asked\n")


@pytest.fixture(autouse=True)
def _one_connection():
    """Django's own test client does the same: the connection is the test's, not the request's."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def world(db):
    world = build()
    tokens = {
        who: issue_token(user, label="fuzz", now=timezone.now()) for who, user in world.people.items() if user
    }
    return world, tokens


def _aim(case, world, dice):
    """Three times in four at something that is there, since most of what is made up is nowhere."""
    ids = world.ids()
    kind = case.operation.path.removeprefix("/api/v1/").split("/")[0]
    for name in case.path_parameters:
        if dice.random() < 0.75:
            if name == "slug":
                case.path_parameters[name] = ids["slug"]
            elif name == "season":
                case.path_parameters[name] = dice.choice([2025, 2026])
            elif kind in KINDS and name in ("id", "pk"):
                case.path_parameters[name] = ids[dice.choice(KINDS[kind])]
    if isinstance(case.body, dict):
        for name in NAMED:
            row = {"booker": "guest", "to": "other"}.get(name, name)
            if name in case.body and dice.random() < 0.5:
                case.body[name] = ids[row]
        if "fishery" in case.body and dice.random() < 0.75:
            case.body["fishery"] = ids["slug"]


@schema.parametrize()
@settings(
    max_examples=QUESTIONS, deadline=None, phases=[Phase.explicit, Phase.generate], derandomize=False,
    suppress_health_check=list(HealthCheck), database=None,
)  # fmt: skip
def test_every_answer_is_one_that_was_declared(case, world, asked):
    world, tokens = world
    asked["questions"] += 1
    dice = random.Random(asked["questions"])
    _aim(case, world, dice)
    who = dice.choices(ROLES, WEIGHTS)[0]
    case.headers = dict(case.headers or {})
    if who in tokens:
        case.headers["Authorization"] = f"Bearer {tokens[who]}"
    case.headers.setdefault("If-Match", '"1"')
    with transaction.atomic():
        response = case.call()
        transaction.set_rollback(True)
    case.validate_response(response, checks=JUDGED)
