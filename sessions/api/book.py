"""The season's book of fish."""

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404
from rest_framework.response import Response

from beats.models import AuditEntry, Pool
from beats.queries import beats_visible_to, pools_visible_to
from beats.shared.rest import VersionedMixin, VisibleMixin, answer, once_of, read_input, version_of
from bookings.queries import guests_visible_to
from sessions import queries
from sessions.api.filters import CatchFilter
from sessions.models import Catch
from sessions.serializers import (
    CatchChange,
    CatchEventOut,
    CatchIn,
    CatchOut,
    ManyFishIn,
    NotedCatchOut,
    ReasonIn,
)
from sessions.services.catches import cautions_of, correct_catch, note_catch, note_fish_of, strike_out


class Catches(VisibleMixin, ListAPIView):
    """The book of fish: all of it for keepers, your own for guests."""

    queryset = Catch.objects.none()
    visible_to = queries.catches_visible_to
    serializer_class = CatchOut
    filterset_class = CatchFilter
    once = True

    @extend_schema(
        request=CatchIn, responses={201: NotedCatchOut, 200: NotedCatchOut}, summary="Write a fish down"
    )
    def post(self, request):
        facts = read_input(CatchIn, request)
        beat = get_object_or_404(beats_visible_to(request.user), pk=facts.pop("beat"))
        guest_id = facts.pop("guest")
        facts["pool"] = _pool(request, facts["pool"])
        guest = get_object_or_404(guests_visible_to(request.user), pk=guest_id) if guest_id else None
        fish, made = note_catch(
            beat, guest=guest, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(NotedCatchOut, _with_cautions(fish), made=made)


def _pool(request, pk: int | None) -> Pool | None:
    return get_object_or_404(pools_visible_to(request.user), pk=pk) if pk else None


def _with_cautions(fish: Catch) -> Catch:
    fish.cautions = cautions_of(fish)
    return fish


class OutingFish(VisibleMixin, ListAPIView):
    """The fish of one outing. Apart from the check-out, which never waits for a fish to be written down."""

    queryset = Catch.objects.none()
    serializer_class = CatchOut
    filterset_fields: list[str] = []
    once = True

    def visible(self):
        return queries.catches_visible_to(self.request.user).filter(outing=self._outing())

    def _outing(self):
        return get_object_or_404(queries.outings_visible_to(self.request.user), pk=self.kwargs["pk"])

    @extend_schema(
        request=ManyFishIn,
        responses={201: NotedCatchOut(many=True), 200: NotedCatchOut(many=True)},
        summary="Write down all the fish of an outing at once",
    )
    def post(self, request, pk):  # noqa: ARG002 - the outing is looked up from the address
        outing = self._outing()
        told = read_input(ManyFishIn, request)["fish"]
        pools = {each["pool"] for each in told if each["pool"]}
        there = pools_visible_to(request.user).in_bulk(pools)
        if pools - set(there):
            raise Http404
        told = [each | {"pool": there.get(each["pool"])} for each in told]
        noted = note_fish_of(outing, told, by=request.user, now=timezone.now(), once=once_of(request))
        rows = NotedCatchOut([_with_cautions(fish) for fish, _ in noted], many=True).data
        return Response(rows, status=201 if any(made for _, made in noted) else 200)


class CatchDetail(VersionedMixin, VisibleMixin, RetrieveAPIView):
    """One fish, though it may have been struck out since."""

    queryset = Catch.objects.none()
    visible_to = queries.catches_ever_visible_to
    serializer_class = CatchOut
    http_method_names = ["get", "patch"]

    @extend_schema(request=CatchChange, responses=NotedCatchOut, summary="Correct a fish, with a reason")
    def patch(self, request, pk):
        fish = get_object_or_404(self.get_queryset(), pk=pk)
        changes = read_input(CatchChange, request)
        reason = changes.pop("reason")
        if "pool" in changes:
            changes["pool"] = _pool(request, changes["pool"])
        changed = correct_catch(
            fish, changes=changes, reason=reason, version=version_of(request), by=request.user, now=timezone.now()
        )
        return answer(NotedCatchOut, _with_cautions(changed))


class CatchStrikeOut(VisibleMixin, RetrieveAPIView):
    queryset = Catch.objects.none()
    visible_to = queries.catches_ever_visible_to
    serializer_class = CatchOut
    http_method_names = ["post"]

    @extend_schema(
        request=ReasonIn, responses=CatchOut, summary="Strike a fish out of every figure, with a reason"
    )
    def post(self, request, pk):
        fish = get_object_or_404(self.get_queryset(), pk=pk)
        facts = read_input(ReasonIn, request)
        return answer(CatchOut, strike_out(fish, **facts, by=request.user, now=timezone.now()))


class CatchHistory(VisibleMixin, ListAPIView):
    """Everything that was done to a fish, oldest first."""

    queryset = AuditEntry.objects.none()
    serializer_class = CatchEventOut
    pagination_class = None
    filterset_fields: list[str] = []

    def visible(self):
        fish = get_object_or_404(queries.catches_ever_visible_to(self.request.user), pk=self.kwargs["pk"])
        return queries.history_of(fish)
