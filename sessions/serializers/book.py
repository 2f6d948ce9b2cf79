"""Fish on the wire."""

from decimal import Decimal

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from beats.shared.rest import Instant, Number, Ref, StrictSerializer
from beats.water.feeds.levels import COLDEST_C, HIGHEST_M, LOWEST_M, WARMEST_C
from sessions.models import Catch
from sessions.weights import from_length


def _size(*, digits: int, places: int, least: str, most: int) -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=digits, decimal_places=places, min_value=Decimal(least), max_value=most,
        required=False, allow_null=True,
    )  # fmt: skip


def _one_of(choices, **kwargs) -> serializers.ChoiceField:
    return serializers.ChoiceField(choices=choices, required=False, allow_blank=True, **kwargs)


class FishIn(StrictSerializer):
    """A fish of an angler who is known already. What is left out is not known, or the gauge knows it."""

    pool = Ref(required=False, allow_null=True, default=None)
    caught_at = Instant()
    kind = serializers.ChoiceField(choices=Catch.Kind.choices)
    fate = serializers.ChoiceField(choices=Catch.Fate.choices)
    weight_kg = _size(digits=5, places=2, least="0.01", most=60)
    weight_how = _one_of(Catch.WeightHow.choices, help_text="from_length: leave weight_kg out, it is reckoned")
    length_cm = _size(digits=4, places=1, least="0.1", most=200)
    length_how = _one_of(Catch.LengthHow.choices)
    fly = serializers.CharField(max_length=80, allow_blank=True, required=False)
    method = _one_of(Catch.Method.choices)
    condition = _one_of(Catch.Condition.choices)
    sex = _one_of(Catch.Sex.choices)
    part = serializers.SlugField(required=False, allow_blank=True, help_text="Else told from the time")
    level_m = Number(min_value=LOWEST_M, max_value=HIGHEST_M, required=False, help_text="Else from the gauge")
    water_c = Number(min_value=COLDEST_C, max_value=WARMEST_C, required=False, help_text="Else from the gauge")
    tag = serializers.CharField(max_length=40, allow_blank=True, required=False)
    scale_sample = serializers.BooleanField(required=False)
    note = serializers.CharField(max_length=300, allow_blank=True, required=False)


class CatchIn(FishIn):
    beat = Ref()
    guest = Ref(required=False, allow_null=True, default=None)


class ManyFishIn(StrictSerializer):
    fish = serializers.ListField(child=FishIn(), min_length=1, max_length=40)


class CatchChange(FishIn):
    """Only what changes, and why."""

    reason = serializers.CharField(max_length=200)

    def get_fields(self):
        fields = super().get_fields()
        for name, field in fields.items():
            field.required = name == "reason"
            if name == "pool":
                field.default = serializers.empty
        return fields

    def validate(self, attrs):
        if set(attrs) == {"reason"}:
            raise serializers.ValidationError({"reason": ["Say what changes, too."]})
        return attrs


class ReasonIn(StrictSerializer):
    reason = serializers.CharField(max_length=200)


class EstimateOut(serializers.Serializer):
    low = serializers.DecimalField(max_digits=6, decimal_places=2)
    middle = serializers.DecimalField(max_digits=6, decimal_places=2)
    high = serializers.DecimalField(max_digits=6, decimal_places=2)
    words = serializers.CharField()


class CatchOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    pool = serializers.IntegerField(source="pool_id", allow_null=True)
    guest = serializers.IntegerField(source="guest_id", allow_null=True)
    outing = serializers.IntegerField(source="outing_id", allow_null=True)
    caught_at = serializers.DateTimeField()
    caught_on = serializers.DateField()
    kind = serializers.ChoiceField(choices=Catch.Kind.choices)
    fate = serializers.ChoiceField(choices=Catch.Fate.choices)
    weight_kg = serializers.DecimalField(max_digits=5, decimal_places=2, allow_null=True)
    weight_how = serializers.CharField(help_text="weighed, estimated or from_length; empty when nobody said")
    weight_from_length = serializers.SerializerMethodField()
    length_cm = serializers.DecimalField(max_digits=4, decimal_places=1, allow_null=True)
    length_how = serializers.CharField(help_text="measured or estimated; empty when nobody said")
    fly = serializers.CharField()
    method = serializers.CharField(help_text="fly, spinner, bait or other; empty when nobody said")
    condition = serializers.CharField()
    sex = serializers.CharField()
    part = serializers.CharField()
    level_m = serializers.FloatField(allow_null=True)
    water_c = serializers.FloatField(allow_null=True)
    level_read_at = serializers.DateTimeField(allow_null=True)
    tag = serializers.CharField()
    scale_sample = serializers.BooleanField()
    note = serializers.CharField()
    flag = serializers.CharField(help_text="What the law has against it; empty for an ordinary fish")
    version = serializers.IntegerField()
    struck_out_at = serializers.DateTimeField(allow_null=True)
    old_book = serializers.IntegerField(source="old_book_id", allow_null=True, help_text="It was brought in with")
    old_row = serializers.IntegerField(allow_null=True, help_text="Its row in that file")

    @extend_schema_field(EstimateOut(allow_null=True))
    def get_weight_from_length(self, fish):
        """A range where the fish was not weighed and the length is known."""
        if fish.length_cm is None or fish.weight_how == Catch.WeightHow.WEIGHED:
            return None
        return EstimateOut(from_length(fish.length_cm)).data


class NotedCatchOut(CatchOut):
    cautions = serializers.ListField(child=serializers.CharField())


class CatchTotalOut(serializers.Serializer):
    kind = serializers.ChoiceField(choices=Catch.Kind.choices)
    fate = serializers.ChoiceField(choices=Catch.Fate.choices)
    number = serializers.IntegerField()
    weight_kg = serializers.DecimalField(max_digits=12, decimal_places=2, source="total_kg", allow_null=True)
    unweighed = serializers.IntegerField()


class TableSchemaOut(serializers.Serializer):
    schema = serializers.DictField()
    dialect = serializers.DictField()


class CatchEventOut(serializers.Serializer):
    """What was done to a fish."""

    at = serializers.DateTimeField()
    by = serializers.IntegerField(source="by_id", allow_null=True)
    verb = serializers.CharField()
    before = serializers.DictField(allow_null=True)
    after = serializers.DictField(allow_null=True)
