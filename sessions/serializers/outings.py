"""Outings on the wire."""

from rest_framework import serializers

from beats.shared.rest import Instant, Ref, StrictSerializer


class CheckInIn(StrictSerializer):
    guest = Ref()
    beat = Ref()
    pool = Ref(required=False, allow_null=True, default=None)
    alone = serializers.BooleanField()
    due_back_at = Instant(help_text="When you will be out of the water, with its offset from UTC")
    plan = serializers.CharField(max_length=300, allow_blank=True, default="")
    sea_trout_only = serializers.BooleanField(
        default=False, help_text="Not for salmon: no rod-day, if none is caught"
    )


class TimeBackIn(StrictSerializer):
    due_back_at = Instant()


class OutingOut(serializers.Serializer):
    id = serializers.IntegerField()
    guest = serializers.IntegerField(source="guest_id")
    guest_name = serializers.CharField(source="guest.name")
    beat = serializers.IntegerField(source="beat_id")
    beat_name = serializers.CharField(source="beat.name")
    pool = serializers.IntegerField(source="pool_id", allow_null=True)
    pool_name = serializers.CharField(source="pool.name", default=None, allow_null=True)
    alone = serializers.BooleanField()
    plan = serializers.CharField()
    sea_trout_only = serializers.BooleanField()
    checked_in_at = serializers.DateTimeField()
    due_back_at = serializers.DateTimeField()
    alarm_at = serializers.DateTimeField(help_text="When the keepers are told, if nothing is heard")
    deadline_number = serializers.IntegerField()
    checked_out_at = serializers.DateTimeField(allow_null=True)


class CheckedInOut(OutingOut):
    """The outing, and what the angler should be told now."""

    told = serializers.ListField(child=serializers.CharField())


class TallyOut(OutingOut):
    standing = serializers.ChoiceField(choices=["out", "late", "overdue", "back"])
    phone = serializers.CharField(source="guest.phone")
