"""Permits, calendars, and what is held about a guest."""

from django.http import Http404
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.models import Membership
from beats.queries import beats_visible_to, fisheries_visible_to, role_in
from beats.shared import wall
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.made import PRIVATE, CalendarRenderer, PdfRenderer, TextRenderer
from beats.shared.rest import ByWritten, VisibleMixin, once_of, read_input
from bookings import feeds, permits, queries
from bookings.models import CalendarFeed, Let, Paper
from bookings.papers.parts import as_text
from bookings.papers.permit import sections
from bookings.services.feeds import close_feed, note_use, open_feed
from bookings.services.forgetting import erase, everything_about
from bookings.wire.papers import EverythingOut, FeedIn, FeedMade, FeedOut, LetterOut


class LetPermit(APIView):
    """The written permission to fish: all of it for whoever booked and keepers, your own days for others."""

    renderer_classes = [PdfRenderer, TextRenderer]

    @extend_schema(
        parameters=[
            OpenApiParameter("format", str, enum=["pdf", "txt"], description="Or send Accept; PDF if neither")
        ],
        responses={(200, "application/pdf"): OpenApiTypes.BINARY, (200, "text/plain"): OpenApiTypes.STR},
        summary="A let's permit",
    )
    def get(self, request, pk):
        let = get_object_or_404(queries.lets_visible_to(request.user), pk=pk, status=Let.Status.CONFIRMED)
        now = timezone.now()
        paper = permits.permit(let, now=now, only_for=self._reader(let))
        if request.accepted_renderer.format == "txt":
            return Response(as_text(paper.title, sections(paper)), headers=PRIVATE)
        named = {"Content-Disposition": f'attachment; filename="permit-{let.pk}-{let.edition}.pdf"'}
        return Response(permits.printed(paper, now=now), headers=named | PRIVATE)

    def _reader(self, let: Let):
        if role_in(self.request.user, let.beat.fishery) in Membership.KEEPERS:
            return None
        return queries.guest_of(self.request.user, let.beat.fishery)


class LetLetters(VisibleMixin, ListAPIView):
    """What was mailed about a let and what became of it: for whoever booked, and keepers."""

    queryset = Paper.objects.none()
    serializer_class = LetterOut
    pagination_class = ByWritten
    filterset_fields = {"state": ["exact"]}

    def visible(self):
        return get_object_or_404(
            queries.lets_answered_for_by(self.request.user), pk=self.kwargs["pk"]
        ).papers.all()


class Feeds(VisibleMixin, ListAPIView):
    """Calendars that follow the book."""

    queryset = CalendarFeed.objects.none()
    visible_to = queries.feeds_visible_to
    serializer_class = FeedOut
    filterset_fields = {"fishery__slug": ["exact"], "guest": ["exact"], "beat": ["exact"]}
    once = True

    @extend_schema(request=FeedIn, responses={201: FeedMade, 200: FeedMade}, summary="Open a calendar feed")
    def post(self, request):
        facts, user = read_input(FeedIn, request), request.user
        beat = guest = None
        if "beat" in facts:
            beat = get_object_or_404(beats_visible_to(user), pk=facts["beat"])
            fishery = beat.fishery
        elif "guest" in facts:
            guest = get_object_or_404(queries.guests_visible_to(user), pk=facts["guest"])
            fishery = guest.fishery
        else:
            fishery = get_object_or_404(fisheries_visible_to(user), slug=facts["fishery"])
        feed, secret, made = open_feed(
            fishery,
            beat=beat,
            guest=guest,
            label=facts["label"],
            by=user,
            now=timezone.now(),
            once=once_of(request),
        )
        address = request.build_absolute_uri(reverse("feed-calendar", args=[secret])) if secret else None
        return Response(FeedOut(feed).data | {"address": address}, status=201 if made else 200)


class FeedDetail(APIView):
    @extend_schema(responses={204: None}, summary="Close a calendar feed")
    def delete(self, request, pk):
        feed = get_object_or_404(queries.feeds_visible_to(request.user), pk=pk)
        close_feed(feed, by=request.user, now=timezone.now())
        return Response(status=204)


class FeedCalendar(APIView):
    """What a calendar program asks for again and again: the secret in the address is all it has."""

    authentication_classes = []
    permission_classes = []
    renderer_classes = [CalendarRenderer]

    @extend_schema(
        responses={(200, "text/calendar"): OpenApiTypes.STR},
        summary="A calendar, by its secret address (RFC 5545)",
    )
    def get(self, _request, secret):
        feed, now = feeds.feed_of(secret), timezone.now()
        if feed is None:
            raise Http404
        wall.raise_around(feed.fishery_id)
        note_use(feed, now=now)
        return Response(feeds.calendar_of(feed, now=now), headers=PRIVATE)


class GuestEverything(APIView):
    """For the guest and the owner."""

    @extend_schema(responses=EverythingOut, summary="All that is held about a guest")
    def get(self, request, pk):
        guest = get_object_or_404(queries.guests_visible_to(request.user), pk=pk)
        return Response(everything_about(guest, by=request.user, now=timezone.now()), headers=PRIVATE)


class GuestErase(IdempotentPostMixin, APIView):
    """For the guest and the owner. Fish and money stay, as those of nobody in particular."""

    @extend_schema(request=None, responses={204: None}, summary="Forget a guest")
    def post(self, request, pk):
        guest = get_object_or_404(queries.guests_visible_to(request.user), pk=pk)
        erase(guest, by=request.user, now=timezone.now())
        return Response(status=204)
