"""Signed messages: hooks of ours to others, and theirs to us about payments."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import exceptions
from rest_framework.authentication import BaseAuthentication
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.api.addressed import fishery_at
from beats.queries import Role, require_role
from beats.shared import signing, wall
from beats.shared.rest import ByWritten, VisibleMixin, answer, once_of, read_input
from bookings import queries
from bookings.models import Hook, HookMessage, Let, PaymentKey
from bookings.services.hooks import add_hook, add_payment_key, revoke
from bookings.services.ledger import paid_by_message
from bookings.wire.money import EntryOut, PaymentMessage
from bookings.wire.papers import HookIn, HookMade, HookMessageOut, HookOut, LabelIn, PaymentKeyMade, PaymentKeyOut


class Sender:
    """A program that signed its message, where a view asks who is calling."""

    is_authenticated = True

    def __init__(self, key: PaymentKey) -> None:
        self.key = key


NO_KEY = signing.new_secret()
"""Compared with where a fishery has no key or does not exist, so that the answer and its time are the same."""


class SignatureAuthentication(BaseAuthentication):
    """Standard Webhooks: webhook-id, webhook-timestamp, webhook-signature over the body as it came.

    A stranger learns neither whether there is such a fishery nor whether it has keys.
    """

    def authenticate(self, request):
        slug = request.parser_context["kwargs"]["slug"]
        keys = PaymentKey.objects.filter(fishery__slug=slug, revoked_at__isnull=True).select_related("fishery")
        fault = ""
        for key in [*keys] or [PaymentKey(secret=NO_KEY)]:
            try:
                message_id = signing.verify(
                    key.secret,
                    message_id=request.headers.get("webhook-id"),
                    timestamp=request.headers.get("webhook-timestamp"),
                    signature=request.headers.get("webhook-signature"),
                    body=request.body,
                    now_s=int(timezone.now().timestamp()),
                )
            except signing.BadSignature as error:
                fault = str(error)
            else:
                wall.raise_around(key.fishery_id)
                return Sender(key), message_id
        raise exceptions.AuthenticationFailed(fault or "No signature fits the message and the secret.")

    def authenticate_header(self, request) -> str:  # noqa: ARG002 - DRF's signature
        return "StandardWebhooks"


class PaymentsHook(APIView):
    """Where a bank's or a payment service's program reports what was paid. Sent again, it changes nothing."""

    authentication_classes = [SignatureAuthentication]

    @extend_schema(
        request=PaymentMessage, responses={201: EntryOut, 200: EntryOut}, summary="Report a payment, signed"
    )
    def post(self, request, slug):  # noqa: ARG002 - the key is the fishery's
        body = request.body
        facts = read_input(PaymentMessage, request)["data"]
        key, now = request.user.key, timezone.now()
        lets = Let.objects.filter(beat__fishery=key.fishery_id).select_related("beat__fishery", "booker__fishery")
        let = get_object_or_404(lets, pk=facts["let"])
        entry, made = paid_by_message(key, hook_id=request.auth, body=body, let=let, facts=facts, now=now)
        return answer(EntryOut, entry, made=made)


class _OwnersList(VisibleMixin, ListAPIView):
    """Rows of one fishery that only its owner may see."""

    filterset_fields = {"label": ["exact"]}
    once = True

    def visible(self):
        fishery = fishery_at(self.request, self.kwargs["slug"])
        require_role(self.request.user, fishery, Role.OWNER)
        return self.queryset.model.objects.filter(fishery=fishery).select_related("fishery")


class Hooks(_OwnersList):
    """Where the fishery's lets are told to. For the owner."""

    queryset = Hook.objects.none()
    serializer_class = HookOut

    @extend_schema(request=HookIn, responses={201: HookMade, 200: HookMade}, summary="Be told of lets")
    def post(self, request, slug):
        facts, fishery = read_input(HookIn, request), fishery_at(request, slug)
        hook, secret, made = add_hook(fishery, **facts, by=request.user, now=timezone.now(), once=once_of(request))
        return Response(HookOut(hook).data | {"secret": secret}, status=201 if made else 200)


class HookDetail(APIView):
    @extend_schema(responses={204: None}, summary="Be told no more")
    def delete(self, request, pk):
        hook = get_object_or_404(queries.hooks_visible_to(request.user), pk=pk)
        revoke(hook, by=request.user, now=timezone.now())
        return Response(status=204)


class HookMessages(VisibleMixin, ListAPIView):
    """What was sent to a hook and what became of it, for the owner."""

    queryset = HookMessage.objects.none()
    serializer_class = HookMessageOut
    pagination_class = ByWritten
    filterset_fields = {"state": ["exact"], "event": ["exact"]}

    def visible(self):
        hook = get_object_or_404(queries.hooks_visible_to(self.request.user), pk=self.kwargs["pk"])
        require_role(self.request.user, hook.fishery, Role.OWNER)
        return hook.messages.all()


class PaymentKeys(_OwnersList):
    """Secrets of programs that report payments. For the owner."""

    queryset = PaymentKey.objects.none()
    serializer_class = PaymentKeyOut

    @extend_schema(
        request=LabelIn, responses={201: PaymentKeyMade, 200: PaymentKeyMade}, summary="Make a key for payments"
    )
    def post(self, request, slug):
        facts, fishery = read_input(LabelIn, request), fishery_at(request, slug)
        key, secret, made = add_payment_key(
            fishery, **facts, by=request.user, now=timezone.now(), once=once_of(request)
        )
        return Response(PaymentKeyOut(key).data | {"secret": secret}, status=201 if made else 200)


class PaymentKeyDetail(APIView):
    @extend_schema(responses={204: None}, summary="Revoke a key for payments")
    def delete(self, request, pk):
        key = get_object_or_404(queries.payment_keys_visible_to(request.user), pk=pk)
        revoke(key, by=request.user, now=timezone.now())
        return Response(status=204)
