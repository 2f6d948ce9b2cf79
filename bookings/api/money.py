"""Terms, tariff, ledger, statements and takings."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.models import Fishery
from beats.queries import Role, beats_visible_to, local_day, require_role
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.made import NOTHING_FETCHED, PRIVATE, LinesRenderer, PdfRenderer, PictureRenderer
from beats.shared.rest import VisibleMixin, answer, once_of, read_input, read_query, version_of
from bookings import accounts, queries, reckoning, takings
from bookings.models import LedgerEntry, Tariff
from bookings.papers import statement as paper
from bookings.services.ledger import enter
from bookings.services.terms import add_price, change_terms, end_price
from bookings.wire.money import (
    EntryIn,
    EntryOut,
    LetMoneyOut,
    PriceEnd,
    PriceIn,
    PriceOut,
    StatementOut,
    TakingsOut,
    TermsChange,
    TermsOut,
    YearIn,
)


class FisheryTerms(APIView):
    """What the fishery asks: currency, VAT, deposit, and how long it remembers a guest."""

    @extend_schema(responses=TermsOut, summary="The terms of a fishery")
    def get(self, request, slug):
        response = answer(TermsOut, reckoning.terms_of(fishery_at(request, slug)))
        response["ETag"] = f'"{response.data["version"]}"'
        return response

    @extend_schema(request=TermsChange, responses=TermsOut, summary="Change the terms")
    def patch(self, request, slug):
        facts = read_input(TermsChange, request)
        fishery = fishery_at(request, slug)
        terms = change_terms(
            fishery, facts=facts, version=version_of(request), by=request.user, now=timezone.now()
        )
        return answer(TermsOut, terms)


class FisheryTariff(VisibleMixin, ListAPIView):
    """Prices for one rod on one day. The row that says most about a day decides."""

    queryset = Tariff.objects.none()
    serializer_class = PriceOut
    filterset_fields = {"beat": ["exact"], "kind": ["exact"], "first_on": ["gte", "lte"]}
    once = True

    def visible(self):
        return queries.tariff_visible_to(self.request.user).filter(
            fishery=fishery_at(self.request, self.kwargs["slug"])
        )

    @extend_schema(request=PriceIn, responses={201: PriceOut, 200: PriceOut}, summary="Add a price")
    def post(self, request, slug):
        facts, fishery = read_input(PriceIn, request), fishery_at(request, slug)
        beats = beats_visible_to(request.user).filter(fishery=fishery)
        beat_id = facts.pop("beat")
        beat = get_object_or_404(beats, pk=beat_id) if beat_id else None
        row, made = add_price(
            fishery, beat=beat, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return answer(PriceOut, row, made=made)


class PriceEnding(IdempotentPostMixin, APIView):
    @extend_schema(request=PriceEnd, responses=PriceOut, summary="Say the last day a price holds")
    def post(self, request, pk):
        row = get_object_or_404(queries.tariff_visible_to(request.user), pk=pk)
        facts = read_input(PriceEnd, request)
        return answer(PriceOut, end_price(row, **facts, by=request.user, now=timezone.now()))


class LetMoney(APIView):
    """For whoever booked, and keepers."""

    @extend_schema(responses=LetMoneyOut, summary="What a let costs, what was paid, what is due")
    def get(self, request, pk):
        let = get_object_or_404(queries.lets_answered_for_by(request.user), pk=pk)
        today = local_day(let.beat.fishery, timezone.now())
        return Response(LetMoneyOut(accounts.let_money(let, today=today)).data)


class Ledger(VisibleMixin, ListAPIView):
    """Every sum, newest first: all of them for the owner, your own for guests."""

    queryset = LedgerEntry.objects.none()
    visible_to = queries.ledger_visible_to
    serializer_class = EntryOut
    filterset_fields = {
        "guest": ["exact"], "let": ["exact"], "kind": ["exact"], "booked_on": ["gte", "lte"],
        "reference": ["exact"],
    }  # fmt: skip
    once = True

    @extend_schema(
        request=EntryIn, responses={201: EntryOut, 200: EntryOut}, summary="Enter a payment, or set the book right"
    )
    def post(self, request):
        facts = read_input(EntryIn, request)
        guest = get_object_or_404(queries.guests_visible_to(request.user), pk=facts.pop("guest"))
        let_id = facts.pop("let")
        lets = queries.lets_visible_to(request.user).filter(beat__fishery=guest.fishery)
        let = get_object_or_404(lets, pk=let_id) if let_id else None
        entry, made = enter(guest, let=let, **facts, by=request.user, now=timezone.now(), once=once_of(request))
        return answer(EntryOut, entry, made=made)


class GuestStatement(APIView):
    """For the guest and the owner."""

    renderer_classes = [JSONRenderer, PdfRenderer, LinesRenderer]

    @extend_schema(
        parameters=[OpenApiParameter("format", str, enum=["json", "pdf", "csv"], description="Or send Accept")],
        responses={
            (200, "application/json"): StatementOut,
            (200, "application/pdf"): OpenApiTypes.BINARY,
            (200, "text/csv"): OpenApiTypes.STR,
        },
        summary="A guest's account, entry by entry, and its balance",
    )
    def get(self, request, pk):
        guest = get_object_or_404(queries.guests_visible_to(request.user), pk=pk)
        if guest.user_id != request.user.pk:
            require_role(request.user, guest.fishery, Role.OWNER)
        now = timezone.now()
        statement = accounts.statement(guest, now=now)
        kind = request.accepted_renderer.format
        if kind == "json":
            return Response(StatementOut(statement).data, headers=PRIVATE)
        made = accounts.printed(statement, now=now) if kind == "pdf" else paper.lines(statement)
        named = {"Content-Disposition": f'attachment; filename="statement-{guest.pk}.{kind}"'}
        return Response(made, headers=named | PRIVATE)


def _takings(request, slug: str) -> tuple[Fishery, dict]:
    fishery = fishery_at(request, slug, Role.OWNER)
    year = read_query(YearIn, request)["year"]
    return fishery, accounts.takings(fishery, year, today=local_day(fishery, timezone.now()))


class Takings(APIView):
    """For the owner."""

    @extend_schema(parameters=[YearIn], responses=TakingsOut, summary="Takings and what is to come, by month")
    def get(self, request, slug):
        _, told = _takings(request, slug)
        return Response(TakingsOut(told).data)


class TakingsPicture(APIView):
    """For the owner."""

    renderer_classes = [PictureRenderer]

    @extend_schema(
        parameters=[YearIn],
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        summary="Takings by month, as a picture",
    )
    def get(self, request, slug):
        fishery, told = _takings(request, slug)
        title = f"{fishery.name}, {told['year']}"
        made = takings.picture(title, told["months"], currency=told["currency"])
        return Response(made, headers=NOTHING_FETCHED | PRIVATE)
