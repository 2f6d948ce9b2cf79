"""What keepers send about a day on the water, and what becomes of it."""

from rest_framework import serializers

from beats.models.water import CLARITIES
from beats.serializers.day import Maybe
from beats.shared.rest import Instant, Number, StrictSerializer
from beats.water.feeds.levels import COLDEST_C, WARMEST_C
from beats.water.wind import FASTEST_MPS


class TrustIn(StrictSerializer):
    trusted = serializers.BooleanField(help_text="true: I vouch for this reading; false: do not believe it")


class ObservationIn(StrictSerializer):
    """At least one of the things seen; a wind has both its bearing and its speed."""

    at = Instant(required=False, help_text="When it was seen; now, if left out")
    wind_from_deg = Number(min_value=0, max_value=360, required=False, help_text="The bearing it comes from")
    wind_mps = Number(min_value=0, max_value=FASTEST_MPS, required=False, help_text="Metres a second")
    thunder = serializers.BooleanField(required=False)
    clarity = serializers.ChoiceField(choices=CLARITIES, required=False)
    water_c = Number(min_value=COLDEST_C, max_value=WARMEST_C, required=False, help_text="Degrees Celsius")

    def validate(self, attrs):
        if not set(attrs) - {"at"}:
            text = "Say what you saw: wind_from_deg and wind_mps, thunder, clarity or water_c."
            raise serializers.ValidationError(text)
        for one, other in (("wind_from_deg", "wind_mps"), ("wind_mps", "wind_from_deg")):
            if one in attrs and other not in attrs:
                raise serializers.ValidationError({other: [f"Goes with {one}; give both."]})
        return attrs


class ObservationOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    at = serializers.DateTimeField()
    wind_from_deg = Maybe()
    wind_mps = Maybe()
    thunder = serializers.BooleanField(allow_null=True)
    clarity = serializers.ChoiceField(choices=CLARITIES, allow_null=True)
    water_c = Maybe()


class TidesOut(serializers.Serializer):
    """What became of a tide table."""

    waters = serializers.IntegerField()
    changed = serializers.IntegerField(help_text="New, or other than before")
    first_at = serializers.DateTimeField()
    last_at = serializers.DateTimeField()
