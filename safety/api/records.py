"""Duties, drills and incidents, for those who keep the water."""

import csv
import io

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.shared.cells import safe_cell
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.rest import VisibleMixin, answer, once_of, read_input
from safety import queries
from safety.models import Drill, Duty, Incident
from safety.serializers import DrillIn, DrillOut, DutyIn, DutyOut, IncidentIn, IncidentOut
from safety.services.drills import answer_drill, start_drill
from safety.services.duties import stand_by, stand_down
from safety.services.incidents import open_incident
from sessions.queries import outings_visible_to


class Duties(VisibleMixin, ListAPIView):
    """Who stands by, newest first. A fishery that lists nobody has all its keepers by."""

    queryset = Duty.objects.none()
    visible_to = queries.duties_visible_to
    serializer_class = DutyOut
    filterset_fields = {"until_at": ["gte"]}
    once = True

    @extend_schema(request=DutyIn, responses={201: DutyOut, 200: DutyOut}, summary="Stand by")
    def post(self, request):
        facts = read_input(DutyIn, request)
        fishery = fishery_at(request, facts.pop("fishery"))
        duty, made = stand_by(fishery, **facts, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(DutyOut, duty, made=made)


class DutyDetail(APIView):
    @extend_schema(responses={204: None}, summary="Stand down")
    def delete(self, request, pk):
        duty = get_object_or_404(queries.duties_visible_to(request.user), pk=pk)
        stand_down(duty, by=request.user, now=timezone.now())
        return HttpResponse(status=204)


class Drills(VisibleMixin, ListAPIView):
    """Drills, newest first, with the time of every step."""

    queryset = Drill.objects.none()
    visible_to = queries.drills_visible_to
    serializer_class = DrillOut
    once = True

    @extend_schema(request=DrillIn, responses={201: DrillOut, 200: DrillOut}, summary="Start a drill")
    def post(self, request):
        fishery = fishery_at(request, read_input(DrillIn, request)["fishery"])
        drill, made = start_drill(fishery, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(DrillOut, drill, made=made)


class DrillAnswer(IdempotentPostMixin, APIView):
    @extend_schema(request=None, responses=DrillOut, summary="Answer a drill")
    def post(self, request, pk):
        drill = get_object_or_404(queries.drills_visible_to(request.user), pk=pk)
        return answer(DrillOut, answer_drill(drill, by=request.user, now=timezone.now()))


class Incidents(VisibleMixin, ListAPIView):
    """What happened, or nearly did, newest first."""

    queryset = Incident.objects.none()
    visible_to = queries.incidents_visible_to
    serializer_class = IncidentOut
    filterset_fields = {"kind": ["exact"], "fishery__slug": ["exact"]}
    once = True

    @extend_schema(request=IncidentIn, responses={201: IncidentOut, 200: IncidentOut}, summary="Note an incident")
    def post(self, request):
        facts = read_input(IncidentIn, request)
        fishery = fishery_at(request, facts.pop("fishery"))
        outing = facts.pop("outing")
        outing = get_object_or_404(outings_visible_to(request.user), pk=outing) if outing else None
        incident, made = open_incident(
            fishery, **facts, outing=outing, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(IncidentOut, incident, made=made)


class IncidentDetail(VisibleMixin, RetrieveAPIView):
    """One incident."""

    queryset = Incident.objects.none()
    visible_to = queries.incidents_visible_to
    serializer_class = IncidentOut


class IncidentFile(APIView):
    """The timeline as a CSV file, without numbers or addresses."""

    @extend_schema(responses={(200, "text/csv"): OpenApiTypes.STR}, summary="An incident as a file")
    def get(self, request, pk):
        incident = get_object_or_404(queries.incidents_visible_to(request.user), pk=pk)
        text = io.StringIO()
        rows = csv.writer(text)
        rows.writerow(("at", "what", "who", "facts"))
        for moment in incident.timeline:
            rows.writerow([safe_cell(moment[name]) for name in ("at", "what", "who", "facts")])
        return HttpResponse(text.getvalue(), content_type="text/csv; charset=utf-8")
