"""Warnings of weather and flood, entered by those who keep the water and read by everybody on it."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.rest import VisibleMixin, answer, once_of, read_input
from safety import queries
from safety.models import AreaWarning
from safety.serializers import WarningIn, WarningOut
from safety.services.warnings import end_warning, enter_warning


class Warnings(VisibleMixin, ListAPIView):
    """Warnings of your water, newest first."""

    queryset = AreaWarning.objects.none()
    visible_to = queries.warnings_visible_to
    serializer_class = WarningOut
    filterset_fields = {"fishery__slug": ["exact"], "ended_at": ["isnull"], "until_at": ["gte"]}
    once = True

    @extend_schema(request=WarningIn, responses={201: WarningOut, 200: WarningOut}, summary="Enter a warning")
    def post(self, request):
        facts = read_input(WarningIn, request)
        fishery = fishery_at(request, facts.pop("fishery"))
        warning, made = enter_warning(fishery, **facts, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(WarningOut, warning, made=made)


class WarningEnd(IdempotentPostMixin, APIView):
    @extend_schema(request=None, responses=WarningOut, summary="End a warning")
    def post(self, request, pk):
        warning = get_object_or_404(queries.warnings_visible_to(request.user), pk=pk)
        return answer(WarningOut, end_warning(warning, by=request.user, now=timezone.now()))
