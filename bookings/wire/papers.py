"""Calendars, hooks and keys on the wire."""

from rest_framework import serializers

from beats.shared.rest import Ref, StrictSerializer
from bookings.models import HookMessage, Paper


class LetterOut(serializers.Serializer):
    id = serializers.UUIDField()
    edition = serializers.IntegerField()
    recipient = serializers.CharField()
    subject = serializers.CharField()
    state = serializers.ChoiceField(choices=Paper.State.choices)
    attempts = serializers.IntegerField()
    written_at = serializers.DateTimeField()
    sent_at = serializers.DateTimeField(allow_null=True)
    last_fault = serializers.CharField()


class FeedIn(StrictSerializer):
    label = serializers.CharField(max_length=80, help_text="Where it will be read, such as: telephone")
    beat = Ref(required=False, help_text="Of one beat, for its keepers")
    guest = Ref(required=False, help_text="Of one guest: theirs and the owner's")
    fishery = serializers.SlugField(required=False, help_text="Of all the water, for you who keep it")

    def validate(self, attrs):
        if len(attrs.keys() & {"beat", "guest", "fishery"}) != 1:
            raise serializers.ValidationError({"beat": ["Give one of beat, guest and fishery."]})
        return attrs


class FeedOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    beat = serializers.IntegerField(source="beat_id", allow_null=True)
    guest = serializers.IntegerField(source="guest_id", allow_null=True)
    label = serializers.CharField()
    created_at = serializers.DateTimeField()
    revoked_at = serializers.DateTimeField(allow_null=True)
    last_used_at = serializers.DateTimeField(allow_null=True)


class FeedMade(FeedOut):
    address = serializers.CharField(
        allow_null=True,
        help_text="Give it to the calendar; whoever has it can read it. Shown this once: null on a repeat.",
    )


class HookIn(StrictSerializer):
    label = serializers.CharField(max_length=80)
    url = serializers.URLField(max_length=500, help_text="https only, on the open net")


class LabelIn(StrictSerializer):
    label = serializers.CharField(max_length=80, help_text="What will carry it")


class PaymentKeyOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    label = serializers.CharField()
    created_at = serializers.DateTimeField()
    revoked_at = serializers.DateTimeField(allow_null=True)


class PaymentKeyMade(PaymentKeyOut):
    secret = serializers.CharField(
        allow_null=True, help_text="whsec_ and base64, as Standard Webhooks has it. Shown this once."
    )


class HookOut(PaymentKeyOut):
    url = serializers.CharField()


class HookMade(HookOut):
    secret = serializers.CharField(
        allow_null=True, help_text="whsec_ and base64, as Standard Webhooks has it. Shown this once."
    )


class HookMessageOut(serializers.Serializer):
    id = serializers.UUIDField()
    event = serializers.ChoiceField(choices=HookMessage.Event.choices)
    state = serializers.ChoiceField(choices=HookMessage.State.choices)
    attempts = serializers.IntegerField()
    written_at = serializers.DateTimeField()
    sent_at = serializers.DateTimeField(allow_null=True)
    last_fault = serializers.CharField()


class EverythingOut(serializers.Serializer):
    """All that is held about one guest: by kind of thing, lists of plain rows."""

    about = serializers.IntegerField()
    told_at = serializers.DateTimeField()

    def to_representation(self, instance):
        return instance
