"""Fisheries, their season, and who the caller is."""

import datetime as dt

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView
from rest_framework.response import Response
from rest_framework.views import APIView

from beats import queries
from beats.api.addressed import fishery_at
from beats.models import Fishery
from beats.serializers import FisheryOut, MeOut, ProblemKindOut, RulingOut, SpanIn
from beats.services.sign_out import sign_out_everywhere
from beats.shared.refusals import catalogue
from beats.shared.rest import VisibleMixin, read_query

GENERAL = [
    ("invalid", "The request has a fault", 400, "A field is missing, unknown or wrong; `errors` names each."),
    ("bad-request", "Bad request", 400, "The request cannot be read; send it again to an address of ours."),
    ("parse-error", "Parse error", 400, "The body is not JSON."),
    ("not-authenticated", "Not authenticated", 401, "No token was sent."),
    ("authentication-failed", "Authentication failed", 401, "The token is unknown or has expired."),
    ("permission-denied", "Permission denied", 403, "You may not do this here."),
    ("not-found", "Not found", 404, "No such thing, or none that you may see."),
    ("method-not-allowed", "Method not allowed", 405, "This address does not take that method."),
    ("not-acceptable", "Not acceptable", 406, "This address cannot answer in that format."),
    ("body-too-large", "Body too large", 413, "Send less at once."),
    ("unsupported-media-type", "Unsupported media type", 415, "Send JSON; readings from a file go as text/csv."),
    ("version-required", "Version required", 428, "Send If-Match with the version you read."),
    ("fault", "A fault of ours", 500, "Something broke on our side; nothing of the request was kept."),
    ("busy", "Busy", 503, "The book is busy; nothing was changed; try again."),
]


class Me(APIView):
    @extend_schema(responses=MeOut, summary="Who am I, and what part do I have where?")
    def get(self, request):
        user = type(request.user).objects.prefetch_related("memberships__fishery").get(pk=request.user.pk)
        return Response(MeOut(user).data)


class SignOutEverywhere(APIView):
    """For whoever lost a telephone: every session, token and code of the caller ends, the one that asks too."""

    @extend_schema(request=None, responses={204: None}, summary="Sign out everywhere")
    def post(self, request):
        sign_out_everywhere(by=request.user, now=timezone.now())
        return Response(status=204)


class Fisheries(VisibleMixin, ListAPIView):
    """The fisheries you have a part in."""

    queryset = Fishery.objects.none()
    visible_to = queries.fisheries_visible_to
    serializer_class = FisheryOut


class FisheryDetail(VisibleMixin, RetrieveAPIView):
    """One fishery: its river, its clock, its district, and when the water is too warm or too low."""

    queryset = Fishery.objects.none()
    visible_to = queries.fisheries_visible_to
    serializer_class = FisheryOut
    lookup_field = "slug"


class SeasonDays(APIView):
    """How each day of a span stands, with the reason and its source."""

    @extend_schema(
        parameters=[SpanIn],
        responses=RulingOut(many=True),
        summary="Closed, release only, or open, day by day",
    )
    def get(self, request, slug):
        fishery = fishery_at(request, slug)
        asked = read_query(SpanIn, request)
        first, last = asked["first_on"], asked["last_on"]
        days = [first + dt.timedelta(days=n) for n in range((last - first).days + 1)]
        return Response(RulingOut(queries.rulings(fishery, days), many=True).data)


class ProblemKinds(APIView):
    """Every refusal this service knows, by its stable name."""

    authentication_classes = ()
    permission_classes = ()

    @extend_schema(responses=ProblemKindOut(many=True), summary="What each problem type means")
    def get(self, _request):
        return Response(ProblemKindOut(_kinds(), many=True).data)


class ProblemKind(APIView):
    """One refusal, at the address its problem documents carry as `type`."""

    authentication_classes = ()
    permission_classes = ()

    @extend_schema(responses=ProblemKindOut, summary="What one problem type means")
    def get(self, _request, code):
        found = [kind for kind in _kinds() if kind["code"] == code]
        if not found:
            raise Http404
        return Response(ProblemKindOut(found[0]).data)


def _kinds() -> list[dict]:
    refusals = [
        (kind.code, kind.title, kind.status, (kind.__doc__ or "").split("\n\n")[0])
        for kind in catalogue().values()
    ]
    rows = sorted([*refusals, *GENERAL])
    return [dict(zip(("code", "title", "status", "meaning"), row, strict=True)) for row in rows]
