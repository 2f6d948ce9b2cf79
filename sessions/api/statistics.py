"""A season's statistics, its pictures, and what past books show for a week and a level."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.models import Membership
from beats.shared.made import PictureRenderer
from beats.shared.rest import read_query
from beats.shares import take
from sessions.api.returns import check_season
from sessions.seasons import season_expected, season_statistics
from sessions.serializers import ExpectedOut, ExpectedQuery, StatisticsOut, StatisticsQuery


def _statistics(request, slug: str, season: int):
    fishery = fishery_at(request, slug, *Membership.KEEPERS)
    check_season(season)
    asked, now = read_query(StatisticsQuery, request), timezone.now()
    take("books", fishery, now=now)
    made = season_statistics(fishery, season, species=asked["species"], now=now)
    return fishery, asked, made


class SeasonStatistics(APIView):
    """Catch per rod-day and what it hangs together with. For keepers."""

    @extend_schema(parameters=[StatisticsQuery], responses=StatisticsOut, summary="A season's statistics")
    def get(self, request, slug, season):
        _, _, made = _statistics(request, slug, season)
        return Response(StatisticsOut(made).data)


class SeasonPicture(APIView):
    """The season as a picture. For keepers."""

    renderer_classes = [PictureRenderer]

    @extend_schema(
        parameters=[StatisticsQuery],
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        summary="Weeks, levels or pools as SVG",
    )
    def get(self, request, slug, season):
        from sessions.papers.charts import picture  # noqa: PLC0415 - the plotting library loads slowly

        fishery, asked, made = _statistics(request, slug, season)
        return Response(picture(made, asked["of"], water=fishery.name))


class SeasonExpected(APIView):
    """What the five seasons before show for such days. Never a promise of fish."""

    @extend_schema(
        parameters=[ExpectedQuery], responses=ExpectedOut, summary="Fish per rod-day in a week, and at a level"
    )
    def get(self, request, slug, season):
        fishery = fishery_at(request, slug)
        check_season(season)
        asked = read_query(ExpectedQuery, request)
        asked.setdefault("level_m", None)
        return Response(ExpectedOut(season_expected(fishery, season, **asked)).data)
