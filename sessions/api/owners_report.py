"""The owner's season report, as PDF."""

import datetime as dt

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.models import Fishery
from beats.queries import local_day
from beats.shared.made import PdfRenderer
from bookings.accounts import takings
from sessions.api.returns import signed_words, water_of_owner
from sessions.lets_let import season_lets
from sessions.papers import season_report
from sessions.queries import last_signed
from sessions.returns import season_return
from sessions.seasons import season_statistics


class SeasonReportView(APIView):
    """Return, effort, averages with their limits, pools, lets. For the owner."""

    renderer_classes = [PdfRenderer]

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY}, summary="The season on four pages")
    def get(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        report = _report(fishery, season, timezone.now())
        name = f'attachment; filename="season-{fishery.slug}-{season}.pdf"'
        return Response(season_report.pdf(report), headers={"Content-Disposition": name})


def _report(fishery: Fishery, season: int, now: dt.datetime) -> season_report.SeasonReport:
    made, last = season_return(fishery, season, now=now), last_signed(fishery, season)
    standing = "Not signed: the book as it stands."
    if last:
        same = last.content_hash == made.content_hash
        standing = signed_words(last) if same else f"The book has changed since version {last.version} was signed."
    salmon, trout = (
        season_statistics(fishery, season, species=species, now=now) for species in ("salmon", "sea_trout")
    )
    money = takings(fishery, season, today=local_day(fishery, now))
    lets = season_lets(fishery, season, takings=money["months"], currency=money["currency"])
    return season_report.SeasonReport(made, standing, salmon, trout, lets, now)
