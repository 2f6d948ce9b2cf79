"""Every query parameter is either read or refused: none is silently left out of account.

The routes and parameters are those of the API document, so a new one is tested, too.
"""

import pytest
from django.urls import Resolver404, resolve

from tests.api_document import the_document
from tests.config.world import build
from tests.factories import client_of

pytestmark = pytest.mark.django_db

DOCUMENT = the_document()
READS = {path: operations["get"] for path, operations in DOCUMENT["paths"].items() if "get" in operations}
ROW_OF = {
    "alarms": "alarm", "beats": "beat", "catches": "catch", "gauges": "gauge", "guests": "guest", "hooks": "hook",
    "incidents": "incident", "lets": "let", "outings": "outing", "pools": "pool", "recalls": "recall",
    "rota-jobs": "job", "rotas": "rota", "turns": "turn",
}  # fmt: skip
GOOD = {
    "first_on": "2026-05-04", "last_on": "2026-05-10", "week": "20", "year": "2026",
    "level_m": "0.4", "page_size": "20", "wading_grade": "2", "part_minutes": "240",
    "season": "2026", "month": "5",
}  # fmt: skip
BY_TYPE = {
    "integer": ("maybe", "1.5", "99999999999999999999999"), "number": ("maybe", "NaN"),
    "boolean": ("maybe", "2"), "string": (),
}  # fmt: skip
BY_FORMAT = {"date": ("2026-02-30", "yesterday"), "date-time": ("2026-05-04", "yesterday"), "double": ("maybe",)}
COMPARED_WITH_TEXT = {"email", "name__icontains", "reference", "part", "label"}
"""Filters by a text: any text may be asked for, and one that no row has gives no row."""


def query_parameters(operation):
    return {one["name"]: one for one in operation.get("parameters", ()) if one["in"] == "query"}


def good(parameter):
    """A value that the document allows."""
    name, schema = parameter["name"], parameter["schema"]
    if "enum" in schema:
        return schema["enum"][0]
    if name == "month" and schema["type"] == "string":
        return "2026-05"
    if GOOD.get(name):
        return GOOD[name]
    by_format = {"date": "2026-05-04", "date-time": "2026-05-04T12:00:00Z"}
    return by_format.get(schema.get("format")) or {"integer": "1", "number": "5", "boolean": "true"}.get(
        schema.get("type"), "some-text"
    )


def bad(parameter):
    """Values that the document does not allow, an empty one among them."""
    schema = parameter["schema"]
    if parameter["name"] == "page_size":
        return ("", "maybe", "0", "-1")
    if "enum" in schema:
        return ("", "maybe")
    if parameter["name"] in COMPARED_WITH_TEXT or "slug" in parameter["name"]:
        return ("",)
    return ("", *BY_FORMAT.get(schema.get("format"), BY_TYPE[schema["type"]]))


@pytest.fixture
def world(db):
    return build()


@pytest.fixture
def owner(world):
    return client_of(world.people["owner"])


def address(path, world):
    kind = path.removeprefix("/api/v1/").split("/")[0]
    ids = world.ids()
    return path.format(
        id=ids.get(ROW_OF.get(kind)), slug=ids["slug"], season=2026, version=1, secret="x" * 43, code="too-often"
    )


def asked(operation):
    """The parameters that must be there."""
    return {name: good(one) for name, one in query_parameters(operation).items() if one.get("required")}


@pytest.mark.parametrize("path", sorted(READS))
def test_an_unknown_query_parameter_is_refused_by_name(path, world, owner):
    answer = owner.get(address(path, world), asked(READS[path]) | {"nonsense": "1"})
    assert answer.status_code == 400, answer.content[:300]
    problem = answer.json()
    assert "nonsense" in problem["errors"]
    for name in query_parameters(READS[path]):
        assert name in problem["errors"]["nonsense"][0]


@pytest.mark.parametrize(
    ("path", "name"), sorted((path, name) for path, one in READS.items() for name in query_parameters(one))
)
def test_a_declared_query_parameter_is_read(path, name, world, owner):
    operation = READS[path]
    parameter = query_parameters(operation)[name]
    if name == "cursor":
        assert owner.get(address(path, world), asked(operation) | {name: "nonsense"}).status_code == 404
        return
    value = good(parameter)
    if name == "format" and "enum" not in parameter["schema"]:  # one renderer alone
        value = "svg" if path.endswith("/picture/") else "json"
    allowed = owner.get(address(path, world), asked(operation) | {name: value})
    assert allowed.status_code < 400 or name not in allowed.json().get("errors", {}), allowed.content[:300]
    for value in bad(parameter):
        refused = owner.get(address(path, world), asked(operation) | {name: value})
        assert refused.status_code == 400, f"{name}={value!r}: {refused.status_code} {refused.content[:200]}"
        assert name in refused.json()["errors"]


def test_a_parameter_that_is_given_twice_is_refused(world, owner):
    answer = owner.get("/api/v1/lets/?status=held&status=confirmed")
    assert answer.status_code == 400
    assert "status" in answer.json()["errors"]


def test_a_change_with_an_unknown_parameter_is_refused_too(world, owner):
    answer = owner.post(f"/api/v1/lets/{world.ids()['let']}/confirm/?dry_run=true", {}, format="json")
    assert answer.status_code == 400
    assert "dry_run" in answer.json()["errors"]


def test_a_head_request_is_checked_as_a_get(world, owner):
    assert owner.head("/api/v1/lets/?nonsense=1").status_code == 400


def test_the_addresses_of_the_document_are_all_there(world):
    for path in READS:
        try:
            resolve(address(path, world))
        except Resolver404:
            pytest.fail(path)
