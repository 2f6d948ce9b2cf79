"""Beats, pools and closures."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats import queries
from beats.models import Beat, Pool, PoolClosure
from beats.serializers import (
    BeatOut,
    ClosureIn,
    ClosureOut,
    PoolOut,
)
from beats.services.river import close_pool, reopen_pool
from beats.shared.rest import VisibleMixin, answer, read_input


class Beats(VisibleMixin, ListAPIView):
    """The beats you may see."""

    queryset = Beat.objects.none()
    visible_to = queries.beats_visible_to
    serializer_class = BeatOut
    filterset_fields = {"fishery__slug": ["exact"]}


class BeatDetail(VisibleMixin, RetrieveAPIView):
    """One beat: its rods, its gauge, and the limits of a day on it."""

    queryset = Beat.objects.none()
    visible_to = queries.beats_visible_to
    serializer_class = BeatOut


class Pools(VisibleMixin, ListAPIView):
    """Pools of the beats you may see."""

    queryset = Pool.objects.none()
    visible_to = queries.pools_visible_to
    serializer_class = PoolOut
    filterset_fields = {"beat": ["exact"], "beat__fishery__slug": ["exact"], "retired": ["exact"]}


class PoolDetail(VisibleMixin, RetrieveAPIView):
    """One pool: its water, its wading, how many rods it holds, and what it is worth."""

    queryset = Pool.objects.none()
    visible_to = queries.pools_visible_to
    serializer_class = PoolOut


class PoolClosures(VisibleMixin, ListAPIView):
    """When a pool is closed by hand."""

    queryset = PoolClosure.objects.none()
    serializer_class = ClosureOut

    def visible(self):
        pool = get_object_or_404(queries.pools_visible_to(self.request.user), pk=self.kwargs["pk"])
        return pool.closures.all()

    @extend_schema(
        request=ClosureIn, responses={201: ClosureOut, 200: ClosureOut}, summary="Close a pool for some days"
    )
    def post(self, request, pk):
        pool = get_object_or_404(queries.pools_visible_to(request.user), pk=pk)
        facts = read_input(ClosureIn, request)
        closure, made = close_pool(pool, **facts, by=request.user, now=timezone.now())
        return answer(ClosureOut, closure, made=made)


class ClosureDetail(APIView):
    @extend_schema(responses={204: None}, summary="Open a pool again")
    def delete(self, request, pk):
        seen = PoolClosure.objects.filter(pool__in=queries.pools_visible_to(request.user))
        closure = get_object_or_404(seen.select_related("pool__beat__fishery"), pk=pk)
        reopen_pool(closure, by=request.user, now=timezone.now())
        return Response(status=204)
