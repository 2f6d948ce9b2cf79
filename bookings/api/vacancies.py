"""What can be had: day by day, as runs of days, as a month."""

import datetime as dt

from django.template.loader import render_to_string
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import get_object_or_404
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.queries import Role, beats_visible_to
from beats.shared.made import NOTHING_FETCHED, HtmlRenderer
from beats.shared.rest import Day, Ref, StrictSerializer, read_query
from bookings.availability import Standing, month_days
from bookings.closed_lets import lets_on_closed_days
from bookings.month_page import page_facts
from bookings.openings import openings, spans
from bookings.serializers import LetOut
from bookings.told import told_spans

LONGEST_SPAN = 62
LONGEST_SEARCH = 366


class SpanIn(StrictSerializer):
    first_on = Day()
    last_on = Day()
    rods = serializers.IntegerField(min_value=1, max_value=60, default=1, help_text="Rods wanted")
    beat = Ref(required=False, help_text="This beat alone")
    longest = LONGEST_SPAN

    def validate(self, attrs):
        length = (attrs["last_on"] - attrs["first_on"]).days + 1
        if length < 1:
            raise serializers.ValidationError({"last_on": ["Before first_on. Swap them."]})
        if length > self.longest:
            raise serializers.ValidationError({"last_on": [f"At most {self.longest} days at once."]})
        return attrs


class OpeningsIn(SpanIn):
    days = serializers.IntegerField(min_value=1, max_value=31, default=1, help_text="Days together")
    limit = serializers.IntegerField(min_value=1, max_value=50, default=5)
    longest = LONGEST_SEARCH


class MonthIn(StrictSerializer):
    month = serializers.RegexField(r"^(19[5-9]\d|20\d\d|21\d\d)-(0[1-9]|1[0-2])$", help_text="Such as 2026-04")
    beat = Ref(required=False, help_text="This beat alone")
    format = serializers.CharField(required=False)


class ClosedDayOut(serializers.Serializer):
    day = serializers.DateField()
    reason = serializers.CharField(help_text="Why nobody may fish then")


class LetOnClosedDaysOut(serializers.Serializer):
    let = LetOut()
    closed = ClosedDayOut(many=True)


class BeatDayOut(serializers.Serializer):
    day = serializers.DateField()
    standing = serializers.ChoiceField(choices=[(each.value, each.value) for each in Standing])
    free = serializers.IntegerField()
    words = serializers.CharField()
    reason = serializers.CharField(help_text="Why it is closed")


class BeatSpanOut(serializers.Serializer):
    beat = serializers.IntegerField()
    name = serializers.CharField()
    rods = serializers.IntegerField()
    days = BeatDayOut(many=True)


class OpeningOut(serializers.Serializer):
    beat = serializers.IntegerField(source="beat_id")
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    days = serializers.IntegerField()
    rods_free = serializers.IntegerField(help_text="The fewest on any of the days")


def _asked(request, slug, serializer_class):
    """The fishery, and what was asked, the beat found."""
    fishery = fishery_at(request, slug)
    facts = read_query(serializer_class, request)
    if "beat" in facts:
        facts["beat"] = get_object_or_404(beats_visible_to(request.user).filter(fishery=fishery), pk=facts["beat"])
    return fishery, facts


class Availability(APIView):
    """How each day of a span stands on each beat."""

    @extend_schema(parameters=[SpanIn], responses=BeatSpanOut(many=True), summary="Rods free, day by day")
    def get(self, request, slug):
        fishery, facts = _asked(request, slug, SpanIn)
        wanted = facts.pop("rods")
        found = spans(fishery, **facts, wanted=wanted, now=timezone.now())
        return Response(told_spans(found))


class Openings(APIView):
    """The first runs of days together with rods enough."""

    @extend_schema(parameters=[OpeningsIn], responses=OpeningOut(many=True), summary="The first openings")
    def get(self, request, slug):
        fishery, facts = _asked(request, slug, OpeningsIn)
        return Response(OpeningOut(openings(fishery, **facts, now=timezone.now()), many=True).data)


class Month(APIView):
    """A calendar month of every beat, as JSON or as a page for a telephone."""

    renderer_classes = [JSONRenderer, HtmlRenderer]

    @extend_schema(
        parameters=[
            MonthIn,
            OpenApiParameter("format", str, enum=["json", "html"], description="Or send Accept; JSON if neither"),
        ],
        responses={(200, "application/json"): BeatSpanOut(many=True), (200, "text/html"): OpenApiTypes.STR},
        summary="A month of rods free",
    )
    def get(self, request, slug):
        fishery, facts = _asked(request, slug, MonthIn)
        first = dt.date.fromisoformat(facts["month"] + "-01")
        days = month_days(first.year, first.month)
        found = spans(fishery, first_on=days[0], last_on=days[-1], beat=facts.get("beat"), now=timezone.now())
        if request.accepted_renderer.format == "json":
            return Response(told_spans(found))
        page = render_to_string("bookings/month.html", page_facts(fishery.name, first, found))
        return Response(page, headers=NOTHING_FETCHED)


class LetsOnClosedDays(APIView):
    """For the owner. Shorten, move or cancel them; no act adds rods on a closed day."""

    @extend_schema(
        responses=LetOnClosedDaysOut(many=True),
        summary="Lets that hold days closed since by law, the fishery's rules or a closed beat",
    )
    def get(self, request, slug):
        fishery = fishery_at(request, slug, Role.OWNER)
        found = lets_on_closed_days(fishery, now=timezone.now())
        return Response(LetOnClosedDaysOut(found, many=True).data)
