"""REST manners shared by every app: strict input, strict filters, bounded bodies, keys and versions."""

import datetime as dt
import json
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import QuerySet
from django.utils.dateparse import parse_datetime
from django_filters.fields import IsoDateTimeField
from django_filters.rest_framework import (
    BooleanFilter,
    DjangoFilterBackend,
    FilterSet,
    IsoDateTimeFilter,
    NumberFilter,
)
from rest_framework import exceptions, serializers
from rest_framework.pagination import CursorPagination
from rest_framework.parsers import BaseParser, JSONParser, MultiPartParser
from rest_framework.response import Response

from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.idempotent_views import once_of as once_of

MAX_BODY_BYTES = 256 * 1024
MAX_CSV_BYTES = 1024 * 1024
"""A year of readings, one every quarter of an hour."""
MAX_FILE_BYTES = 10 * 1024 * 1024
"""An old book of 50,000 fish, as a workbook or as CSV."""
NOT_OF_THIS_AGE = "Give a year from 1950 to 2200."


def of_this_age(day: dt.date) -> bool:
    """Years at the edge of time cannot be brought from one zone to another."""
    return 1950 <= day.year <= 2200


class TooLarge(exceptions.APIException):
    status_code = 413
    default_code = "body_too_large"
    default_detail = f"The body is larger than {MAX_BODY_BYTES // 1024} kB. Send less at once."


class PreconditionRequired(exceptions.APIException):
    status_code = 428
    default_code = "version_required"
    default_detail = 'Read it first, then send its version in If-Match, like If-Match: "3".'


class BoundedJSONParser(JSONParser):
    """JSON of at most MAX_BODY_BYTES, without NaN or Infinity, without a key said twice."""

    def parse(self, stream, media_type=None, parser_context=None) -> Any:  # noqa: ARG002
        body = stream.read(MAX_BODY_BYTES + 1)
        if len(body) > MAX_BODY_BYTES:
            raise TooLarge
        return read_json(body)


def read_json(body: bytes) -> Any:
    """The data of a JSON text; raises ParseError."""
    try:
        data = json.loads(body.decode("utf-8"), parse_constant=_no_nan, object_pairs_hook=_no_twice)
        return _no_half_characters(data)
    except (ValueError, RecursionError) as fault:
        raise exceptions.ParseError(f"This is not JSON we can read: {fault}") from fault


class BoundedCsvParser(BaseParser):
    """The bytes of a CSV file of at most MAX_CSV_BYTES, as they are."""

    media_type = "text/csv"

    def parse(self, stream, media_type=None, parser_context=None) -> bytes:  # noqa: ARG002
        body = stream.read(MAX_CSV_BYTES + 1)
        if len(body) > MAX_CSV_BYTES:
            raise TooLarge(f"The file is larger than {MAX_CSV_BYTES // 1024} kB. Send it in parts.")
        return body


class BoundedFormParser(MultiPartParser):
    """A form with a file, of at most MAX_FILE_BYTES in all."""

    def parse(self, stream, media_type=None, parser_context=None):
        size = (parser_context or {})["request"].META.get("CONTENT_LENGTH") or "0"
        if not size.isdigit() or int(size) > MAX_FILE_BYTES:
            raise TooLarge(f"The file is larger than {MAX_FILE_BYTES // 1024**2} MB. Send it in parts.")
        return super().parse(stream, media_type, parser_context)


def _no_nan(name: str) -> None:
    raise ValueError(f"{name} is not a number")


def _no_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise ValueError("a field is given twice")
    return made


