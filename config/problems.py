"""Every failure leaves as an RFC 9457 problem document."""

import logging

from django.core.exceptions import DisallowedHost, PermissionDenied, RequestDataTooBig
from django.db import OperationalError
from django.http import Http404, HttpResponse, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from beats.pages.cookies import not_sent
from beats.pages.door import nothing_here
from beats.pages.show import plain_page, wants_json
from beats.shared.refusals import PROBLEM_BASE, Refusal
from beats.shared.rest import TooLarge

log = logging.getLogger("rodtally.problems")
MEDIA_TYPE = "application/problem+json"
BROKEN = "A fault of ours"
BROKEN_WORDS = (
    "Something broke on our side. Nothing of this request was kept. Try again; if someone is overdue, do not wait "
    "for us: ring them, then 999 or 112."
)
BROKEN_PAGE = f"""<!doctype html><html lang="en-GB"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>{BROKEN}</title>
<h1>{BROKEN}</h1><p>{BROKEN_WORDS}</p><p><a href="/">Try again</a></p></html>"""
"""Asks nothing of the database or a template: either may be what broke."""
NOT_FOUND = "There is nothing here that you may see. Check the address and your token."


def handle(exc: Exception, _context: dict) -> Response | None:
    """DRF's exception hook: domain refusals, DRF's own errors and Django's, in one form."""
    if isinstance(exc, Http404):
        exc = exceptions.NotFound(NOT_FOUND)
    if isinstance(exc, PermissionDenied):
        exc = exceptions.PermissionDenied()
    if isinstance(exc, RequestDataTooBig):  # Django counts before the parser can
        exc = TooLarge()
    if isinstance(exc, OperationalError):
        log.error("the database did not answer in time", exc_info=exc)
        exc = Busy()
    if isinstance(exc, Refusal):
        return _answer(exc.status, exc.code, exc.title, exc.sentence, errors=exc.errors)
    if not isinstance(exc, exceptions.APIException):
        return None
    set_rollback()
    return _from_drf(exc)


class Busy(exceptions.APIException):
    status_code = 503
    default_code = "busy"
    default_detail = "The book is busy. Nothing was changed. Try again in a few seconds."


def _from_drf(exc: exceptions.APIException) -> Response:
    headers = {}
    if getattr(exc, "auth_header", None):
        headers["WWW-Authenticate"] = exc.auth_header
    if getattr(exc, "wait", None):
        headers["Retry-After"] = str(int(exc.wait))
    if isinstance(exc, exceptions.ValidationError):
        errors = flatten(exc.detail)
        sentence = "; ".join(f"{field}: {texts[0]}" for field, texts in list(errors.items())[:3])
        return _answer(400, "invalid", "The request has a fault", sentence, errors=errors, headers=headers)
    code = exc.get_codes() if isinstance(exc.get_codes(), str) else "refused"
    title = exc.default_code.replace("_", " ").capitalize()
    return _answer(exc.status_code, code.replace("_", "-"), title, str(exc.detail), headers=headers)


def _answer(status, code, title, detail, *, errors=None, headers=None) -> Response:
    body = body_of(status, code, title, detail)
    if errors:
        body["errors"] = errors
    return Response(body, status=status, headers=headers, content_type=MEDIA_TYPE)


def body_of(status, code, title, detail) -> dict:
    """A problem document, RFC 9457, as plain data."""
    return {"type": PROBLEM_BASE + code, "title": title, "status": status, "detail": detail}


def flatten(detail, path: str = "") -> dict[str, list[str]]:
    """Nested DRF errors as {"pools.3.length_m": ["…"]}."""
    if isinstance(detail, dict):
        pairs = [(_join(path, key), value) for key, value in detail.items()]
    elif isinstance(detail, list) and any(isinstance(item, dict | list) for item in detail):
        pairs = [(_join(path, index), value) for index, value in enumerate(detail) if value]
    else:
        return {path or "request": [str(item) for item in (detail if isinstance(detail, list) else [detail])]}
    return {key: texts for child, value in pairs for key, texts in flatten(value, child).items()}


def _join(path, key) -> str:
    if key == "non_field_errors":
        return path or "request"
    return f"{path}.{key}" if path else str(key)


def _page(status, code, title, sentence) -> JsonResponse:
    return JsonResponse(body_of(status, code, title, sentence), status=status, content_type=MEDIA_TYPE)


def not_found(request, exception=None) -> HttpResponse:  # noqa: ARG001 - Django's signature
    return nothing_here(request) if _by_eye(request) else _page(404, "not-found", "Not found", NOT_FOUND)


def bad_request(request, exception=None) -> HttpResponse:
    if isinstance(exception, DisallowedHost) and _by_eye(
        request
    ):  # nothing is known of who asks: no session, no language
        words = "This service does not answer to that host name.\n"
        return HttpResponse(words, status=400, content_type="text/plain")
    if _by_eye(request):
        words = "That could not be read. Go back, and send it again with less in it."
        return plain_page(request, "Not read", words, status=400)
    return _page(400, "bad-request", "Bad request", "The request cannot be read. Send it again as JSON.")


def forbidden(request, exception=None) -> HttpResponse:  # noqa: ARG001
    if _by_eye(request):
        return plain_page(request, "Not allowed", "You may not do this here. Ask the fishery.", status=403)
    return _page(403, "permission-denied", "Not allowed", "You may not do this here.")


def csrf_failed(request, reason="") -> HttpResponse:  # noqa: ARG001
    """No cookie came with the form, or another page sent it."""
    if wants_json(request):
        return _page(403, "old-page", "Old page", "This page is too old to send from. Load it again.")
    return not_sent(request)


def server_error(request) -> HttpResponse:
    return HttpResponse(BROKEN_PAGE, status=500) if _by_eye(request) else _page(500, "fault", BROKEN, BROKEN_WORDS)


def _by_eye(request) -> bool:
    """Whether a person looks at the answer: everything but the API and the health checks is a page."""
    return not request.path.startswith(("/api/", "/health/")) and not wants_json(request)
