"""The committed API document: what the code says today, and what a client must be able to rely on.

Checked against: the OpenAPI Specification 3.1 (its published JSON Schema, carried by
openapi-spec-validator); RFC 9110 section 13.1.1 for If-Match; the IETF draft
"The Idempotency-Key HTTP Header Field" (draft-ietf-httpapi-idempotency-key-header) for the key.
"""

import pytest
from django.core.management import call_command
from openapi_spec_validator import OpenAPIV31SpecValidator

from tests.api_document import COMMITTED, the_document

VERBS = ("get", "post", "put", "patch", "delete")
CREATING = {
    f"/api/v1/{things}/"
    for things in (
        "catches",
        "drills",
        "duties",
        "feeds",
        "guests",
        "incidents",
        "ledger",
        "lets",
        "outings",
        "plans",
        "recalls",
        "rotas",
        "waiting",
        "warnings",
    )
} | {
    "/api/v1/beats/{id}/observations/",
    "/api/v1/fisheries/{slug}/hooks/",
    "/api/v1/fisheries/{slug}/lets/import/",
    "/api/v1/fisheries/{slug}/payment-keys/",
    "/api/v1/fisheries/{slug}/tariff/",
    "/api/v1/fisheries/{slug}/board-keys/",
    "/api/v1/fisheries/{slug}/returns/{season}/signed/",
    "/api/v1/fisheries/{slug}/returns/{season}/effort/",
    "/api/v1/fisheries/{slug}/old-books/",
    "/api/v1/gauges/{id}/keys/",
    "/api/v1/outings/{id}/fish/",
    "/api/v1/lets/{id}/split/",
    "/api/v1/rotas/{id}/replan/",
    "/api/v1/rotas/{id}/swap/",
}
CHANGING = {
    ("patch", "/api/v1/catches/{id}/"),
    ("patch", "/api/v1/guests/{id}/"),
    ("patch", "/api/v1/lets/{id}/"),
    ("put", "/api/v1/lets/{id}/party/"),
    ("put", "/api/v1/fisheries/{slug}/letting-policy/"),
    ("patch", "/api/v1/fisheries/{slug}/terms/"),
}
SIGNED = {"/api/v1/gateway/events/"}  # by three headers, which say 401 when they do not fit
OPEN_TO_ALL = {
    "/api/v1/problems/",
    "/api/v1/problems/{code}",
    "/api/v1/feeds/{secret}.ics",
}


@pytest.fixture(scope="module")
def document():
    return the_document()


@pytest.fixture(scope="module")
def operations(document):
    return {
        (verb, path): operation
        for path, verbs in document["paths"].items()
        for verb, operation in verbs.items()
        if verb in VERBS
    }


def headers(operation):
    """The header parameters of an operation, and whether each must be sent."""
    found = [each for each in operation.get("parameters", []) if each["in"] == "header"]
    return {each["name"]: each.get("required", False) for each in found}


def test_the_committed_document_is_what_the_code_says(tmp_path):
    today = tmp_path / "openapi.yaml"
    call_command("spectacular", validate=True, fail_on_warn=True, file=str(today))
    teach = "the API changed; run: uv run manage.py spectacular --file config/openapi.yaml"
    assert COMMITTED.read_text(encoding="utf-8") == today.read_text(encoding="utf-8"), teach


def test_a_second_reader_finds_no_fault_in_it(document):
    assert document["openapi"].startswith("3.1.")
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_the_second_reader_would_find_a_fault(document):
    broken = document | {"paths": {"/api/v1/me/{id}/": {"get": {"responses": {}}}}}
    assert list(OpenAPIV31SpecValidator(broken).iter_errors()) != []


def test_every_post_that_creates_takes_an_idempotency_key(operations):
    taking = {path for (verb, path), operation in operations.items() if "Idempotency-Key" in headers(operation)}
    assert taking >= CREATING
    assert {headers(operations["post", path])["Idempotency-Key"] for path in taking} == {False}


def test_the_answer_to_a_retry_is_documented_beside_the_first(operations):
    for path in sorted(CREATING):
        answers = operations["post", path]["responses"]
        assert {"200", "201", "409", "422"} <= set(answers), path
        assert answers["200"]["content"] == answers["201"]["content"], path


def test_every_change_must_carry_the_version_it_read(operations):
    changes = {key: headers(operation) for key, operation in operations.items() if key[0] in ("patch", "put")}
    assert set(changes) == CHANGING
    for key in CHANGING:
        assert changes[key] == {"If-Match": True}
        assert {"412", "428"} <= set(operations[key]["responses"])


def test_every_operation_says_what_happens_without_a_token(operations):
    silent = {path for (_verb, path), operation in operations.items() if "401" not in operation["responses"]}
    assert silent == OPEN_TO_ALL
    unguarded = {path for (_verb, path), operation in operations.items() if "security" not in operation}
    assert unguarded == OPEN_TO_ALL | SIGNED


def test_every_refusal_is_a_problem_document(operations):
    for key, operation in operations.items():
        for code, answer in operation["responses"].items():
            if code >= "400":
                assert list(answer["content"]) == ["application/problem+json"], (key, code)


@pytest.mark.parametrize("asked", ["", "?version=a%0d%0aX-A:b", "?version=%22", "?lang=zz", "?unknown=1"])
def test_the_document_is_the_same_whatever_is_asked_with_it(client, asked):
    answer = client.get(f"/api/v1/schema/{asked}")
    assert (answer.status_code, answer["Content-Disposition"]) == (200, 'inline; filename="Rodtally.yaml"')
    assert answer.content == COMMITTED.read_bytes()


def test_the_document_comes_as_json_too(client):
    answer = client.get("/api/v1/schema/", headers={"Accept": "application/json"})
    assert (answer["Content-Type"], answer.json()) == ("application/json", the_document())


def test_every_operation_says_what_it_does(operations):
    assert [of for of, told in operations.items() if not told.get("summary", told.get("description"))] == []
