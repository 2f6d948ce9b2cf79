"""Alarms and who answers for them, for those who keep the water."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.models import Membership
from beats.queries import beats_visible_to
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.rest import VisibleMixin, answer, read_input, version_if_given
from safety import card, policy, queries
from safety.models import Alarm, AnglerMessage
from safety.serializers import (
    AcknowledgementOut,
    AlarmOut,
    AnglerMessageOut,
    AnswerForIn,
    BoardOut,
    CardOut,
    CloseHelpIn,
    WatchPolicyIn,
    WatchPolicyOut,
)
from safety.services.answering import answer_for, ask_for_help
from safety.services.closing import close_help
from safety.services.duties import set_policy
from safety.services.opportunity import sweep_if_stale
from safety.services.people import policy_of
from safety.services.writing import card_of
from sessions.queries import outings_visible_to
from sessions.serializers import OutingOut


class Alarms(VisibleMixin, ListAPIView):
    """Alarms of your fishery, newest first, with what became of every message."""

    queryset = Alarm.objects.none()
    visible_to = queries.alarms_visible_to
    serializer_class = AlarmOut
    filterset_fields = {
        "outing": ["exact"],
        "cleared_at": ["isnull"],
        "outing__beat": ["exact"],
        "kind": ["exact"],
    }


class AlarmDetail(VisibleMixin, RetrieveAPIView):
    """One alarm, with what became of every message."""

    queryset = Alarm.objects.none()
    visible_to = queries.alarms_visible_to
    serializer_class = AlarmOut


class AlarmAnswer(IdempotentPostMixin, APIView):
    """You go and look, and say by when you will know. The ladder holds still until then, and no longer."""

    @extend_schema(request=AnswerForIn, responses=AcknowledgementOut, summary="Answer for an alarm")
    def post(self, request, pk):
        alarm = get_object_or_404(queries.alarms_visible_to(request.user), pk=pk)
        facts = read_input(AnswerForIn, request)
        made = answer_for(alarm, **facts, by=request.user, now=timezone.now())
        return answer(AcknowledgementOut, made)


class AlarmClose(IdempotentPostMixin, APIView):
    """A keeper ends a call for help, saying what was found; everybody who was told gets the all-clear."""

    @extend_schema(request=CloseHelpIn, responses=AlarmOut, summary="Close a call for help")
    def post(self, request, pk):
        alarm = get_object_or_404(queries.alarms_visible_to(request.user), pk=pk)
        facts = read_input(CloseHelpIn, request)
        return Response(AlarmOut(close_help(alarm, **facts, by=request.user, now=timezone.now())).data)


class AnglerMessages(VisibleMixin, ListAPIView):
    """Texts of your fishery's anglers, newest first, word for word, understood or not."""

    queryset = AnglerMessage.objects.none()
    visible_to = queries.texts_visible_to
    serializer_class = AnglerMessageOut
    filterset_fields = {"outing": ["exact"], "understood": ["exact"], "received_at": ["gte"]}


class AlarmCard(APIView):
    """What the person who rings 999 is asked, ready to be read out."""

    @extend_schema(responses=CardOut, summary="The emergency card")
    def get(self, request, pk):
        alarm = get_object_or_404(queries.alarms_visible_to(request.user), pk=pk)
        now = timezone.now()
        facts = card_of(alarm, now=now)
        told = {"fields_to_read": card.lines(facts, now=now), "text": card.text(facts, now=now)}
        return Response(CardOut(told).data)


class OutingHelp(IdempotentPostMixin, APIView):
    """The angler, or a keeper for them, asks for help: the ladder begins now. It rings nobody's 999."""

    @extend_schema(request=None, responses=OutingOut, summary="Ask for help")
    def post(self, request, pk):
        outing = get_object_or_404(outings_visible_to(request.user), pk=pk)
        ask_for_help(outing, by=request.user, now=timezone.now())
        return answer(OutingOut, outing)


class BoardView(APIView):
    """Who is on the water, in words, the one to look for first at the top. For keepers."""

    @extend_schema(responses=BoardOut, summary="The board of the hut")
    def get(self, request, slug):
        fishery = fishery_at(request, slug, *Membership.KEEPERS)
        now = timezone.now()
        sweep_if_stale(now=now)
        return Response(BoardOut(queries.board_of(fishery, now=now)).data)


class BeatWatchPolicy(IdempotentPostMixin, APIView):
    """How a beat watches: the ladder, contacts, texts, recalls. Everybody may read it; the owner sets it."""

    versioned = True

    @extend_schema(responses=WatchPolicyOut, summary="How a beat watches")
    def get(self, request, pk):
        return self._told(get_object_or_404(beats_visible_to(request.user), pk=pk))

    @extend_schema(request=WatchPolicyIn, responses=WatchPolicyOut, summary="Set how a beat watches")
    def post(self, request, pk):
        beat = get_object_or_404(beats_visible_to(request.user), pk=pk)
        facts = read_input(WatchPolicyIn, request)
        beat = set_policy(
            beat, rules=facts["policy"], contact_minutes=facts.get("contact_minutes"),
            warn_minutes=facts.get("warn_minutes"), grace_minutes=facts.get("grace_minutes"),
            lone_grace_minutes=facts.get("lone_grace_minutes"), version=version_if_given(request),
            by=request.user, now=timezone.now(),
        )  # fmt: skip
        return self._told(beat)

    def _told(self, beat):
        minutes = ("contact_minutes", "warn_minutes", "grace_minutes", "lone_grace_minutes")
        told = {"policy": policy.write(policy_of(beat))} | {name: getattr(beat, name) for name in minutes}
        return Response(WatchPolicyOut(told).data, headers={"ETag": f'"{beat.watch_version}"'})
