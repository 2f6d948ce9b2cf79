"""Invitations: entries of guest lists that name the caller's e-mail address."""

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.views import APIView

from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.rest import VisibleMixin, answer
from beats.shared.wall import lowered
from bookings import queries
from bookings.models import Guest
from bookings.services.invitations import accept_invitation, decline_invitation


class InvitationOut(serializers.Serializer):
    id = serializers.IntegerField(help_text="Once accepted, the id of your entry as a guest")
    fishery = serializers.CharField(source="fishery.slug")
    fishery_name = serializers.CharField(source="fishery.name")
    status = serializers.ChoiceField(choices=["open", "declined", "accepted"], source="invitation")


class Invitations(VisibleMixin, ListAPIView):
    """Fisheries that entered you as a guest by your e-mail address, until you accept."""

    queryset = Guest.objects.none()
    visible_to = queries.invitations_to
    serializer_class = InvitationOut

    def list(self, request, *args, **kwargs):
        with lowered():  # the caller has no part at these fisheries yet
            return super().list(request, *args, **kwargs)


class _Answer(IdempotentPostMixin, APIView):
    def answered(self, act, pk: int):
        try:
            return answer(InvitationOut, act(pk, by=self.request.user, now=timezone.now()))
        except Guest.DoesNotExist:
            raise Http404 from None


class InvitationAccept(_Answer):
    @extend_schema(request=None, responses=InvitationOut, summary="Accept: become a guest of the fishery")
    def post(self, request, pk):  # noqa: ARG002
        return self.answered(accept_invitation, pk)


class InvitationDecline(_Answer):
    @extend_schema(request=None, responses=InvitationOut, summary="Decline; you may still accept later")
    def post(self, request, pk):  # noqa: ARG002
        return self.answered(decline_invitation, pk)
