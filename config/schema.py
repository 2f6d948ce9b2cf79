"""What every operation in the OpenAPI document has in common."""

from functools import lru_cache

from django.urls import get_resolver
from drf_spectacular.extensions import OpenApiAuthenticationExtension, OpenApiSerializerExtension
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import get_lib_doc_excludes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse
from rest_framework import serializers

from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.plain_lists import PlainList
from beats.shared.rest import VersionedMixin, VisibleMixin
from config.idempotency import EXEMPT


class Document(SchemaGenerator):
    """The document is the same for everybody and takes a second to make: each process makes it once."""

    def get_schema(self, request=None, public=False):  # noqa: ARG002 - the library's signature
        return _document()


@lru_cache(maxsize=1)
def _document():
    return SchemaGenerator().get_schema(request=None, public=True)


def bases_that_describe_nothing() -> list[type]:
    """What these say of themselves is for whoever builds on them, not for whoever calls what was built."""
    return [*get_lib_doc_excludes(), VisibleMixin, VersionedMixin, IdempotentPostMixin, PlainList]


class ProblemSerializer(serializers.Serializer):
    """RFC 9457: what went wrong, in one sentence a person can act on."""

    type = serializers.CharField(help_text="Stable name of this kind of problem; a relative URL.")
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    errors = serializers.DictField(
        child=serializers.ListField(child=serializers.CharField()),
        required=False,
        help_text="By field, with the path of nested ones joined by dots.",
    )


class StrictInput(OpenApiSerializerExtension):
    """What refuses unknown fields says so beforehand."""

    target_class = "beats.shared.rest.StrictSerializer"
    match_subclasses = True

    def map_serializer(self, auto_schema, direction):
        made = auto_schema._map_serializer(self.target, direction, bypass_extensions=True)  # noqa: SLF001 - the library's own way
        return made | {"additionalProperties": False}


class TokenScheme(OpenApiAuthenticationExtension):
    target_class = "beats.authentication.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema):  # noqa: ARG002 - the library's signature
        return {"type": "http", "scheme": "bearer"}


class LoggerScheme(TokenScheme):
    """Where a gauge's key is taken beside a person's token."""

    target_class = "beats.authentication.LoggerAuthentication"
    name = "token-or-gauge-key"


class SignatureScheme(OpenApiAuthenticationExtension):
    """Standard Webhooks: with it go webhook-id and webhook-timestamp."""

    target_class = "bookings.api.hooks.SignatureAuthentication"
    name = "webhook-signature"

    def get_security_definition(self, auto_schema):  # noqa: ARG002 - the library's signature
        return {"type": "apiKey", "in": "header", "name": "webhook-signature"}


class BoardScheme(TokenScheme):
    """Where a district board's key is taken beside a person's token."""

    target_class = "sessions.authentication.BoardAuthentication"
    name = "token-or-board-key"


PROBLEMS = {
    "400": "The request cannot be read, or a field is wrong.",
    "401": "No valid token.",
    "403": "Your part in this fishery does not allow it.",
    "404": "No such thing, or none that you may see.",
    "409": "A rule of the water, or somebody else, came first.",
    "412": "It changed since you read it.",
    "413": "The body is too large.",
    "415": "Send JSON.",
    "422": "This Idempotency-Key was used for another request.",
    "429": "Tried too often. Wait a while.",
    "428": "Send If-Match with the version you read.",
}
KEY = {"type": "string", "minLength": 8, "maxLength": 80, "pattern": "^[ -~]+$"}
OPEN = ("400", "404")
READ = ("400", "401", "403", "404", "409", "429")
WRITE = ("400", "401", "403", "404", "409", "413", "415", "422", "429")


class RodtallySchema(AutoSchema):
    """Adds the problem documents and the two conditional headers to each operation."""

    def get_override_parameters(self):
        extra = []
        if self.method == "POST" and self._honours_keys():
            extra.append(_header("Idempotency-Key", "A UUID of yours; repeat it to retry safely.", KEY))
        if self.method in {"PATCH", "PUT"}:
            extra.append(_header("If-Match", 'The version you read, as "3".', required=True))
        if self._may_name_a_version():
            extra.append(_header("If-Match", 'The version you read, as "3". Left out: whichever stands.'))
        return extra

    def get_description(self):
        """A POST without the header says why."""
        text = super().get_description()
        reason = EXEMPT.get(_name_of(self.view)) if self.method == "POST" else None
        return f"{text}\n\nTakes no Idempotency-Key. {reason}".strip() if reason else text

    def _honours_keys(self):
        return getattr(self.view, "once", False) or isinstance(self.view, IdempotentPostMixin)

    def _may_name_a_version(self):
        return self.method == "POST" and getattr(self.view, "versioned", False)

    def _get_paginator(self):
        """Only what is read comes in pages; what a POST made comes whole."""
        return super()._get_paginator() if self.method == "GET" else None

    def _get_response_bodies(self, direction="response"):
        bodies = super()._get_response_bodies(direction)
        codes = READ if self.method == "GET" else WRITE
        if self.method == "GET" and not self.view.permission_classes and not self.view.authentication_classes:
            codes = OPEN
        if self.method in {"PATCH", "PUT"}:
            codes = (*codes, "412", "428")
        if self._may_name_a_version():
            codes = (*codes, "412")
        for code in codes:
            answer = OpenApiResponse(ProblemSerializer, PROBLEMS[code])
            bodies.setdefault(
                code,
                self._get_response_for_code(
                    answer, code, media_types=["application/problem+json"], direction=direction
                ),
            )
        return bodies


def local_times(result, **_):
    """A time of day at the river has no offset: `time-local` of the OpenAPI format registry, not RFC 3339's."""
    waiting = [result]
    while waiting:
        node = waiting.pop()
        if isinstance(node, list):
            waiting += node
        elif isinstance(node, dict):
            if node.get("format") == "time":
                node["format"] = "time-local"
            waiting += node.values()
    return result


def _name_of(view):
    """The name of the address of a view class; the document is made without a request."""
    return _names().get(type(view))


@lru_cache(maxsize=1)
def _names():
    waiting, found = list(get_resolver().url_patterns), {}
    while waiting:
        pattern = waiting.pop()
        waiting += getattr(pattern, "url_patterns", [])
        if (view_class := getattr(getattr(pattern, "callback", None), "cls", None)) is not None:
            found[view_class] = pattern.name
    return found


def _header(name, description, kind=str, *, required=False):
    return OpenApiParameter(name, kind, OpenApiParameter.HEADER, description=description, required=required)
