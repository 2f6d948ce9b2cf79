"""Guests, lets and rod-days."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404

from beats.api.addressed import fishery_at
from beats.queries import beats_visible_to
from beats.shared.rest import (
    ByDay,
    VersionedMixin,
    VisibleMixin,
    answer,
    once_of,
    read_input,
    version_if_given,
    version_of,
)
from bookings import queries
from bookings.models import Guest, Let, RodDay
from bookings.serializers import GuestChange, GuestIn, GuestOut, LetChange, LetIn, LetOut, RodDayOut, ShareIn
from bookings.services.changes import change_let
from bookings.services.guests import add_guest, change_guest
from bookings.services.lets import cancel_let, share_rod
from bookings.services.rush import let_asked


class Guests(VisibleMixin, ListAPIView):
    """The guest book, as far as you may see it."""

    queryset = Guest.objects.none()
    visible_to = queries.guests_visible_to
    serializer_class = GuestOut
    filterset_fields = {"fishery__slug": ["exact"], "name": ["icontains"], "email": ["exact"]}
    once = True

    @extend_schema(request=GuestIn, responses={201: GuestOut, 200: GuestOut}, summary="Enter a guest")
    def post(self, request):
        facts = read_input(GuestIn, request)
        fishery = fishery_at(request, facts.pop("fishery"))
        guest, made = add_guest(fishery, facts=facts, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(GuestOut, guest, made=made)


class GuestDetail(VersionedMixin, VisibleMixin, RetrieveAPIView):
    """One guest's entry in the book."""

    queryset = Guest.objects.none()
    visible_to = queries.guests_visible_to
    serializer_class = GuestOut

    @extend_schema(request=GuestChange, responses=GuestOut, summary="Change a guest's entry")
    def patch(self, request, pk):
        guest = get_object_or_404(self.get_queryset(), pk=pk)
        facts = read_input(GuestChange, request)
        changed = change_guest(
            guest, facts=facts, version=version_of(request), by=request.user, now=timezone.now()
        )
        return answer(GuestOut, changed)


class Lets(VisibleMixin, ListAPIView):
    """Lets you booked, fish in, or keep the book of."""

    queryset = Let.objects.none()
    visible_to = queries.lets_visible_to
    serializer_class = LetOut
    filterset_fields = {
        "beat": ["exact"], "status": ["exact"], "kind": ["exact"], "booker": ["exact"],
        "first_on": ["gte", "lte"], "last_on": ["gte", "lte"],
    }  # fmt: skip
    once = True

    @extend_schema(request=LetIn, responses={201: LetOut, 200: LetOut}, summary="Let rods")
    def post(self, request):
        facts = read_input(LetIn, request)
        let, made = let_asked(**facts, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(LetOut, let, made=made)


class LetDetail(VersionedMixin, VisibleMixin, RetrieveAPIView):
    """One let: who booked it, its days, and how it stands."""

    queryset = Let.objects.none()
    visible_to = queries.lets_visible_to
    serializer_class = LetOut

    @extend_schema(request=LetChange, responses=LetOut, summary="Change a let: beat, days or rods")
    def patch(self, request, pk):
        let = get_object_or_404(self.get_queryset(), pk=pk)
        facts = read_input(LetChange, request)
        if "beat" in facts:
            facts["beat"] = get_object_or_404(beats_visible_to(request.user), pk=facts["beat"])
        changed = change_let(let, facts=facts, version=version_of(request), by=request.user, now=timezone.now())
        return answer(LetOut, changed)


class LetCancel(VisibleMixin, RetrieveAPIView):
    queryset = Let.objects.none()
    visible_to = queries.lets_visible_to
    serializer_class = LetOut
    http_method_names = ["post"]

    @extend_schema(
        request=None, responses=LetOut, summary="Cancel a let and free its rods: the owner and the booker"
    )
    def post(self, request, pk):
        let = get_object_or_404(self.get_queryset(), pk=pk)
        version = version_if_given(request)
        return answer(LetOut, cancel_let(let, by=request.user, now=timezone.now(), version=version))


class LetShare(VisibleMixin, RetrieveAPIView):
    queryset = Let.objects.none()
    visible_to = queries.lets_visible_to
    serializer_class = LetOut
    http_method_names = ["post"]

    @extend_schema(request=ShareIn, responses=LetOut, summary="Let a second guest share a rod")
    def post(self, request, pk):
        let = get_object_or_404(self.get_queryset(), pk=pk)
        facts = read_input(ShareIn, request)
        guest = get_object_or_404(
            queries.guests_visible_to(request.user).filter(fishery=let.beat.fishery), pk=facts["guest"]
        )
        return answer(LetOut, share_rod(let, rod=facts["rod"], guest=guest, by=request.user, now=timezone.now()))


class RodDays(VisibleMixin, ListAPIView):
    """One row a rod a day: what is booked, as far as you may see it."""

    queryset = RodDay.objects.none()
    visible_to = queries.rod_days_visible_to
    pagination_class = ByDay
    serializer_class = RodDayOut
    filterset_fields = {
        "beat": ["exact"],
        "day": ["exact", "gte", "lte"],
        "let": ["exact"],
        "guest": ["exact"],
    }
