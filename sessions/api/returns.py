"""The return of a season: as the book stands, as it was signed, and when it is due."""

from django.http import Http404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.models import Fishery
from beats.queries import Role
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.made import LinesRenderer, PdfRenderer, WorkbookRenderer
from beats.shared.rest import VisibleMixin, answer, once_of, read_input
from sessions.authentication import BoardAuthentication
from sessions.declaration import DECLARATION, Signer
from sessions.models import BoardKey, MonthStatement, Return, ReturnDue, ReviewAnswer
from sessions.monthly import lines
from sessions.papers import return_files
from sessions.queries import board_keys_visible_to, last_signed
from sessions.returns import SeasonReturn, season_return
from sessions.season_reports import signed_words, standing_words
from sessions.serializers import (
    BoardKeyIn,
    BoardKeyMade,
    BoardKeyOut,
    DueIn,
    EffortDecisionOut,
    EffortIn,
    EffortOut,
    MonthStatementIn,
    MonthStatementOut,
    ReturnDueOut,
    ReturnOut,
    ReviewAnswerIn,
    ReviewAnswerOut,
    SignedDetailOut,
    SignedOut,
    SignIn,
)
from sessions.services.board_keys import issue_board_key, revoke_board_key
from sessions.services.month_statements import answer_question, state_month
from sessions.services.returns import decide_effort, set_due, sign_return
from sessions.snapshot import differences, months_of

FORMATS = [JSONRenderer, LinesRenderer, WorkbookRenderer, PdfRenderer]
FORMAT = OpenApiParameter(
    "format", str, enum=["json", "csv", "xlsx", "pdf"], description="Or ask by Accept, as for text/csv"
)
FILES = {
    (200, "text/csv"): OpenApiTypes.STR,
    (200, WorkbookRenderer.media_type): OpenApiTypes.BINARY,
    (200, "application/pdf"): OpenApiTypes.BINARY,
}


def water_of_owner(request, slug: str, season: int) -> Fishery:
    """The fishery, for its owner and a season there can be a return of."""
    fishery = fishery_at(request, slug, Role.OWNER)
    check_season(season)
    return fishery


def water_of_reader(request, slug: str, season: int) -> Fishery:
    """As `water_of_owner`; or the fishery whose key a district board sends."""
    if not isinstance(request.auth, BoardKey):
        return water_of_owner(request, slug, season)
    if request.auth.fishery.slug != slug:
        raise Http404
    check_season(season)
    return request.auth.fishery


def check_season(season: int) -> None:
    if not 2015 <= season <= 2200:
        raise ValidationError({"season": ["Give the year of the season, from 2015 on."]})


class SeasonReturnView(APIView):
    """The statutory monthly table of a season as the book stands. For the owner."""

    renderer_classes = FORMATS

    @extend_schema(
        parameters=[FORMAT],
        responses={(200, "application/json"): ReturnOut} | FILES,
        operation_id="fisheries_returns_retrieve",
        summary="Fish by class, kept and released, and rod-days, by month",
    )
    def get(self, request, slug, season) -> Response:
        fishery = water_of_owner(request, slug, season)
        made, last = season_return(fishery, season, now=timezone.now()), last_signed(fishery, season)
        name = f"return-{fishery.slug}-{season}"
        if request.accepted_renderer.format == "json":
            return Response(ReturnOut(_beside(made, last)).data)
        return _file(request, return_files.of_book(made, standing_words(made, last), at=timezone.now()), name)


def _beside(made: SeasonReturn, last: Return | None) -> dict:
    """The figures of the book, with what was signed last."""
    return vars(made) | {
        "known_totals": made.known_totals,
        "without_record": made.without_record,
        "declaration": DECLARATION,
        "returned": last.state if last else "none",
        "signed_version": last.version if last else None,
        "differences": differences(last.snapshot, made.snapshot) if last else [],
    }


def _file(request, paper: return_files.Paper, name: str) -> Response:
    kind = request.accepted_renderer.format
    if kind == "csv":
        made = paper.snapshot
        data = lines(months_of(made), fishery=made["fishery"], year=made["season"])
    else:
        data = {"xlsx": return_files.xlsx, "pdf": return_files.pdf}[kind](paper)
    return Response(data, headers={"Content-Disposition": f'attachment; filename="{name}.{kind}"'})


