"""Rotas and turns."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.models import Membership
from beats.queries import beats_visible_to, pools_visible_to, require_role
from beats.shared.plain_lists import PlainList
from beats.shared.rest import ByDay, VisibleMixin, answer, once_of, read_input
from sessions import queries
from sessions.models import Rota, RotaJob, Turn
from sessions.serializers import (
    ReplanIn,
    RotaDetailOut,
    RotaIn,
    RotaJobOut,
    RotaOut,
    SwapIn,
    TurnConditionsOut,
    TurnOut,
    TurnRow,
    WhyOut,
)
from sessions.services.jobs import ask_for_rota, call_off
from sessions.services.mending import Since, replan, swap, why
from sessions.services.rotas import plan_rota, publish_rota
from sessions.turn_conditions import Ask, conditions_of, rota_with_conditions


class Rotas(VisibleMixin, ListAPIView):
    """Rotas, newest first."""

    queryset = Rota.objects.none()
    visible_to = queries.rotas_visible_to
    serializer_class = RotaOut
    filterset_fields = {"beat": ["exact"], "first_on": ["exact", "gte", "lte"], "status": ["exact"]}
    once = True

    @extend_schema(
        request=RotaIn,
        responses={201: RotaDetailOut, 200: RotaDetailOut, 202: RotaJobOut},
        summary="Work out a week's rota",
    )
    def post(self, request):
        facts = read_input(RotaIn, request)
        beat = get_object_or_404(beats_visible_to(request.user), pk=facts.pop("beat"))
        if facts.pop("later"):
            job, _ = ask_for_rota(beat, **facts, by=request.user, now=timezone.now(), once=once_of(request))
            return Response(RotaJobOut(job).data, status=202)
        now = timezone.now()
        rota, made = plan_rota(beat, **facts, by=request.user, now=now, once=once_of(request))
        return answer(RotaDetailOut, rota_with_conditions(request.user, rota.pk, now=now), made=made)


class RotaDetail(RetrieveAPIView):
    """One rota, with how its goals were met."""

    queryset = Rota.objects.none()
    serializer_class = RotaDetailOut

    def get_object(self):
        return rota_with_conditions(self.request.user, self.kwargs["pk"], now=timezone.now())


class RotaPublish(VisibleMixin, RetrieveAPIView):
    queryset = Rota.objects.none()
    visible_to = queries.rotas_visible_to
    serializer_class = RotaOut
    http_method_names = ["post"]

    @extend_schema(request=None, responses=RotaOut, summary="Make a draft the week's rota")
    def post(self, request, pk):
        rota = get_object_or_404(self.get_queryset(), pk=pk)
        return answer(RotaOut, publish_rota(rota, by=request.user, now=timezone.now()))


class RotaReplan(APIView):
    """A new draft that keeps what is fished and changes the fewest turns."""

    once = True

    @extend_schema(request=ReplanIn, responses={201: RotaDetailOut, 200: RotaDetailOut}, summary="Replan a rota")
    def post(self, request, pk):
        rota = get_object_or_404(queries.rotas_visible_to(request.user), pk=pk)
        facts, now = read_input(ReplanIn, request), timezone.now()
        turns = queries.turns_visible_to(request.user).filter(rota=rota)
        pools = pools_visible_to(request.user).filter(beat=rota.beat)
        pins = [
            (get_object_or_404(turns, pk=pin["turn"]), get_object_or_404(pools, pk=pin["pool"]))
            for pin in facts["pins"]
        ]
        draft, made = replan(
            rota,
            since=Since(facts["from_day"], facts.get("from_part")) if "from_day" in facts else None,
            pins=pins, bars=[get_object_or_404(turns, pk=turn) for turn in facts["bars"]],
            level_m=facts.get("level_m"), by=request.user, now=now, once=once_of(request),
        )  # fmt: skip
        return answer(RotaDetailOut, rota_with_conditions(request.user, draft.pk, now=now), made=made)


class RotaSwap(APIView):
    """A new draft in which two rods change places in one part, with the effect shown."""

    once = True

    @extend_schema(request=SwapIn, responses={201: RotaDetailOut, 200: RotaDetailOut}, summary="Swap two rods")
    def post(self, request, pk):
        rota = get_object_or_404(queries.rotas_visible_to(request.user), pk=pk)
        facts, now = read_input(SwapIn, request), timezone.now()
        turns = queries.turns_visible_to(request.user).filter(rota=rota)
        one, other = (get_object_or_404(turns, pk=facts[name]) for name in ("turn", "other"))
        draft, made = swap(rota, turn=one, other=other, by=request.user, now=now, once=once_of(request))
        return answer(RotaDetailOut, rota_with_conditions(request.user, draft.pk, now=now), made=made)


class RotaJobs(VisibleMixin, ListAPIView):
    """Rotas being worked out in the background. For keepers."""

    queryset = RotaJob.objects.none()
    visible_to = queries.rota_jobs_visible_to
    serializer_class = RotaJobOut
    filterset_fields = {"beat": ["exact"], "state": ["exact"]}


class RotaJobDetail(VisibleMixin, RetrieveAPIView):
    """One rota being worked out: waiting, at work, done, or why not."""

    queryset = RotaJob.objects.none()
    visible_to = queries.rota_jobs_visible_to
    serializer_class = RotaJobOut


class RotaJobCallOff(VisibleMixin, RetrieveAPIView):
    queryset = RotaJob.objects.none()
    visible_to = queries.rota_jobs_visible_to
    serializer_class = RotaJobOut
    http_method_names = ["post"]

    @extend_schema(request=None, responses=RotaJobOut, summary="Call a job off")
    def post(self, request, pk):
        job = get_object_or_404(self.get_queryset(), pk=pk)
        return answer(RotaJobOut, call_off(job, by=request.user, now=timezone.now()))


class TurnWhy(APIView):
    """Why a rod is on a pool. For keepers."""

    @extend_schema(responses=WhyOut, summary="Why is this rod on this pool, and what would another cost?")
    def get(self, request, pk):
        seen = queries.turns_visible_to(request.user).select_related("rota__beat__fishery")
        turn = get_object_or_404(seen, pk=pk)
        require_role(request.user, turn.rota.beat.fishery, *Membership.KEEPERS)
        return Response(WhyOut(why(turn, now=timezone.now())).data)


class Turns(PlainList, VisibleMixin, ListAPIView):
    """Who fishes where, part by part: all of it for keepers, your own line for guests."""

    queryset = Turn.objects.none()
    visible_to = queries.turns_visible_to
    pagination_class = ByDay
    serializer_class = TurnOut
    row_serializer = TurnRow
    filterset_fields = {
        "rota": ["exact"], "rota__status": ["exact"], "rota__beat": ["exact"], "day": ["exact", "gte", "lte"],
        "guest": ["exact"], "pool": ["exact"],
    }  # fmt: skip

    def complete(self, page, rows):
        """With what is known of each turn at the moment."""
        found = conditions_of((_ask(row) for row in page), now=timezone.now())
        told = {pk: TurnConditionsOut(one).data for pk, one in found.items()}
        return [row | {"conditions": told.get(row["id"])} for row in rows]


def _ask(row) -> Ask:
    """A turn as `TurnRow` names its columns."""
    guests = tuple(guest for guest in (row.guest_id, row.sharer_id) if guest)
    return Ask(row.id, row.day, row.part__starts, row.part__ends, row.pool_id, guests)
