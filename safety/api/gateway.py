"""Where the gateway tells us of receipts and of texts from anglers. It signs; it has no token."""

import json

from django.conf import settings
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import exceptions
from rest_framework.parsers import BaseParser
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.shared.rest import MAX_BODY_BYTES, TooLarge
from safety import signing
from safety.serializers import GatewayEventIn, GatewayToldOut
from safety.services.gateway import KINDS, Told, take_event


class SignedParser(BaseParser):
    """The bytes as they came: the signature is over them, not over what they mean."""

    media_type = "application/json"

    def parse(self, stream, media_type=None, parser_context=None) -> bytes:  # noqa: ARG002
        body = stream.read(MAX_BODY_BYTES + 1)
        if len(body) > MAX_BODY_BYTES:
            raise TooLarge
        return body


class GatewayEvents(APIView):
    """Signed by the Standard Webhooks specification; told again, an event changes nothing."""

    authentication_classes = []
    permission_classes = []
    parser_classes = [SignedParser]

    @extend_schema(request=GatewayEventIn, responses=GatewayToldOut, summary="Tell of a receipt or a text")
    def post(self, request):
        body, now = request.data or b"", timezone.now()
        given = {
            name: request.headers.get(name, "") for name in (signing.ID, signing.TIMESTAMP, signing.SIGNATURE)
        }
        webhook_id = signing.verified(settings.GATEWAY_SECRETS, given=given, body=bytes(body), now=now)
        event = _read(body)
        if event["type"] not in KINDS:
            return Response(GatewayToldOut(Told("not for us")).data)
        return Response(GatewayToldOut(take_event(webhook_id, event["type"], event["data"], now=now)).data)


def _read(body: bytes) -> dict:
    try:
        facts = json.loads(body)
    except (ValueError, RecursionError):
        raise exceptions.ParseError("This is not JSON we can read.") from None
    serializer = GatewayEventIn(data=facts)
    serializer.is_valid(raise_exception=True)
    return serializer.validated_data
