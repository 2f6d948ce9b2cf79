"""How a question is made: of the API document, by somebody, three times in four about a row there is."""

import datetime as dt
import random
from pathlib import Path

import schemathesis
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from config.wsgi import application

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


A_MONDAY, DAYS = dt.date(2025, 1, 6), 1000
NO_HEADERS = ("If-Match", "Idempotency-Key")


@schemathesis.serializer("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
def _as_it_is(_context, value):
    """No workbook, whatever it says it is: whole and broken ones are asked of the parser itself."""
    return value if isinstance(value, bytes) else str(value).encode("utf-8", "surrogatepass")


schemathesis.openapi.format(
    "time-local", st.times(timezones=st.none()).map(lambda time: time.isoformat("minutes"))
)


def document():
    """The API document, asked of the application itself."""
    schema = schemathesis.openapi.from_path(Path(__file__).parents[2] / "config/openapi.yaml")
    schema.app = application
    return schema


def dice_of(case):
    """The same question has the same luck, so that what failed once fails again."""
    return random.Random(f"{case.operation.label} {case.path_parameters} {case.query} {case.body!r}")


def aim(case, world, dice, *, keep=frozenset(), there=0.75):
    """Three times in four at something that is there, since most of what is made up is nowhere."""
    ids = world.ids()
    kind = case.operation.path.removeprefix("/api/v1/").split("/")[0]
    for name in case.path_parameters:
        if name not in keep and dice.random() < there:
            if name == "slug":
                case.path_parameters[name] = ids["slug"]
            elif name == "season":
                case.path_parameters[name] = dice.choice([2025, 2026])
            elif kind in KINDS and name in ("id", "pk"):
                case.path_parameters[name] = ids[dice.choice(KINDS[kind])]
    if isinstance(case.body, dict):
        for name in NAMED:
            row = {"booker": "guest", "to": "other"}.get(name, name)
            if name in case.body and name not in keep and dice.random() < there - 0.25:
                case.body[name] = ids[row]
        if "fishery" in case.body and dice.random() < there:
            case.body["fishery"] = ids["slug"]


def tame(case, dice):
    """Nothing odd for its own sake: days of these seasons, no filters, no keys but those that fit."""
    case.query = {}
    case.headers = {name: value for name, value in (case.headers or {}).items() if name not in NO_HEADERS}
    case.body = _near("", case.body, dice)


def _near(name, value, dice):
    """Every day within a thousand from the first, half of them Mondays; every instant of a day about now."""
    if isinstance(value, dict):
        return {each: _near(each, inner, dice) for each, inner in value.items()}
    if isinstance(value, list):
        return [_near(name, each, dice) for each in value]
    if not isinstance(value, str):
        return value
    if name == "at" or name.endswith("_at"):
        return (dt.datetime.now(dt.UTC) + dt.timedelta(minutes=dice.randrange(-60, 600))).isoformat()
    if name.endswith(("_on", "_day")):
        return (A_MONDAY + dt.timedelta(days=dice.randrange(DAYS) // 7 * dice.choice((1, 7)))).isoformat()
    return value


def sign(case, tokens, dice, weights=WEIGHTS):
    """Somebody asks: mostly the owner, at times somebody who may not."""
    who = dice.choices(ROLES, weights)[0]
    case.headers = dict(case.headers or {})
    if who in tokens:
        case.headers["Authorization"] = f"Bearer {tokens[who]}"
    case.headers.setdefault("If-Match", '"1"')
