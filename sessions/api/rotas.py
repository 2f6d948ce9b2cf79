"""Rotas and turns."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404

from beats.queries import beats_visible_to
from beats.shared.rest import ByDay, VisibleMixin, answer, once_of, read_input
from sessions import queries
from sessions.models import Rota, Turn
from sessions.serializers import RotaDetailOut, RotaIn, RotaOut, TurnOut
from sessions.services.rotas import plan_rota, publish_rota


class Rotas(VisibleMixin, ListAPIView):
    """Rotas, newest first."""

    queryset = Rota.objects.none()
    visible_to = queries.rotas_visible_to
    serializer_class = RotaOut
    filterset_fields = {"beat": ["exact"], "first_on": ["exact", "gte", "lte"], "status": ["exact"]}
    once = True

    @extend_schema(
        request=RotaIn, responses={201: RotaDetailOut, 200: RotaDetailOut}, summary="Work out a week's rota"
    )
    def post(self, request):
        facts = read_input(RotaIn, request)
        beat = get_object_or_404(beats_visible_to(request.user), pk=facts.pop("beat"))
        rota, made = plan_rota(beat, **facts, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(RotaDetailOut, queries.rota_as_seen_by(request.user, rota.pk), made=made)


class RotaDetail(RetrieveAPIView):
    queryset = Rota.objects.none()
    serializer_class = RotaDetailOut

    def get_object(self):
        return queries.rota_as_seen_by(self.request.user, self.kwargs["pk"])


class RotaPublish(VisibleMixin, RetrieveAPIView):
    queryset = Rota.objects.none()
    visible_to = queries.rotas_visible_to
    serializer_class = RotaOut
    http_method_names = ["post"]

    @extend_schema(request=None, responses=RotaOut, summary="Make a draft the week's rota")
    def post(self, request, pk):
        rota = get_object_or_404(self.get_queryset(), pk=pk)
        return answer(RotaOut, publish_rota(rota, by=request.user, now=timezone.now()))


class Turns(VisibleMixin, ListAPIView):
    """Who fishes where, part by part: all of it for keepers, your own line for guests."""

    queryset = Turn.objects.none()
    visible_to = queries.turns_visible_to
    pagination_class = ByDay
    serializer_class = TurnOut
    filterset_fields = {
        "rota": ["exact"], "rota__status": ["exact"], "rota__beat": ["exact"], "day": ["exact", "gte", "lte"],
        "guest": ["exact"], "pool": ["exact"],
    }  # fmt: skip
