"""A page, rendered: one style within it, nothing from anywhere else, nothing a stranger may frame or keep."""

import base64
import hashlib
from importlib import resources
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.cache import patch_vary_headers

from beats.emergency import NOT_AN_EMERGENCY_SERVICE
from beats.models import Membership
from beats.shared.both_ways import kept_apart

CSS = resources.files("beats").joinpath("static/pages/page.css").read_text(encoding="utf-8")
_STYLE = base64.b64encode(hashlib.sha256(CSS.encode()).digest()).decode()
POLICY = (
    f"default-src 'none'; style-src 'sha256-{_STYLE}'; script-src 'self'; connect-src 'self'; "
    "img-src 'self' data:; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
}


def shown(
    request: HttpRequest, template: str, facts: dict[str, Any] | None = None, *, status: int = 200
) -> HttpResponse:
    """`template` with what every page needs. One question more for people signed in: what part they have where."""
    parts = parts_of(request)
    common = {"css": CSS, "kept_waters": [part.fishery for part in parts if part.role in Membership.KEEPERS],
              "is_guest": any(part.role == Membership.Role.GUEST for part in parts),
              "not_a_service": NOT_AN_EMERGENCY_SERVICE,
              "language": translation.get_language(), "languages": settings.LANGUAGES}  # fmt: skip
    html = render_to_string(template, common | (facts or {}), request)
    answer = HttpResponse(kept_apart(html), status=status)
    for name, value in HEADERS.items():
        answer.headers[name] = value
    patch_vary_headers(answer, ["Cookie", "Accept-Language"])
    return answer


def parts_of(request: HttpRequest) -> list[Membership]:
    """The person's parts, asked once a request."""
    if not request.user.is_authenticated:
        return []
    if not hasattr(request, "parts"):
        mine = Membership.objects.filter(user=request.user).select_related("fishery")
        request.parts = list(mine.order_by("fishery__name"))
    return request.parts


def plain_page(request: HttpRequest, title: str, sentence: str, *, status: int) -> HttpResponse:
    """One sentence that says what is the matter and what to do."""
    return shown(request, "pages/sentence.html", {"title": title, "sentence": sentence}, status=status)


def wants_json(request: HttpRequest) -> bool:
    """Whether the page's own script asks, which sends what a phone kept."""
    return request.headers.get("Accept", "").startswith("application/json")
