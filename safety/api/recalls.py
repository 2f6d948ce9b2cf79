"""Rods called off the water, and who of them has answered."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404
from rest_framework.views import APIView

from beats.queries import beats_visible_to
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.rest import VisibleMixin, answer, once_of, read_input
from safety import queries
from safety.models import Recall
from safety.serializers import RecallAnswerIn, RecallIn, RecallOut
from safety.services.calling import answer_recall, call_in, end_recall
from sessions.queries import outings_visible_to


class Recalls(VisibleMixin, ListAPIView):
    """Recalls, newest first, with every rod they called; a guest sees their own call."""

    queryset = Recall.objects.none()
    visible_to = queries.recalls_visible_to
    serializer_class = RecallOut
    filterset_fields = {"beat": ["exact"], "ended_at": ["isnull"]}
    once = True

    @extend_schema(
        request=RecallIn, responses={201: RecallOut, 200: RecallOut}, summary="Call every rod off the water"
    )
    def post(self, request):
        facts = read_input(RecallIn, request)
        beat = get_object_or_404(beats_visible_to(request.user), pk=facts.pop("beat"))
        recall, made = call_in(beat, **facts, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(RecallOut, _seen(request, recall.pk), made=made)


class RecallDetail(VisibleMixin, RetrieveAPIView):
    """One recall, with every rod it called."""

    queryset = Recall.objects.none()
    visible_to = queries.recalls_visible_to
    serializer_class = RecallOut


class RecallEnd(IdempotentPostMixin, APIView):
    @extend_schema(request=None, responses=RecallOut, summary="End a recall")
    def post(self, request, pk):
        end_recall(_seen(request, pk), by=request.user, now=timezone.now())
        return answer(RecallOut, _seen(request, pk))


class RecallAnswer(IdempotentPostMixin, APIView):
    """The angler is on the way out; they are counted in when they check out."""

    @extend_schema(request=RecallAnswerIn, responses=RecallOut, summary="Answer a recall")
    def post(self, request, pk):
        recall = _seen(request, pk)
        outing = get_object_or_404(
            outings_visible_to(request.user), pk=read_input(RecallAnswerIn, request)["outing"]
        )
        answer_recall(recall, outing, by=request.user, now=timezone.now())
        return answer(RecallOut, _seen(request, pk))


def _seen(request, pk: int) -> Recall:
    return get_object_or_404(queries.recalls_visible_to(request.user), pk=pk)