def _no_half_characters(data: Any) -> Any:
    """The data, unless half of an escaped pair stands alone in it: no answer could repeat that."""
    try:
        json.dumps(data, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("it holds half a character") from None
    return data


class StrictSerializer(serializers.Serializer):
    """Input that refuses fields it does not know, and names the ones it does."""

    def to_internal_value(self, data):
        if isinstance(data, dict) and (unknown := sorted(set(data) - set(self.fields))):
            known = ", ".join(self.fields)
            text = f"Unknown field. This request takes: {known}."
            raise serializers.ValidationError({name: [text] for name in unknown})
        return super().to_internal_value(data)


class InstantFormField(IsoDateTimeField):
    """An instant of this age, for filters; a year at the edge of time cannot be brought to UTC."""

    def to_python(self, value):
        instant = super().to_python(value)
        if instant is None:
            return None
        if not of_this_age(instant):
            raise ValidationError(NOT_OF_THIS_AGE)
        written = parse_datetime(value.strip()) if isinstance(value, str) else value
        if written is None or written.tzinfo is None:
            raise ValidationError(Instant.default_error_messages["naive"])
        return instant


class InstantFilter(IsoDateTimeFilter):
    field_class = InstantFormField


class WholeNumberFilter(NumberFilter):
    """By a whole number, of 32 bits where no other bounds are given."""

    field_class = forms.IntegerField

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **{"min_value": -(2**31), "max_value": 2**31 - 1} | kwargs)

    def get_max_validator(self):
        """None: the field has its own bounds."""


class RefFilter(WholeNumberFilter):
    """By id. One that does not exist and one that is not the caller's give the same empty list."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs | {"min_value": 1, "max_value": 2**63 - 1})


class TrueOrFalseField(forms.Field):
    """True, False or not given; what reads as neither is refused."""

    widget = forms.TextInput
    values = {"true": True, "1": True, "false": False, "0": False}

    def to_python(self, value):
        if value in self.empty_values:
            return None
        if str(value).lower() not in self.values:
            raise ValidationError("Give true or false.")
        return self.values[str(value).lower()]


class TrueOrFalseFilter(BooleanFilter):
    """The library's own takes whatever it cannot read for "not given"."""

    field_class = TrueOrFalseField

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **{"widget": forms.TextInput} | kwargs)


class StrictFilterSet(FilterSet):
    FILTER_DEFAULTS = FilterSet.FILTER_DEFAULTS | {
        models.DateTimeField: {"filter_class": InstantFilter},
        models.ForeignKey: {"filter_class": RefFilter},
        models.BooleanField: {"filter_class": TrueOrFalseFilter},
        models.IntegerField: {"filter_class": WholeNumberFilter},
        models.SmallIntegerField: {"filter_class": WholeNumberFilter},
        models.PositiveIntegerField: {"filter_class": WholeNumberFilter},
        models.PositiveSmallIntegerField: {"filter_class": WholeNumberFilter},
    }


class StrictFilterBackend(DjangoFilterBackend):
    """Filters that refuse a query parameter nobody declared, so that a typo never shows everything."""

    filterset_base = StrictFilterSet
    common = frozenset({"cursor", "page_size"})

    def filter_queryset(self, request, queryset: QuerySet, view) -> QuerySet:
        """To make a filter for each column that may be named takes a millisecond: not where none is.

        A view's own filterset is always made, since it may want a parameter that is not there.
        """
        if set(request.query_params) - self.common or getattr(view, "filterset_class", None):
            return super().filter_queryset(request, queryset, view)
        return queryset

    def get_filterset(self, request, queryset: QuerySet, view) -> FilterSet | None:
        filterset = super().get_filterset(request, queryset, view)
        known = set(filterset.filters) if filterset else set()
        if unknown := sorted(set(request.query_params) - known - self.common):
            text = f"Unknown filter. This list takes: {', '.join(sorted(known | self.common))}."
            raise exceptions.ValidationError({name: [text] for name in unknown})
        return filterset


def read_input(serializer_class, request, data: Any = None) -> dict[str, Any]:
    """The validated body, or what was made of it; raises ValidationError with every fault by field."""
    return _validated(serializer_class, request.data if data is None else data)


def read_query(serializer_class, request) -> dict[str, Any]:
    """The validated query parameters; raises as `read_input` does."""
    return _validated(serializer_class, request.query_params.dict())


def _validated(serializer_class, data) -> dict[str, Any]:
    serializer = serializer_class(data=data)
    serializer.is_valid(raise_exception=True)
    return serializer.validated_data


def version_if_given(request) -> int | None:
    """As `version_of`, where a change may be made without having read what it changes."""
    return version_of(request) if request.headers.get("If-Match", "").strip() else None


