"""The owner's season report, as PDF."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.shared.made import PdfRenderer
from sessions.api.returns import water_of_owner
from sessions.papers import season_report
from sessions.season_reports import report_of


class SeasonReportView(APIView):
    """Return, effort, averages with their limits, pools, lets. For the owner."""

    renderer_classes = [PdfRenderer]

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY}, summary="The season on four pages")
    def get(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        report = report_of(fishery, season, timezone.now())
        name = f'attachment; filename="season-{fishery.slug}-{season}.pdf"'
        return Response(season_report.pdf(report), headers={"Content-Disposition": name})
