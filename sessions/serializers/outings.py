"""Outings on the wire."""

from rest_framework import serializers

from beats.shared.plain_lists import CodeList
from beats.shared.rest import Instant, Ref, StrictSerializer
from sessions.models import OutingEntry
from sessions.watch_limits import WatchLimit


class ReportIn(StrictSerializer):
    """Who told the keeper that enters this, where they did not see it themselves. For keepers alone."""

    reported_by = serializers.CharField(
        max_length=80, allow_blank=True, default="", help_text="Who told the keeper, such as who rang"
    )
    reported_via = serializers.ChoiceField(
        choices=OutingEntry.Via.choices, allow_blank=True, default="", help_text="By what they told the keeper"
    )


class CheckInIn(ReportIn):
    guest = Ref()
    beat = Ref()
    pool = Ref(required=False, allow_null=True, default=None)
    alone = serializers.BooleanField()
    due_back_at = Instant(help_text="When you will be off the water, with its offset from UTC")
    plan = serializers.CharField(max_length=300, allow_blank=True, default="")
    party = serializers.IntegerField(
        min_value=1, max_value=20, default=1, help_text="How many are with you, you included"
    )
    vehicle = serializers.CharField(
        max_length=80, allow_blank=True, default="", help_text="Make, colour, number plate"
    )
    wearing = serializers.CharField(
        max_length=120, allow_blank=True, default="", help_text="Clothes, life jacket, wading staff"
    )
    meeting_person = serializers.CharField(
        max_length=120, allow_blank=True, default="", help_text="Who expects you off the water, and where"
    )
    meeting_at = Instant(
        required=False, allow_null=True, default=None,
        help_text="When that person expects you; it moves no deadline",
    )  # fmt: skip
    said_at = Instant(
        required=False, allow_null=True, default=None,
        help_text="When it was entered on a phone that had to wait for signal",
    )  # fmt: skip
    sea_trout_only = serializers.BooleanField(
        default=False, help_text="Not for salmon: no rod-day, if none is caught"
    )


class EnteredIn(StrictSerializer):
    """What was entered on a phone that had to wait for signal says when."""

    said_at = Instant(
        required=False, allow_null=True, default=None,
        help_text="When it was entered; left out: now. At most seven days ago",
    )  # fmt: skip


class CheckOutIn(EnteredIn, ReportIn):
    """When it was entered, and who told the keeper that enters it."""


class TimeBackIn(EnteredIn, ReportIn):
    due_back_at = Instant()


class MoreTimeIn(ReportIn):
    minutes = serializers.IntegerField(min_value=1, max_value=240, default=30)


class MeetingIn(StrictSerializer):
    meeting_person = serializers.CharField(
        max_length=120, allow_blank=True, help_text="Who expects the angler off the water, and where"
    )
    meeting_at = Instant(required=False, allow_null=True, default=None)


class PlanIn(StrictSerializer):
    guest = Ref()
    beat = Ref()
    pool = Ref(required=False, allow_null=True, default=None)
    alone = serializers.BooleanField()
    out_at = Instant(help_text="When you mean to begin; the watch begins then by itself")
    due_back_at = Instant()
    plan = serializers.CharField(max_length=300, allow_blank=True, default="")


class PlanOut(serializers.Serializer):
    id = serializers.IntegerField()
    guest = serializers.IntegerField(source="guest_id")
    guest_name = serializers.CharField(source="guest.name")
    beat = serializers.IntegerField(source="beat_id")
    pool = serializers.IntegerField(source="pool_id", allow_null=True)
    alone = serializers.BooleanField()
    plan = serializers.CharField()
    out_at = serializers.DateTimeField()
    due_back_at = serializers.DateTimeField()
    called_off_at = serializers.DateTimeField(allow_null=True)
    outing = serializers.IntegerField(source="outing_id", allow_null=True, help_text="What it began by itself")


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
    heard_at = serializers.DateTimeField(allow_null=True)
    contact_due_at = serializers.DateTimeField(
        allow_null=True, help_text="When a lone angler who said nothing is asked; the time back may come before it"
    )
    code = serializers.CharField(help_text="Said in a text message, to show which outing")
    party = serializers.IntegerField()
    unconfirmed = serializers.BooleanField(help_text="Begun by its plan: no check-in has come yet")
    watched_by_time_only = serializers.BooleanField(help_text="Nobody can ring the angler")
    watch_limits = CodeList(
        child=serializers.ChoiceField(choices=[(limit.value, limit.value) for limit in WatchLimit]),
        help_text="What the watch could not do at check-in",
    )
    meeting_person = serializers.CharField(help_text="Who expects the angler off the water")
    meeting_at = serializers.DateTimeField(allow_null=True)


class CheckedInOut(OutingOut):
    """The outing, and what the angler should be told now."""

    watched_how = serializers.ListField(
        child=serializers.CharField(), help_text="What the watch cannot do for this angler now, in sentences"
    )
    told = serializers.ListField(child=serializers.CharField())


class TallyOut(OutingOut):
    standing = serializers.ChoiceField(choices=["out", "late", "overdue", "back"])
    phone = serializers.CharField(source="guest.phone")
