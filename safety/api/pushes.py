"""Where a person's phone takes pushes, and the key a page subscribes with."""

from django.conf import settings
from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.shared.rest import VisibleMixin, answer, read_input
from safety import push, queries
from safety.models import PushAddress
from safety.serializers import PushAddressIn, PushAddressOut, PushKeyOut
from safety.services.pushes import add_push_address, drop_push_address


class PushAddresses(VisibleMixin, ListAPIView):
    """Your own phones that take pushes, newest first. A push is an extra copy, and no proof of anything."""

    queryset = PushAddress.objects.none()
    visible_to = queries.push_addresses_of
    serializer_class = PushAddressOut

    @extend_schema(
        request=PushAddressIn, responses={201: PushAddressOut, 200: PushAddressOut}, summary="Take pushes"
    )
    def post(self, request):
        facts = read_input(PushAddressIn, request)
        address, made = add_push_address(
            endpoint=facts["endpoint"], phone_key=facts["keys"]["p256dh"], auth_secret=facts["keys"]["auth"],
            label=facts["label"], by=request.user, now=timezone.now(),
        )  # fmt: skip
        return answer(PushAddressOut, address, made=made)


class PushAddressDetail(APIView):
    @extend_schema(responses={204: None}, summary="Take no more pushes")
    def delete(self, request, pk):
        address = get_object_or_404(queries.push_addresses_of(request.user), pk=pk)
        drop_push_address(address, by=request.user, now=timezone.now())
        return HttpResponse(status=204)


class PushKey(APIView):
    """The applicationServerKey of this service."""

    @extend_schema(responses=PushKeyOut, summary="The key to subscribe with")
    def get(self, _request):
        key = settings.WEB_PUSH_KEY
        return Response(PushKeyOut({"public_key": push.public_key(key) if key else ""}).data)