class SignedReturns(VisibleMixin, ListAPIView):
    """The versions of a season's return, newest first. For the owner, and for a district board with a key."""

    authentication_classes = [BoardAuthentication]
    queryset = Return.objects.none()
    serializer_class = SignedOut
    pagination_class = None
    filterset_fields: list[str] = []
    once = True

    def visible(self):
        fishery = water_of_reader(self.request, self.kwargs["slug"], self.kwargs["season"])
        rows = Return.objects.filter(fishery=fishery, season=self.kwargs["season"])
        return rows.select_related("fishery").defer("snapshot", "fish", "findings").order_by("-version")

    @extend_schema(request=SignIn, responses={201: SignedOut, 200: SignedOut}, summary="Sign the figures you read")
    def post(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        facts = read_input(SignIn, request)
        names = {"name": "signer_name", "capacity": "signer_capacity", "address": "signer_address"}
        signer = Signer(
            **{name: facts.pop(field) for name, field in names.items()}, declared=facts.pop("declared")
        )
        signed, made = sign_return(
            fishery, season, **facts, signer=signer, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(SignedOut, signed, made=made)


class SignedReturn(APIView):
    """One version as it was signed. For the owner, and for a district board with a key."""

    renderer_classes = FORMATS
    authentication_classes = [BoardAuthentication]

    @extend_schema(
        parameters=[FORMAT],
        responses={(200, "application/json"): SignedDetailOut} | FILES,
        summary="A signed return, the same for ever",
    )
    def get(self, request, slug, season, version) -> Response:
        fishery = water_of_reader(request, slug, season)
        rows = Return.objects.select_related("fishery").defer("fish")
        signed = get_object_or_404(rows, fishery=fishery, season=season, version=version)
        if request.accepted_renderer.format == "json":
            return Response(SignedDetailOut(signed).data)
        paper = return_files.of_signed(signed, signed_words(signed))
        return _file(request, paper, f"return-{fishery.slug}-{season}-v{version}")


class ReturnDueView(IdempotentPostMixin, APIView):
    """When a season's return is to be in. No official date was found, so it is the owner's setting."""

    @extend_schema(responses=ReturnDueOut, summary="When the return is due")
    def get(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        return Response(ReturnDueOut(get_object_or_404(ReturnDue, fishery=fishery, season=season)).data)

    @extend_schema(request=DueIn, responses=ReturnDueOut, summary="Say when the return is due, and be reminded")
    def post(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        facts = read_input(DueIn, request)
        due = set_due(fishery, season, **facts, by=request.user, now=timezone.now())
        return Response(ReturnDueOut(due).data)


class SeasonEffort(APIView):
    """A season's rod-days, by where they come from; and the owner's word on a month."""

    once = True

    @extend_schema(responses=EffortOut(many=True), summary="Rod-days let, planned and seen, month by month")
    def get(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        return Response(EffortOut(season_return(fishery, season, now=timezone.now()).effort, many=True).data)

    @extend_schema(
        request=EffortIn,
        responses={201: EffortDecisionOut, 200: EffortDecisionOut},
        summary="Decide a month's rod-days, with a reason",
    )
    def post(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        facts = read_input(EffortIn, request)
        decision, made = decide_effort(
            fishery, season, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(EffortDecisionOut, decision, made=made)


class MonthStatements(VisibleMixin, ListAPIView):
    """What the owner stated of months without fish, newest first; the newest of a month holds. For the owner."""

    queryset = MonthStatement.objects.none()
    serializer_class = MonthStatementOut
    filterset_fields: list[str] = []
    once = True

    def visible(self):
        fishery = water_of_owner(self.request, self.kwargs["slug"], self.kwargs["season"])
        return MonthStatement.objects.filter(fishery=fishery, season=self.kwargs["season"]).order_by("-id")

    @extend_schema(
        request=MonthStatementIn,
        responses={201: MonthStatementOut, 200: MonthStatementOut},
        summary="State that a month was not fished, or fished and nothing caught",
    )
    def post(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        facts = read_input(MonthStatementIn, request)
        row, made = state_month(
            fishery, season, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(MonthStatementOut, row, made=made)


class ReviewAnswers(VisibleMixin, ListAPIView):
    """The owner's answers to the questions of the review, newest first. For the owner."""

    queryset = ReviewAnswer.objects.none()
    serializer_class = ReviewAnswerOut
    filterset_fields: list[str] = []
    once = True

    def visible(self):
        fishery = water_of_owner(self.request, self.kwargs["slug"], self.kwargs["season"])
        return ReviewAnswer.objects.filter(fishery=fishery, season=self.kwargs["season"]).order_by("-id")

    @extend_schema(
        request=ReviewAnswerIn,
        responses={201: ReviewAnswerOut, 200: ReviewAnswerOut},
        summary="Answer a question of the review: it is right as it stands, and why",
    )
    def post(self, request, slug, season):
        fishery = water_of_owner(request, slug, season)
        facts = read_input(ReviewAnswerIn, request)
        row, made = answer_question(
            fishery, season, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(ReviewAnswerOut, row, made=made)


class BoardKeys(VisibleMixin, ListAPIView):
    """The keys that let a district board read the signed returns. For the owner."""

    queryset = BoardKey.objects.none()
    serializer_class = BoardKeyOut
    filterset_fields: list[str] = []
    once = True

    def visible(self):
        return fishery_at(self.request, self.kwargs["slug"], Role.OWNER).board_keys.all()

    @extend_schema(
        request=BoardKeyIn,
        responses={201: BoardKeyMade, 200: BoardKeyMade},
        summary="Make a key for a district board",
    )
    def post(self, request, slug):
        facts, fishery = read_input(BoardKeyIn, request), fishery_at(request, slug, Role.OWNER)
        key, secret, made = issue_board_key(
            fishery, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return Response(BoardKeyOut(key).data | {"secret": secret}, status=201 if made else 200)


class BoardKeyDetail(APIView):
    @extend_schema(responses={204: None}, summary="Revoke a district board's key")
    def delete(self, request, pk):
        key = get_object_or_404(board_keys_visible_to(request.user), pk=pk)
        revoke_board_key(key, by=request.user, now=timezone.now())
        return Response(status=204)
