"""The day on the wire: rota, outings, catches, returns."""

from decimal import Decimal

from rest_framework import serializers

from beats.shared.rest import Day, Instant, Number, Ref, StrictSerializer
from sessions.models import Catch, Rota
from sessions.monthly import CLASSES


class RotaIn(StrictSerializer):
    beat = Ref()
    first_on = Day(help_text="The Monday")
    level_m = Number(
        min_value=-50, max_value=500, required=False, help_text="Level to expect, in metres on the gauge"
    )


class TurnOut(serializers.Serializer):
    id = serializers.IntegerField()
    rota = serializers.IntegerField(source="rota_id")
    day = serializers.DateField()
    part = serializers.CharField(source="part.slug")
    starts = serializers.TimeField(source="part.starts")
    ends = serializers.TimeField(source="part.ends")
    rod = serializers.IntegerField()
    guest = serializers.IntegerField(source="guest_id", allow_null=True)
    guest_name = serializers.CharField(source="guest.name", default=None, allow_null=True)
    pool = serializers.IntegerField(source="pool_id")
    pool_name = serializers.CharField(source="pool.name")


class RotaOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    first_on = serializers.DateField()
    version = serializers.IntegerField()
    status = serializers.ChoiceField(choices=Rota.Status.choices)
    made_at = serializers.DateTimeField()
    published_at = serializers.DateTimeField(allow_null=True)


class GoalOut(serializers.Serializer):
    name = serializers.CharField()
    value = serializers.FloatField()
    bound = serializers.FloatField(help_text="What no rota can pass")
    proven = serializers.BooleanField()


class RodWorthOut(serializers.Serializer):
    rod = serializers.CharField()
    worth_per_turn = serializers.FloatField()


class CertificateOut(serializers.Serializer):
    """How good the rota is and how sure that is."""

    status = serializers.CharField(help_text="proven best, or best found")
    goals = GoalOut(many=True)
    worth_by_rod = RodWorthOut(many=True)
    second_visits = serializers.IntegerField()
    closed_pools = serializers.DictField(child=serializers.ListField(child=serializers.CharField()))
    notes = serializers.ListField(child=serializers.CharField())


class RotaDetailOut(RotaOut):
    """With the certificate for keepers, and the turns you may see: a guest sees their own line."""

    certificate = CertificateOut(allow_null=True)
    turns = TurnOut(many=True, source="seen_turns")


class CheckInIn(StrictSerializer):
    guest = Ref()
    beat = Ref()
    pool = Ref(required=False, allow_null=True, default=None)
    alone = serializers.BooleanField()
    due_back_at = Instant(help_text="When you will be out of the water, with its offset from UTC")
    plan = serializers.CharField(max_length=300, allow_blank=True, default="")


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


class CatchIn(StrictSerializer):
    beat = Ref()
    pool = Ref(required=False, allow_null=True, default=None)
    guest = Ref(required=False, allow_null=True, default=None)
    caught_at = Instant()
    kind = serializers.ChoiceField(choices=Catch.Kind.choices)
    fate = serializers.ChoiceField(choices=Catch.Fate.choices)
    weight_kg = serializers.DecimalField(
        max_digits=5,
        decimal_places=2,
        min_value=Decimal("0.01"),
        max_value=60,
        required=False,
        allow_null=True,
        default=None,
    )
    length_cm = serializers.DecimalField(
        max_digits=4,
        decimal_places=1,
        min_value=Decimal("0.1"),
        max_value=200,
        required=False,
        allow_null=True,
        default=None,
    )
    fly = serializers.CharField(max_length=80, allow_blank=True, default="")


class CatchOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    pool = serializers.IntegerField(source="pool_id", allow_null=True)
    guest = serializers.IntegerField(source="guest_id", allow_null=True)
    caught_at = serializers.DateTimeField()
    caught_on = serializers.DateField()
    kind = serializers.ChoiceField(choices=Catch.Kind.choices)
    fate = serializers.ChoiceField(choices=Catch.Fate.choices)
    weight_kg = serializers.DecimalField(max_digits=5, decimal_places=2, allow_null=True)
    length_cm = serializers.DecimalField(max_digits=4, decimal_places=1, allow_null=True)
    fly = serializers.CharField()


class NotedCatchOut(CatchOut):
    cautions = serializers.ListField(child=serializers.CharField())


class CellOut(serializers.Serializer):
    number = serializers.IntegerField()
    weight_kg = serializers.DecimalField(max_digits=12, decimal_places=2)
    unweighed = serializers.IntegerField()


class ClassesOut(serializers.Serializer):
    """A cell for each class."""

    def get_fields(self):
        return {kind: CellOut() for kind in CLASSES}


class FatesOut(serializers.Serializer):
    kept = ClassesOut()
    released = ClassesOut()


class MonthOut(serializers.Serializer):
    month = serializers.IntegerField()
    name = serializers.CharField()
    rod_days = serializers.IntegerField()
    catch = FatesOut(source="cells")


class ReturnOut(serializers.Serializer):
    fishery = serializers.CharField(source="fishery.slug")
    season = serializers.IntegerField(source="year")
    state = serializers.ChoiceField(choices=["nil", "data"])
    first_on = serializers.DateField(source="season.first_on", default=None, allow_null=True)
    last_on = serializers.DateField(source="season.last_on", default=None, allow_null=True)
    months = MonthOut(many=True)
    rod_days = serializers.IntegerField()
    rod_days_checked_in = serializers.IntegerField()
    totals = FatesOut()
    notes = serializers.ListField(child=serializers.CharField())
