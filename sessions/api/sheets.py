"""A rota's sheet, calendar and picture."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.models import Membership
from beats.queries import require_role
from beats.shared.made import (
    NOTHING_FETCHED,
    PRIVATE,
    CalendarRenderer,
    HtmlRenderer,
    LinesRenderer,
    PdfRenderer,
    PictureRenderer,
)
from beats.shared.rest import Ref, StrictSerializer, read_query
from bookings.queries import guest_of, guests_visible_to
from sessions import queries
from sessions.models import Rota
from sessions.sheets import gather
from sessions.sheets.ical import calendar
from sessions.sheets.lines import lines
from sessions.sheets.page import page
from sessions.sheets.picture import picture
from sessions.sheets.sheet import Sheet


class CalendarIn(StrictSerializer):
    guest = Ref(required=False, help_text="Whose turns; a guest need not say, theirs are the only ones they see")
    rod = serializers.IntegerField(min_value=1, max_value=60, required=False, help_text="Or of which rod")

    def validate(self, attrs):
        if len(attrs) > 1:
            raise serializers.ValidationError({"rod": ["Give a guest or a rod, not both."]})
        return attrs


class RotaSheet(APIView):
    """One A4 page for the hut: all of it for keepers, your own line for guests."""

    renderer_classes = [HtmlRenderer, PdfRenderer, LinesRenderer]

    @extend_schema(
        parameters=[
            OpenApiParameter(
                "format", str, enum=["html", "pdf", "csv"], description="Or send Accept; HTML if neither"
            )
        ],
        responses={
            (200, "text/html"): OpenApiTypes.STR,
            (200, "application/pdf"): OpenApiTypes.BINARY,
            (200, "text/csv"): OpenApiTypes.STR,
        },
        summary="The rota to pin up, to print or as lines of cells",
    )
    def get(self, request, pk) -> Response:
        rota = queries.rota_as_seen_by(request.user, pk)
        sheet = gather.sheet(rota, now=timezone.now())
        kind = request.accepted_renderer.format
        if kind == "html":
            return Response(page(sheet), headers=NOTHING_FETCHED | PRIVATE)
        made = _pdf(sheet) if kind == "pdf" else lines(sheet.turns)
        return Response(made, headers=_named(rota, kind) | PRIVATE)


class RotaCalendar(APIView):
    """An event for each turn of one guest or one rod."""

    renderer_classes = [CalendarRenderer]

    @extend_schema(
        parameters=[CalendarIn],
        responses={(200, "text/calendar"): OpenApiTypes.STR},
        summary="Turns for a calendar (RFC 5545)",
    )
    def get(self, request, pk) -> Response:
        rota = queries.rota_as_seen_by(request.user, pk)
        guest, rod = self._whose(rota, **read_query(CalendarIn, request))
        feed, turns, gone = gather.calendar(rota, request.user, guest=guest, rod=rod, now=timezone.now())
        return Response(calendar(feed, turns, gone=gone), headers=_named(rota, "ics") | PRIVATE)

    def _whose(self, rota: Rota, *, guest: int | None = None, rod: int | None = None):
        user = self.request.user
        if guest:
            return get_object_or_404(guests_visible_to(user), pk=guest, fishery=rota.beat.fishery_id), None
        if rod is None and (own := guest_of(user, rota.beat.fishery)):
            return own, None
        if rod is None:
            raise serializers.ValidationError({"guest": ["Say whose turns: ?guest= or ?rod="]})
        return None, rod


class RotaPicture(APIView):
    """Each rod's worth per turn, beside that of the rota it replaced. For keepers."""

    renderer_classes = [PictureRenderer]

    @extend_schema(
        responses={(200, "image/svg+xml"): OpenApiTypes.STR}, summary="How even the rota is, as a picture"
    )
    def get(self, request, pk) -> Response:
        rota = get_object_or_404(queries.rotas_visible_to(request.user), pk=pk)
        require_role(request.user, rota.beat.fishery, *Membership.KEEPERS)
        return Response(picture(*gather.panels(rota)), headers=NOTHING_FETCHED | PRIVATE)


def _pdf(sheet: Sheet) -> bytes:
    from sessions.sheets.pdf import pdf  # noqa: PLC0415 - takes a second to load, and only printing needs it

    return pdf(sheet)


def _named(rota: Rota, kind: str) -> dict[str, str]:
    name = f"rota-{rota.beat.slug}-{rota.first_on}-v{rota.version}.{kind}"
    return {"Content-Disposition": f'attachment; filename="{name}"'}
