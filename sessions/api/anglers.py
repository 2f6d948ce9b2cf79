"""An angler's own season, to report from where the duty is theirs."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.generics import get_object_or_404
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.shared.made import LinesRenderer
from bookings.queries import guests_visible_to
from sessions.anglers import angler_record, lines
from sessions.api.returns import check_season
from sessions.serializers.anglers import AnglerRecordOut


class AnglerRecordView(APIView):
    """A guest's own days and fish of a season. For the guest and the keepers; anybody else finds nothing."""

    renderer_classes = [JSONRenderer, LinesRenderer]

    @extend_schema(
        parameters=[OpenApiParameter("format", str, enum=["json", "csv"])],
        responses={(200, "application/json"): AnglerRecordOut, (200, "text/csv"): OpenApiTypes.STR},
        summary="An angler's own record of a season, as JSON or CSV",
    )
    def get(self, request, pk, season):
        guest = get_object_or_404(guests_visible_to(request.user), pk=pk)
        check_season(season)
        record = angler_record(guest, season, now=timezone.now())
        if request.accepted_renderer.format == "json":
            return Response(AnglerRecordOut(record).data)
        name = f'attachment; filename="record-{guest.fishery.slug}-{season}.csv"'
        return Response(lines(record), headers={"Content-Disposition": name})
