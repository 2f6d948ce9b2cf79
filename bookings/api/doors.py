"""What is done to a let once it stands: confirmed, handed on, split, its party named."""

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import RetrieveAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.shared.rest import Day, Ref, StrictSerializer, VisibleMixin, answer, once_of, read_input, version_of
from bookings import queries
from bookings.models import Let
from bookings.serializers import LetOut, RodDayOut
from bookings.services.changes import split_let, transfer_let
from bookings.services.holds import confirm_let
from bookings.services.party import Place, name_party


class TransferIn(StrictSerializer):
    to = Ref(help_text="The guest who takes the let over")


class SplitIn(StrictSerializer):
    """By days or by rods, not both."""

    booker = Ref(help_text="The guest who takes the part")
    from_on = Day(required=False, help_text="The first day that changes hands")
    rods = serializers.IntegerField(
        min_value=1, max_value=60, required=False, help_text="How many rods change hands"
    )


class PlaceIn(StrictSerializer):
    day = Day()
    rod = serializers.IntegerField(min_value=1, max_value=60)
    guest = Ref(allow_null=True, help_text="Who fishes it; null leaves it open")


class PartyIn(StrictSerializer):
    """Rod-days that are not mentioned stay as they are."""

    places = serializers.ListField(child=PlaceIn(), min_length=1, max_length=400)


class _OfLet(VisibleMixin, RetrieveAPIView):
    queryset = Let.objects.none()
    visible_to = queries.lets_visible_to
    serializer_class = LetOut
    http_method_names = ["post"]

    def let(self) -> Let:
        return get_object_or_404(self.get_queryset(), pk=self.kwargs["pk"])

    def guest(self, let: Let, pk: int):
        book = queries.guests_visible_to(self.request.user).filter(fishery=let.beat.fishery)
        return get_object_or_404(book, pk=pk)


class LetConfirm(_OfLet):
    @extend_schema(request=None, responses=LetOut, summary="Confirm a hold, or take the week offered to you")
    def post(self, request, pk):  # noqa: ARG002
        return answer(LetOut, confirm_let(self.let(), by=request.user, now=timezone.now()))


class LetTransfer(_OfLet):
    @extend_schema(request=TransferIn, responses=LetOut, summary="Hand a let to another guest")
    def post(self, request, pk):  # noqa: ARG002
        let = self.let()
        to = self.guest(let, read_input(TransferIn, request)["to"])
        return answer(LetOut, transfer_let(let, to=to, by=request.user, now=timezone.now()))


class LetSplit(_OfLet):
    once = True

    @extend_schema(
        request=SplitIn, responses={201: LetOut, 200: LetOut}, summary="Give part of a let to another guest"
    )
    def post(self, request, pk):  # noqa: ARG002
        let = self.let()
        facts = read_input(SplitIn, request)
        booker = self.guest(let, facts.pop("booker"))
        part, made = split_let(
            let, booker=booker, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(LetOut, part, made=made)


class LetParty(APIView):
    """Who fishes which rod on which day: the whole party for its leader and the keepers, else your own days."""

    @extend_schema(responses=RodDayOut(many=True), summary="The party of a let, rod by rod and day by day")
    def get(self, request, pk):
        let = get_object_or_404(queries.lets_visible_to(request.user), pk=pk)
        rows = queries.rod_days_visible_to(request.user).filter(let=let).order_by("day", "rod").distinct()
        return Response(RodDayOut(rows, many=True).data, headers={"ETag": f'"{let.version}"'})

    @extend_schema(
        request=PartyIn, responses=LetOut, summary="Name guests on rod-days of a let: keepers and the booker"
    )
    def put(self, request, pk):
        let = get_object_or_404(queries.lets_visible_to(request.user), pk=pk)
        asked = read_input(PartyIn, request)["places"]
        book = queries.guests_nameable_by(request.user, let)
        guests = book.in_bulk({place["guest"] for place in asked if place["guest"]})
        if any(place["guest"] and place["guest"] not in guests for place in asked):
            raise Http404
        places = [Place(place["day"], place["rod"], guests.get(place["guest"])) for place in asked]
        named = name_party(let, places=places, version=version_of(request), by=request.user, now=timezone.now())
        return answer(LetOut, named)
