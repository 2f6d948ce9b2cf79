"""The season's book: fish, and the monthly return."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.queries import Role, beats_visible_to, fisheries_visible_to, pools_visible_to, require_role
from beats.shared.made import LinesRenderer
from beats.shared.rest import VisibleMixin, answer, once_of, read_input
from bookings.queries import guests_visible_to
from sessions import queries
from sessions.models import Catch
from sessions.monthly import lines
from sessions.returns import season_return
from sessions.serializers import CatchIn, CatchOut, NotedCatchOut, ReturnOut
from sessions.services.catches import cautions_of, note_catch


class Catches(VisibleMixin, ListAPIView):
    """The book of fish: all of it for keepers, your own for guests."""

    queryset = Catch.objects.none()
    visible_to = queries.catches_visible_to
    serializer_class = CatchOut
    filterset_fields = {
        "beat": ["exact"], "pool": ["exact"], "guest": ["exact"], "kind": ["exact"], "fate": ["exact"],
        "caught_on": ["exact", "gte", "lte"],
    }  # fmt: skip
    once = True

    @extend_schema(
        request=CatchIn, responses={201: NotedCatchOut, 200: NotedCatchOut}, summary="Write a fish down"
    )
    def post(self, request):
        facts = read_input(CatchIn, request)
        beat = get_object_or_404(beats_visible_to(request.user), pk=facts.pop("beat"))
        pool_id, guest_id = facts.pop("pool"), facts.pop("guest")
        pool = get_object_or_404(pools_visible_to(request.user), pk=pool_id) if pool_id else None
        guest = get_object_or_404(guests_visible_to(request.user), pk=guest_id) if guest_id else None
        fish, made = note_catch(
            beat, pool=pool, guest=guest, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        fish.cautions = cautions_of(fish)
        return answer(NotedCatchOut, fish, made=made)


class CatchDetail(VisibleMixin, RetrieveAPIView):
    queryset = Catch.objects.none()
    visible_to = queries.catches_visible_to
    serializer_class = CatchOut


class SeasonReturn(APIView):
    """The statutory monthly table of a season. For the owner."""

    renderer_classes = [JSONRenderer, LinesRenderer]

    @extend_schema(
        parameters=[OpenApiParameter("format", str, enum=["json", "csv"], description="Or send Accept: text/csv")],
        responses={(200, "application/json"): ReturnOut, (200, "text/csv"): OpenApiTypes.STR},
        summary="Fish by class, kept and released, and rod-days, by month",
    )
    def get(self, request, slug, season) -> Response:
        fishery = get_object_or_404(fisheries_visible_to(request.user), slug=slug)
        require_role(request.user, fishery, Role.OWNER)
        if not 2015 <= season <= 2200:
            raise ValidationError({"season": ["Give the year of the season, from 2015 on."]})
        made = season_return(fishery, season, now=timezone.now())
        if request.accepted_renderer.format == "csv":
            name = f'attachment; filename="return-{fishery.slug}-{season}.csv"'
            table = lines(made.months, fishery=fishery.name, year=season)
            return Response(table, headers={"Content-Disposition": name})
        return Response(ReturnOut(made).data)
