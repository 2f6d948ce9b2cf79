"""Lets from an owner's spreadsheet: looked through first, then taken in."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.shared.rest import BoundedCsvParser, StrictSerializer, answer, once_of, read_query
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


class DuplicateOut(serializers.Serializer):
    row = serializers.IntegerField(help_text="In the file; the heading is row 1")
    same_as_row = serializers.IntegerField(allow_null=True, help_text="The earlier row that says the same")
    let = serializers.IntegerField(allow_null=True, help_text="The let in the book that is the same")
    text = serializers.CharField()


class ReportOut(serializers.Serializer):
    lets = serializers.IntegerField(help_text="How many would be made, without the duplicates")
    letters = serializers.IntegerField(help_text="How many e-mails bookers would be sent, as asked")
    letters_if_notified = serializers.IntegerField(help_text="How many with notify=true")
    new_guests = serializers.ListField(child=serializers.CharField())
    faults = FaultOut(many=True)
    duplicates = DuplicateOut(many=True)


class SkippedOut(serializers.Serializer):
    row = serializers.IntegerField(help_text="In the file; the heading is row 1")
    text = serializers.CharField()


class LetImportOut(serializers.Serializer):
    id = serializers.IntegerField()
    rows = serializers.IntegerField(help_text="How many lets were made")
    new_guests = serializers.IntegerField()
    letters = serializers.IntegerField(
        allow_null=True, help_text="How many bookers' e-mails it asked for; null: not kept then"
    )
    skipped = SkippedOut(many=True, help_text="Rows left out as duplicates")
    at = serializers.DateTimeField()


class ImportQuery(StrictSerializer):
    notify = serializers.BooleanField(
        default=False, help_text="Send each booker with an e-mail address their confirmation and permit"
    )
    skip_duplicates = serializers.BooleanField(
        default=False, help_text="Leave out rows that repeat another row or a let in the book"
    )


class _File(APIView):
    parser_classes = [BoundedCsvParser, BoundedXlsxParser]

    def asked(self, request, slug):
        """The fishery, the file's bytes and whether they are a workbook."""
        fishery = fishery_at(request, slug)
        body = request.data if isinstance(request.data, bytes) else b""
        return fishery, body, (request.content_type or "").split(";")[0] == XLSX


class LetsPreview(_File):
    """Every clash, fault and duplicate by row. Nothing is written and no mail is sent."""

    @extend_schema(
        parameters=[ImportQuery], request=FILE, responses=ReportOut, summary="What a file of lets would do"
    )
    def post(self, request, slug):
        fishery, body, xlsx = self.asked(request, slug)
        notify = read_query(ImportQuery, request)["notify"]
        facts = {"xlsx": xlsx, "notify": notify, "by": request.user, "now": timezone.now()}
        return Response(ReportOut(preview(fishery, body, **facts)).data)


class LetsImport(_File):
    """Every row or none; the same file again changes nothing. Bookers are e-mailed only with notify=true."""

    once = True

    @extend_schema(
        parameters=[ImportQuery],
        request=FILE,
        responses={201: LetImportOut, 200: LetImportOut},
        summary="Take in a file of lets",
    )
    def post(self, request, slug):
        fishery, body, xlsx = self.asked(request, slug)
        asked = read_query(ImportQuery, request)
        facts = {"xlsx": xlsx, **asked, "by": request.user, "now": timezone.now(), "once": once_of(request)}
        done, made = take_in(fishery, body, **facts)
        return answer(LetImportOut, done, made=made)
