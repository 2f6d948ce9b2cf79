"""How the water is let: policy, closures, opened seasons, the weeks offered and who waits."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.queries import beats_visible_to
from beats.shared.rest import Day, Ref, StrictSerializer, VisibleMixin, answer, once_of, read_input, version_of
from bookings import queries
from bookings.models import BeatClosure, Let, LettingSeason, Offer, SameWeek, TenancyNotice, Waiting
from bookings.services.closures import close_beat, reopen_beat
from bookings.services.holds import policy_of
from bookings.services.policy import set_policy
from bookings.services.seasons import open_season
from bookings.services.waiting import join_waiting, leave_waiting
from bookings.terms_limits import A_HOLD, FIGURES, MOST_REFUNDS


class RefundOut(serializers.Serializer):
    notice_days = serializers.IntegerField(help_text="At least so many days before the first day")
    percent = serializers.IntegerField()


class RefundIn(StrictSerializer):
    notice_days = serializers.IntegerField(**FIGURES["notice_days"].ends)
    percent = serializers.IntegerField(**FIGURES["percent"].ends)


class PolicyIn(StrictSerializer):
    hold_minutes = serializers.IntegerField(**A_HOLD.ends, help_text="How long rods are held unconfirmed")
    offer_minutes = serializers.IntegerField(**A_HOLD.ends, help_text="How long the waiting list has to answer")
    refunds = serializers.ListField(child=RefundIn(), max_length=MOST_REFUNDS)


class PolicyOut(serializers.Serializer):
    hold_minutes = serializers.IntegerField()
    offer_minutes = serializers.IntegerField()
    refunds = serializers.SerializerMethodField()
    version = serializers.IntegerField()

    @extend_schema(responses=RefundOut(many=True))
    def get_refunds(self, policy) -> list[dict[str, int]]:
        if not policy.pk:  # the defaults, which nobody has written
            return []
        return list(policy.refund_steps.order_by("notice_days").values("notice_days", "percent"))


class BeatClosureIn(StrictSerializer):
    from_on = Day()
    to_on = Day(help_text="The last day closed")
    reason = serializers.CharField(min_length=3, max_length=200, help_text="Why, for guests to read")

    def validate(self, attrs):
        if attrs["to_on"] < attrs["from_on"]:
            raise serializers.ValidationError({"to_on": ["Before from_on. Swap them."]})
        return attrs


class BeatClosureOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    from_on = serializers.DateField()
    to_on = serializers.DateField()
    reason = serializers.CharField()


class SeasonIn(StrictSerializer):
    year = serializers.IntegerField(min_value=2015, max_value=2200)
    answer_by = Day(help_text="The last day on which last year's tenants may answer")


class SeasonOut(serializers.Serializer):
    id = serializers.IntegerField()
    year = serializers.IntegerField()
    answer_by = serializers.DateField()
    opened_at = serializers.DateTimeField()


class SameWeekOut(serializers.Serializer):
    id = serializers.IntegerField()
    year = serializers.IntegerField(source="season.year")
    week = serializers.IntegerField(help_text="Of the season, from 1")
    last_let = serializers.IntegerField(source="last_let_id", help_text="The let of the year before")
    beat = serializers.IntegerField(source="last_let.beat_id")
    first_on = serializers.DateField(allow_null=True)
    last_on = serializers.DateField(allow_null=True)
    fault = serializers.CharField(help_text="Why it could not be offered; settle it by hand")


class NoticeOut(serializers.Serializer):
    """A letter about the held week."""

    state = serializers.ChoiceField(choices=TenancyNotice.State.choices)
    written_at = serializers.DateTimeField()
    sent_at = serializers.DateTimeField(allow_null=True)


class OfferOut(serializers.Serializer):
    """Taken with the let's confirm, declined with its cancel."""

    id = serializers.IntegerField()
    year = serializers.IntegerField(source="same_week.season.year")
    week = serializers.IntegerField(source="same_week.week")
    number = serializers.IntegerField(help_text="0 is last year's tenant, then the waiting list")
    let = serializers.IntegerField(source="let_id")
    beat = serializers.IntegerField(source="let.beat_id")
    guest = serializers.IntegerField(source="let.booker_id")
    guest_name = serializers.CharField(source="let.booker.name")
    status = serializers.ChoiceField(choices=Let.Status.choices, source="let.status")
    first_on = serializers.DateField(source="let.first_on")
    last_on = serializers.DateField(source="let.last_on")
    rods = serializers.IntegerField(source="let.rods")
    answer_by = serializers.DateTimeField(source="let.expires_at", allow_null=True)
    notice = NoticeOut(allow_null=True, help_text="That the week is held; null: not written, or no e-mail address")
    reminder = NoticeOut(allow_null=True, help_text="The reminder; null: not written")


class WaitingIn(StrictSerializer):
    fishery = serializers.SlugField()
    guest = Ref()
    beat = Ref(required=False, help_text="Leave out for any beat")
    week = serializers.IntegerField(
        min_value=1, max_value=53, required=False, help_text="Week of the season; leave out for any"
    )
    rods = serializers.IntegerField(min_value=1, max_value=60, default=1)


class WaitingOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    guest = serializers.IntegerField(source="guest_id")
    guest_name = serializers.CharField(source="guest.name")
    beat = serializers.IntegerField(source="beat_id", allow_null=True)
    week = serializers.IntegerField(allow_null=True)
    rods = serializers.IntegerField()
    since = serializers.DateTimeField()


class Policy(APIView):
    """How long rods are held, and what goes back on which notice."""

    @extend_schema(responses=PolicyOut, summary="The letting policy")
    def get(self, request, slug):
        policy = policy_of(fishery_at(request, slug))
        return Response(PolicyOut(policy).data, headers={"ETag": f'"{policy.version}"'})

    @extend_schema(request=PolicyIn, responses=PolicyOut, summary="Write the letting policy anew")
    def put(self, request, slug):
        fishery = fishery_at(request, slug)
        facts = read_input(PolicyIn, request)
        facts["refunds"] = [(step["notice_days"], step["percent"]) for step in facts["refunds"]]
        policy = set_policy(fishery, **facts, version=version_of(request), by=request.user, now=timezone.now())
        return answer(PolicyOut, policy)


class BeatClosures(VisibleMixin, ListAPIView):
    """When a beat is closed for work."""

    queryset = BeatClosure.objects.none()
    serializer_class = BeatClosureOut

    def visible(self):
        beat = get_object_or_404(beats_visible_to(self.request.user), pk=self.kwargs["pk"])
        return queries.beat_closures_visible_to(self.request.user).filter(beat=beat)

    @extend_schema(
        request=BeatClosureIn,
        responses={201: BeatClosureOut, 200: BeatClosureOut},
        summary="Close a beat",
    )
    def post(self, request, pk):
        beat = get_object_or_404(beats_visible_to(request.user), pk=pk)
        facts = read_input(BeatClosureIn, request)
        closure, made = close_beat(beat, **facts, by=request.user, now=timezone.now())
        return answer(BeatClosureOut, closure, made=made)


class BeatClosureDetail(APIView):
    @extend_schema(responses={204: None}, summary="Open a beat again")
    def delete(self, request, pk):
        closure = get_object_or_404(queries.beat_closures_visible_to(request.user), pk=pk)
        reopen_beat(closure, by=request.user, now=timezone.now())
        return Response(status=204)


class LettingSeasons(VisibleMixin, ListAPIView):
    """The years opened for letting."""

    queryset = LettingSeason.objects.none()
    serializer_class = SeasonOut

    def visible(self):
        return fishery_at(self.request, self.kwargs["slug"]).letting_seasons.all()

    @extend_schema(
        request=SeasonIn,
        responses={201: SeasonOut, 200: SeasonOut},
        summary="Open a year for letting",
    )
    def post(self, request, slug):
        fishery = fishery_at(request, slug)
        opened, made = open_season(fishery, **read_input(SeasonIn, request), by=request.user, now=timezone.now())
        return answer(SeasonOut, opened, made=made)


class SameWeeks(VisibleMixin, ListAPIView):
    """What each let of last year became. For keepers."""

    queryset = SameWeek.objects.none()
    visible_to = queries.same_weeks_visible_to
    serializer_class = SameWeekOut
    filterset_fields = {"season__year": ["exact"], "season__fishery__slug": ["exact"]}


class Offers(VisibleMixin, ListAPIView):
    """Weeks held for somebody to answer: yours, or all you keep the book of."""

    queryset = Offer.objects.none()
    visible_to = queries.offers_visible_to
    serializer_class = OfferOut
    filterset_fields = {"same_week__season__year": ["exact"], "let__status": ["exact"]}


class WaitingList(VisibleMixin, ListAPIView):
    """Who waits for a week that nobody claims, as far as you may see it."""

    queryset = Waiting.objects.none()
    visible_to = queries.waiting_visible_to
    serializer_class = WaitingOut
    filterset_fields = {"fishery__slug": ["exact"], "guest": ["exact"]}
    once = True

    @extend_schema(
        request=WaitingIn, responses={201: WaitingOut, 200: WaitingOut}, summary="Put a guest on the waiting list"
    )
    def post(self, request):
        facts = read_input(WaitingIn, request)
        fishery = fishery_at(request, facts.pop("fishery"))
        book = queries.guests_visible_to(request.user).filter(fishery=fishery)
        guest = get_object_or_404(book, pk=facts.pop("guest"))
        beat = facts.pop("beat", None)
        if beat is not None:
            beat = get_object_or_404(beats_visible_to(request.user).filter(fishery=fishery), pk=beat)
        entry, made = join_waiting(
            fishery, guest=guest, beat=beat, week=facts.get("week"), rods=facts["rods"],
            by=request.user, now=timezone.now(), once=once_of(request),
        )  # fmt: skip
        return answer(WaitingOut, entry, made=made)


class WaitingDetail(APIView):
    @extend_schema(responses={204: None}, summary="Leave the waiting list")
    def delete(self, request, pk):
        entry = get_object_or_404(queries.waiting_visible_to(request.user), pk=pk)
        leave_waiting(entry, by=request.user, now=timezone.now())
        return Response(status=204)
