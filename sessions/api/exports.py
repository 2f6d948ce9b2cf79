"""The book of fish as a whole: totals, bulk files, their schema, and occurrences for science."""

from django.db.models import Count, Q, Sum
from django.http import StreamingHttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.models import Fishery
from beats.queries import Role
from beats.shared.made import MadeRenderer
from beats.shared.rest import StrictSerializer, VisibleMixin, read_query
from beats.shares import take
from sessions import queries
from sessions.api.filters import CatchFilter
from sessions.export.columns import table_dialect, table_schema
from sessions.export.occurrences import occurrences
from sessions.export.parquet import parquet_stream
from sessions.export.stream import csv_stream, json_stream
from sessions.models import Catch
from sessions.serializers import CatchTotalOut, TableSchemaOut


class CatchTotals(VisibleMixin, ListAPIView):
    """Numbers and weights by class and fate, of the fish the same filters list."""

    queryset = Catch.objects.none()
    visible_to = queries.catches_visible_to
    serializer_class = CatchTotalOut
    filterset_class = CatchFilter
    pagination_class = None

    def filter_queryset(self, queryset):
        rows = super().filter_queryset(queryset).select_related(None).order_by("kind", "fate")
        return rows.values("kind", "fate").annotate(
            number=Count("id"),
            total_kg=Sum("weight_kg"),
            unweighed=Count("id", filter=Q(weight_kg__isnull=True)),
        )


class FishQuery(StrictSerializer):
    season = serializers.IntegerField(min_value=1950, max_value=2200, required=False)
    format = serializers.CharField(required=False)


class CsvFile(MadeRenderer):
    media_type = "text/csv"
    format = "csv"


class JsonLines(MadeRenderer):
    media_type = "application/jsonl"
    format = "jsonl"


class Parquet(MadeRenderer):
    media_type = "application/vnd.apache.parquet"
    format = "parquet"


STREAMS = {"csv": csv_stream, "jsonl": json_stream, "parquet": parquet_stream}


def _water(request, slug: str) -> Fishery:
    fishery = fishery_at(request, slug, Role.OWNER)
    take("books", fishery, now=timezone.now())
    return fishery


class FishFile(APIView):
    """Every fish of a fishery, without people. For the owner. The last line has the count and the hash."""

    renderer_classes = [CsvFile, JsonLines, Parquet]

    @extend_schema(
        parameters=[
            OpenApiParameter("season", int, description="One year; all of them when it is left out"),
            OpenApiParameter("format", str, enum=list(STREAMS)),
        ],
        responses={
            (200, CsvFile.media_type): OpenApiTypes.STR,
            (200, JsonLines.media_type): OpenApiTypes.STR,
            (200, Parquet.media_type): OpenApiTypes.BINARY,
        },
        summary="All fish as CSV, JSON lines or Parquet",
    )
    def get(self, request, slug):
        fishery = _water(request, slug)
        season = read_query(FishQuery, request).get("season")
        kind = request.accepted_renderer
        name = f"fish-{fishery.slug}{f'-{season}' if season else ''}.{kind.format}"
        return StreamingHttpResponse(
            STREAMS[kind.format](fishery, season),
            content_type=kind.media_type,
            headers={"Content-Disposition": f'attachment; filename="{name}"'},
        )


class FishSchema(APIView):
    """What the columns of the CSV mean: a Frictionless Table Schema, and the dialect it is written in."""

    @extend_schema(responses=TableSchemaOut, summary="The Table Schema of the fish file")
    def get(self, request, slug):
        fishery_at(request, slug)
        return Response({"schema": table_schema(), "dialect": table_dialect()})


class Occurrences(APIView):
    """Fish as Darwin Core occurrences, the place blurred and people left out. For the owner."""

    renderer_classes = [CsvFile]

    @extend_schema(responses={(200, "text/csv"): OpenApiTypes.STR}, summary="Fish as Darwin Core occurrences")
    def get(self, request, slug):
        fishery = _water(request, slug)
        name = f'attachment; filename="occurrences-{fishery.slug}.csv"'
        return StreamingHttpResponse(
            occurrences(fishery), content_type="text/csv", headers={"Content-Disposition": name}
        )
