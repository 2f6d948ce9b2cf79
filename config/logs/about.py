"""What the lines of this thread are about: a request, and an outing where there is one."""

import re
import secrets
from contextvars import ContextVar

from django.core.signals import request_finished

HEADER = "X-Request-ID"
SANE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{7,63}")
"""Letters, figures and three marks: nothing that could forge a second line or fill a disk."""

request_id: ContextVar[str] = ContextVar("request_id", default="")
outing_id: ContextVar[int | None] = ContextVar("outing_id", default=None)


def sane_or_new(told: str | None) -> str:
    """The caller's own id if it may stand in a log, else one of ours: 128 random bits."""
    return told if told and SANE.fullmatch(told) else secrets.token_hex(16)


class RequestId:
    """Middleware, the outermost. Takes the request's id or makes one, and says it in the answer.

    The id stays until the answer has gone out, since Django and the web server write their lines after
    every middleware is done.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.id = sane_or_new(request.headers.get(HEADER))
        request_id.set(request.id)
        outing_id.set(None)
        response = self.get_response(request)
        response[HEADER] = request.id
        return response

    def process_view(self, request, _view, _args, kwargs):
        match = request.resolver_match
        if "outings/<int:pk>" in match.route:
            outing_id.set(kwargs["pk"])


def forget(**_signal) -> None:
    request_id.set("")
    outing_id.set(None)


request_finished.connect(forget)
