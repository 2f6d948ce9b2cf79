"""Lets from an owner's spreadsheet: looked through first, then taken in."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.shared.rest import BoundedCsvParser, answer, once_of
from bookings.services.imports import preview, take_in

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FILE = {"text/csv": OpenApiTypes.STR, XLSX: OpenApiTypes.BINARY}


class BoundedXlsxParser(BoundedCsvParser):
    """The bytes of a workbook, as they are."""

    media_type = XLSX


class FaultOut(serializers.Serializer):
    row = serializers.IntegerField(help_text="In the file; the heading is row 1")
    column = serializers.CharField()
    text = serializers.CharField()


class ReportOut(serializers.Serializer):
    lets = serializers.IntegerField(help_text="How many would be made")
    new_guests = serializers.ListField(child=serializers.CharField())
    faults = FaultOut(many=True)


class LetImportOut(serializers.Serializer):
    id = serializers.IntegerField()
    rows = serializers.IntegerField()
    new_guests = serializers.IntegerField()
    at = serializers.DateTimeField()


class _File(APIView):
    parser_classes = [BoundedCsvParser, BoundedXlsxParser]

    def asked(self, request, slug):
        """The fishery, the file's bytes and whether they are a workbook."""
        fishery = fishery_at(request, slug)
        body = request.data if isinstance(request.data, bytes) else b""
        return fishery, body, (request.content_type or "").split(";")[0] == XLSX


class LetsPreview(_File):
    """Every clash and fault by row. Nothing is written."""

    @extend_schema(request=FILE, responses=ReportOut, summary="What a file of lets would do")
    def post(self, request, slug):
        fishery, body, xlsx = self.asked(request, slug)
        return Response(ReportOut(preview(fishery, body, xlsx=xlsx, by=request.user, now=timezone.now())).data)


class LetsImport(_File):
    """Every row or none; the same file again changes nothing."""

    once = True

    @extend_schema(
        request=FILE, responses={201: LetImportOut, 200: LetImportOut}, summary="Take in a file of lets"
    )
    def post(self, request, slug):
        fishery, body, xlsx = self.asked(request, slug)
        facts = {"xlsx": xlsx, "by": request.user, "now": timezone.now(), "once": once_of(request)}
        done, made = take_in(fishery, body, **facts)
        return answer(LetImportOut, done, made=made)
