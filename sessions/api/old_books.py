"""Old books: look at what a file would bring in, bring it in, take it out again."""

import hashlib
from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import exceptions
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.queries import Role
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.once import Once
from beats.shared.rest import (
    MAX_BODY_BYTES,
    BoundedFormParser,
    TooLarge,
    VisibleMixin,
    answer,
    once_of,
    read_input,
    read_json,
)
from sessions.models import OldBook
from sessions.old_books.plan import Plan
from sessions.queries import old_books_visible_to
from sessions.serializers.book import ReasonIn
from sessions.serializers.old_books import OldBookIn, OldBookLookOut, OldBookOut
from sessions.services.old_books import bring_in, look_at, take_out

FORM = {"multipart/form-data": OldBookIn}


def _asked(request) -> dict[str, Any]:
    """The file's bytes, its name, and the plan."""
    form = {name: request.data.get(name) for name in request.data}
    told = form.get("plan")
    if told is not None and not isinstance(told, str):
        raise exceptions.ValidationError(
            {"plan": ["Send the plan as JSON, and the file as the part called file."]}
        )
    if told is not None:
        if len(told) > MAX_BODY_BYTES:
            raise TooLarge("The plan is too large. It names columns and words, not fish.")
        form["plan"] = read_json(told.encode())
    facts = read_input(OldBookIn, request, form)
    return {"data": facts["file"].read(), "plan": Plan(**facts["plan"]), "name": facts["file"].name}


def _once(request, asked: dict[str, Any]) -> Once | None:
    """The key, tied to what is in the file and not to its name alone."""
    once = once_of(request)
    told = [request.method, request.path, hashlib.sha256(asked["data"]).hexdigest(), str(asked["plan"])]
    return Once.of(once.key, told) if once else None


class OldBooks(VisibleMixin, ListAPIView):
    """The old books brought in, newest first. For the owner."""

    queryset = OldBook.objects.none()
    serializer_class = OldBookOut
    parser_classes = [BoundedFormParser]
    filterset_fields: list[str] = []
    once = True

    def visible(self):
        return fishery_at(self.request, self.kwargs["slug"], Role.OWNER).old_books.all()

    @extend_schema(
        request=FORM,
        responses={201: OldBookOut, 200: OldBookOut},
        summary="Bring an old book in, whole or not at all",
    )
    def post(self, request, slug):
        fishery, asked = fishery_at(request, slug, Role.OWNER), _asked(request)
        book, made = bring_in(fishery, **asked, by=request.user, now=timezone.now(), once=_once(request, asked))
        return answer(OldBookOut, book, made=made)


class OldBookLook(APIView):
    """The same as bringing it in, undone: faults and doubts by row, and what each season would come to."""

    parser_classes = [BoundedFormParser]

    @extend_schema(request=FORM, responses=OldBookLookOut, summary="Look at what an old book would bring in")
    def post(self, request, slug):
        fishery = fishery_at(request, slug, Role.OWNER)
        return Response(
            OldBookLookOut(look_at(fishery, **_asked(request), by=request.user, now=timezone.now())).data
        )


class OldBookTakeOut(IdempotentPostMixin, APIView):
    @extend_schema(request=ReasonIn, responses=OldBookOut, summary="Strike out all that came with an old book")
    def post(self, request, pk):
        book = get_object_or_404(old_books_visible_to(request.user), pk=pk)
        facts = read_input(ReasonIn, request)
        return answer(OldBookOut, take_out(book, **facts, by=request.user, now=timezone.now()))
