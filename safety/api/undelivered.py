"""Messages that did not arrive, and the ways to close one."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.views import APIView

from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.rest import ByWritten, VisibleMixin, answer, read_input
from safety import queries
from safety.models import Delivery
from safety.serializers import CorrectAddressIn, UndeliveredOut
from safety.services.undelivered import acknowledge, correct_address


class Undelivered(VisibleMixin, ListAPIView):
    """Messages that did not arrive and that nobody has dealt with, the newest first. For keepers."""

    queryset = Delivery.objects.none()
    serializer_class = UndeliveredOut
    pagination_class = ByWritten
    filterset_fields = {"channel": ["exact"], "alarm": ["exact"]}

    def visible(self):
        return queries.undelivered_visible_to(self.request.user, now=timezone.now())


class UndeliveredAcknowledge(IdempotentPostMixin, APIView):
    """You have seen to it, by telephone perhaps. Closes everything that failed at the same address."""

    @extend_schema(request=None, responses=UndeliveredOut, summary="Acknowledge an undelivered message")
    def post(self, request, pk):
        row = _row(request, pk)
        return answer(UndeliveredOut, acknowledge(row, by=request.user, now=timezone.now()))


class UndeliveredCorrect(IdempotentPostMixin, APIView):
    """Put the person's number or e-mail address right; what still matters is sent to the new one."""

    @extend_schema(request=CorrectAddressIn, responses=UndeliveredOut, summary="Correct an address")
    def post(self, request, pk):
        row = _row(request, pk)
        facts = read_input(CorrectAddressIn, request)
        return answer(UndeliveredOut, correct_address(row, **facts, by=request.user, now=timezone.now()))


def _row(request, pk) -> Delivery:
    return get_object_or_404(queries.failed_messages_visible_to(request.user), pk=pk)
