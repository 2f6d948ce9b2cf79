"""The owner's pages: times as the river has them, and papers and pictures made for one person."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from beats.models import Fishery
from beats.pages.show import shown
from beats.queries import zone_of
from beats.shared.made import NOTHING_FETCHED, PRIVATE


def shown_at(request: HttpRequest, fishery: Fishery, template: str, facts: dict[str, Any]) -> HttpResponse:
    """A page about a fishery, its times those at the river."""
    with timezone.override(zone_of(fishery)):
        return shown(request, template, {"fishery": fishery} | facts)


PICTURE, PDF = "image/svg+xml", "application/pdf"


def made_file(data: bytes | str, *, kind: str, name: str = "") -> HttpResponse:
    """Something made for one person: a paper to keep under `name`, or a picture within a page."""
    headers = PRIVATE | {"X-Content-Type-Options": "nosniff"}
    if name:
        headers["Content-Disposition"] = f'attachment; filename="{name}"'
    if kind == PICTURE:
        headers |= NOTHING_FETCHED
    return HttpResponse(data, content_type=kind, headers=headers)
