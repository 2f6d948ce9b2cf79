"""Check in, change the time, check out; who is on the water now."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView, get_object_or_404

from beats.models import Membership
from beats.queries import beats_visible_to, fisheries_visible_to, pools_visible_to, require_role
from beats.shared.plain_lists import PlainList
from beats.shared.rest import VisibleMixin, answer, once_of, read_input
from bookings.queries import guests_visible_to
from sessions import queries
from sessions.guards import explained
from sessions.models import Outing, Plan
from sessions.serializers import (
    CheckedInOut,
    CheckInIn,
    CheckOutIn,
    EnteredIn,
    MeetingIn,
    MoreTimeIn,
    OutingOut,
    PlanIn,
    PlanOut,
    ReportIn,
    TallyOut,
    TimeBackIn,
)
from sessions.services.entries import Report
from sessions.services.meeting import set_meeting
from sessions.services.offline import change_time_back, check_out_entered, entered
from sessions.services.outings import check_in, extend_by, say_fine
from sessions.services.plans import call_off, plan_outing
from sessions.services.undo import undo_check_out
from sessions.telling import told_at_check_in


def _report(facts: dict) -> Report:
    """Taken out of the input's facts."""
    return Report(by=facts.pop("reported_by"), via=facts.pop("reported_via"))


class Outings(PlainList, VisibleMixin, ListAPIView):
    """Outings, newest first."""

    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut
    filterset_fields = {
        "beat": ["exact"], "guest": ["exact"], "checked_out_at": ["isnull"], "checked_in_at": ["gte", "lt"],
    }  # fmt: skip
    once = True

    @extend_schema(request=CheckInIn, responses={201: CheckedInOut, 200: CheckedInOut}, summary="Check in")
    def post(self, request):
        facts = read_input(CheckInIn, request)
        guest = get_object_or_404(guests_visible_to(request.user), pk=facts.pop("guest"))
        beat = get_object_or_404(beats_visible_to(request.user), pk=facts.pop("beat"))
        pool_id = facts.pop("pool")
        pool = get_object_or_404(pools_visible_to(request.user), pk=pool_id) if pool_id else None
        now, report = timezone.now(), _report(facts)
        outing, made = check_in(
            guest, beat=beat, pool=pool, **facts, report=report, by=request.user, now=now, once=once_of(request)
        )
        outing.watched_how = explained(outing, now)
        outing.told = told_at_check_in(outing, now=now)
        return answer(CheckedInOut, outing, made=made)


class OutingDetail(VisibleMixin, RetrieveAPIView):
    """One outing: when somebody went on the water, when they are due off it, and whether they are."""

    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut


class OutingTimeBack(VisibleMixin, RetrieveAPIView):
    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut
    http_method_names = ["post"]

    @extend_schema(request=TimeBackIn, responses=OutingOut, summary="Change the time off the water")
    def post(self, request, pk):
        outing = get_object_or_404(self.get_queryset(), pk=pk)
        facts = read_input(TimeBackIn, request)
        report = _report(facts)
        changed = change_time_back(outing, **facts, report=report, by=request.user, now=timezone.now())
        return answer(OutingOut, changed)


class OutingMoreTime(VisibleMixin, RetrieveAPIView):
    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut
    http_method_names = ["post"]

    @extend_schema(request=MoreTimeIn, responses=OutingOut, summary="One tap: more time")
    def post(self, request, pk):
        outing = get_object_or_404(self.get_queryset(), pk=pk)
        facts = read_input(MoreTimeIn, request)
        report = _report(facts)
        return answer(OutingOut, extend_by(outing, **facts, report=report, by=request.user, now=timezone.now()))


class OutingMeeting(VisibleMixin, RetrieveAPIView):
    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut
    http_method_names = ["post"]

    @extend_schema(request=MeetingIn, responses=OutingOut, summary="Set who expects the angler off the water")
    def post(self, request, pk):
        outing = get_object_or_404(self.get_queryset(), pk=pk)
        facts = read_input(MeetingIn, request)
        changed = set_meeting(
            outing, person=facts["meeting_person"], at=facts["meeting_at"], by=request.user, now=timezone.now()
        )
        return answer(OutingOut, changed)