def version_of(request) -> int:
    """The version in If-Match; raises 428 when absent, 400 when it is not a version of ours."""
    given = request.headers.get("If-Match", "").strip()
    if not given:
        raise PreconditionRequired
    plain = given.strip('"')
    if not (plain.isascii() and plain.isdigit() and len(plain) < 10):
        raise exceptions.ValidationError({"If-Match": ['Send the version you read, like "3".']})
    return int(plain)


class Instant(serializers.DateTimeField):
    """An instant with its offset from UTC; a clock time alone would be a guess."""

    default_error_messages = {
        "naive": "Give the offset from UTC too, such as 2026-05-04T17:00:00+01:00.",
        "range": NOT_OF_THIS_AGE,
    }

    def enforce_timezone(self, value):
        if value.tzinfo is None:
            self.fail("naive")
        if not of_this_age(value):
            self.fail("range")
        return value.astimezone(dt.UTC)


class Day(serializers.DateField):
    """A date, YYYY-MM-DD, of this age."""

    default_error_messages = {"range": NOT_OF_THIS_AGE}

    def to_internal_value(self, value):
        day = super().to_internal_value(value)
        if not of_this_age(day):
            self.fail("range")
        return day


class Number(serializers.FloatField):
    """A finite number, written as a number."""

    def to_internal_value(self, data):
        # Compared, not converted: a whole number may be too long for a float. NaN is below nothing.
        if isinstance(data, bool) or not isinstance(data, int | float) or not abs(data) < 1e300:
            self.fail("invalid")
        return super().to_internal_value(data)


class Ref(serializers.IntegerField):
    """The id of something."""

    def __init__(self, **kwargs):
        super().__init__(min_value=1, max_value=2**63 - 1, **kwargs)


class ByDay(CursorPagination):
    """Pages in the order of the days: what comes next on the river comes first with `day__gte`."""

    ordering = ("day", "id")
    page_size = 50
    max_page_size = 200
    page_size_query_param = "page_size"
    read_place = dt.date.fromisoformat

    def get_page_size(self, request):
        """As many rows as are asked for, `max_page_size` at most. Raises ValidationError for what is no number."""
        asked = request.query_params.get(self.page_size_query_param)
        if asked is not None and not (asked.isascii() and asked.isdigit() and int(asked[:9])):
            raise exceptions.ValidationError({"page_size": [f"Give a number from 1 to {self.max_page_size}."]})
        return super().get_page_size(request)

    def decode_cursor(self, request):
        """The place a page begins at. One that no page of ours gave is not found."""
        cursor = super().decode_cursor(request)
        try:
            if cursor and cursor.position is not None:
                type(self).read_place(cursor.position)
        except ValueError:
            raise exceptions.NotFound(self.invalid_cursor_message) from None
        return cursor


def _instant_in_cursor(text: str) -> dt.datetime:
    at = dt.datetime.fromisoformat(text)
    if at.tzinfo is None:
        raise ValueError("no offset")
    return at


class ByInstant(ByDay):
    """Pages by the time of the thing itself, newest first, for rows that come in any order. One row an instant."""

    ordering = "-at"
    read_place = _instant_in_cursor


class ByWritten(ByInstant):
    """Pages by when a message was written, newest first; several may be of one instant."""

    ordering = ("-written_at", "id")


class VisibleMixin(IdempotentPostMixin):
    """A view whose rows are those `visible_to(user)` answers with; anything else is not there."""

    visible_to = None

    def get_queryset(self):
        if getattr(self, "swagger_fake_view", False):
            return super().get_queryset()
        return self.visible()

    def visible(self):
        """The rows; a view below another thing looks that up first."""
        return type(self).visible_to(self.request.user)


class VersionedMixin:
    """A detail that says its version in ETag, to be sent back in If-Match."""

    def retrieve(self, request, *args, **kwargs):
        response = super().retrieve(request, *args, **kwargs)
        response["ETag"] = f'"{response.data["version"]}"'
        return response


def answer(serializer_class, row, *, made: bool = False) -> Response:
    """The row as it now is: 201 when this request made it, 200 when it was there already."""
    return Response(serializer_class(row).data, status=201 if made else 200)
