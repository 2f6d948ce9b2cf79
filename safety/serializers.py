"""Alarms on the wire."""

from rest_framework import serializers

from safety.models import Delivery


class DeliveryOut(serializers.Serializer):
    about = serializers.ChoiceField(choices=Delivery.About.choices)
    channel = serializers.ChoiceField(choices=Delivery.Channel.choices)
    recipient = serializers.CharField()
    state = serializers.ChoiceField(choices=Delivery.State.choices)
    attempts = serializers.IntegerField()
    sent_at = serializers.DateTimeField(allow_null=True)
    last_fault = serializers.CharField()


class AlarmOut(serializers.Serializer):
    id = serializers.IntegerField()
    outing = serializers.IntegerField(source="outing_id")
    guest_name = serializers.CharField(source="outing.guest.name")
    phone = serializers.CharField(source="outing.guest.phone")
    beat_name = serializers.CharField(source="outing.beat.name")
    pool_name = serializers.CharField(source="outing.pool.name", default=None, allow_null=True)
    alone = serializers.BooleanField(source="outing.alone")
    deadline_number = serializers.IntegerField()
    stage = serializers.IntegerField()
    due_back_at = serializers.DateTimeField()
    raised_at = serializers.DateTimeField()
    cleared_at = serializers.DateTimeField(allow_null=True)
    deliveries = DeliveryOut(many=True, source="deliveries.all")