class OutingFine(VisibleMixin, RetrieveAPIView):
    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut
    http_method_names = ["post"]

    @extend_schema(request=EnteredIn, responses=OutingOut, summary="Say that all is well")
    def post(self, request, pk):
        outing, now = get_object_or_404(self.get_queryset(), pk=pk), timezone.now()
        heard_at = entered(**read_input(EnteredIn, request), now=now)
        return answer(OutingOut, say_fine(outing, by=request.user, now=now, heard_at=heard_at))


class Plans(VisibleMixin, ListAPIView):
    """Outings said beforehand, newest first."""

    queryset = Plan.objects.none()
    visible_to = queries.plans_visible_to
    serializer_class = PlanOut
    filterset_fields = {"beat": ["exact"], "guest": ["exact"], "out_at": ["gte", "lt"]}
    once = True

    @extend_schema(request=PlanIn, responses={201: PlanOut, 200: PlanOut}, summary="Plan an outing")
    def post(self, request):
        facts = read_input(PlanIn, request)
        guest = get_object_or_404(guests_visible_to(request.user), pk=facts.pop("guest"))
        beat = get_object_or_404(beats_visible_to(request.user), pk=facts.pop("beat"))
        pool_id = facts.pop("pool")
        pool = get_object_or_404(pools_visible_to(request.user), pk=pool_id) if pool_id else None
        plan, made = plan_outing(
            guest, beat=beat, pool=pool, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(PlanOut, plan, made=made)


class PlanCallOff(VisibleMixin, RetrieveAPIView):
    queryset = Plan.objects.none()
    visible_to = queries.plans_visible_to
    serializer_class = PlanOut
    http_method_names = ["post"]

    @extend_schema(
        request=EnteredIn, responses=PlanOut, summary="Call a plan off, or enter that you are off the water"
    )
    def post(self, request, pk):
        plan, facts = get_object_or_404(self.get_queryset(), pk=pk), read_input(EnteredIn, request)
        return answer(PlanOut, call_off(plan, **facts, by=request.user, now=timezone.now()))


class OutingCheckOut(VisibleMixin, RetrieveAPIView):
    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut
    http_method_names = ["post"]

    @extend_schema(request=CheckOutIn, responses=OutingOut, summary="Check out: off the water")
    def post(self, request, pk):
        outing, facts = get_object_or_404(self.get_queryset(), pk=pk), read_input(CheckOutIn, request)
        report = _report(facts)
        ended = check_out_entered(outing, **facts, report=report, by=request.user, now=timezone.now())
        return answer(OutingOut, ended)


class OutingUndoCheckOut(VisibleMixin, RetrieveAPIView):
    """Within two minutes of the check-out: the same outing, with its deadlines as they were, is watched again.

    Alarms that the check-out had ended are raised again, and those who had the all-clear are told.
    """

    queryset = Outing.objects.none()
    visible_to = queries.outings_visible_to
    serializer_class = OutingOut
    http_method_names = ["post"]

    @extend_schema(request=ReportIn, responses=OutingOut, summary="Undo a check-out: on the water again")
    def post(self, request, pk):
        outing = get_object_or_404(self.get_queryset(), pk=pk)
        report = _report(read_input(ReportIn, request))
        return answer(OutingOut, undo_check_out(outing, report=report, by=request.user, now=timezone.now()))


class Tally(VisibleMixin, ListAPIView):
    """Who is on the water now, the one to look for first at the top. For keepers."""

    queryset = Outing.objects.none()
    serializer_class = TallyOut
    pagination_class = None

    def visible(self):
        fishery = get_object_or_404(fisheries_visible_to(self.request.user), slug=self.kwargs["slug"])
        require_role(self.request.user, fishery, *Membership.KEEPERS)
        return queries.tally(fishery, now=timezone.now())
