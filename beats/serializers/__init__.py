"""The water on the wire."""

from rest_framework import serializers

from beats.models import Gauge, Membership, Pool, Reading
from beats.models.water import CLARITIES
from beats.season import Status
from beats.shared.rest import Day, Instant, Number, StrictSerializer
from beats.water.feeds.levels import COLDEST_C, HIGHEST_M, LOWEST_M, WARMEST_C
from beats.water.lies import Feature

FEATURES = [(feature.value, feature.value) for feature in Feature]
STATUSES = [(kind.value, kind.value) for kind in Status]


class MembershipOut(serializers.Serializer):
    fishery = serializers.CharField(source="fishery.slug")
    name = serializers.CharField(source="fishery.name")
    role = serializers.ChoiceField(choices=Membership.Role.choices)


class MeOut(serializers.Serializer):
    email = serializers.EmailField()
    name = serializers.CharField()
    parts = MembershipOut(many=True, source="memberships.all")


class FisheryOut(serializers.Serializer):
    slug = serializers.SlugField()
    name = serializers.CharField()
    river = serializers.CharField()
    time_zone = serializers.CharField()
    district = serializers.CharField(help_text="Entry in the schedule of SSI 2014/327")
    latitude = serializers.FloatField()
    longitude = serializers.FloatField()
    phone = serializers.CharField()
    rota_policy = serializers.CharField(help_text="all-the-water or best-water")
    drought = serializers.BooleanField()
    care_c = serializers.FloatField(help_text="Extra care of a released fish from here, in degrees Celsius")
    stop_c = serializers.FloatField(help_text="Stop fishing for salmon from here")
    drought_stop_c = serializers.FloatField(help_text="Stop from here in a drought")


class BeatOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    slug = serializers.SlugField()
    name = serializers.CharField()
    order = serializers.IntegerField()
    rods = serializers.IntegerField()
    boats = serializers.IntegerField()
    ghillies = serializers.IntegerField()
    tidal = serializers.BooleanField()
    mobile_signal = serializers.CharField()
    meeting_point = serializers.CharField()
    longest_outing_minutes = serializers.IntegerField()
    grace_minutes = serializers.IntegerField()
    lone_grace_minutes = serializers.IntegerField()
    rise_m_per_h = serializers.FloatField(
        allow_null=True, help_text="Rising so fast is time to come off the water"
    )
    dark_margin_minutes = serializers.IntegerField(help_text="Off the water so long before last light")
    cold_c = serializers.FloatField(help_text="Water counts as cold from here down")
    clarity = serializers.ChoiceField(choices=CLARITIES, allow_null=True, help_text="As it usually is")
    tide_lag_days = serializers.FloatField(help_text="From new and full moon to springs at its port")
    gauge = serializers.IntegerField(source="gauge_id", allow_null=True)


class FlowRowOut(serializers.Serializer):
    level_m = serializers.FloatField()
    depth_m = serializers.FloatField()
    velocity_mps = serializers.FloatField()


class WordOut(serializers.Serializer):
    text = serializers.CharField()
    by = serializers.CharField()


class PoolOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    slug = serializers.SlugField()
    name = serializers.CharField()
    order = serializers.IntegerField()
    bank = serializers.ChoiceField(choices=Pool.Bank.choices)
    flow_bearing_deg = serializers.FloatField()
    length_m = serializers.FloatField()
    width_m = serializers.FloatField()
    depth_m = serializers.FloatField()
    velocity_mps = serializers.FloatField()
    reference_level_m = serializers.FloatField(allow_null=True)
    depth_per_level = serializers.FloatField(allow_null=True, help_text="null is 1")
    velocity_exponent = serializers.FloatField(allow_null=True, help_text="null is Manning's 2/3")
    velocity_factor = serializers.FloatField(allow_null=True, help_text="null is 1")
    flow_table = FlowRowOut(many=True, help_text="Measured at the pool; replaces the rule")
    features = serializers.ListField(child=serializers.ChoiceField(choices=FEATURES))
    tackle_words = serializers.DictField(child=WordOut(), help_text="A ghillie's, by what they are about")
    wading_depth_m = serializers.FloatField(allow_null=True, help_text="Where an angler stands; null is depth_m")
    wading_velocity_mps = serializers.FloatField(allow_null=True, help_text="Likewise; null is velocity_mps")
    cut_off_above_m = serializers.FloatField(allow_null=True, help_text="Height of the tide that cuts it off")
    rods_at_once = serializers.IntegerField()
    wading_grade = serializers.IntegerField()
    wading = serializers.CharField(source="get_wading_grade_display")
    boat = serializers.BooleanField()
    ghillie = serializers.BooleanField(help_text="Fished only with a ghillie by")
    level_min_m = serializers.FloatField(allow_null=True)
    level_max_m = serializers.FloatField(allow_null=True)
    step_m = serializers.FloatField(allow_null=True, help_text="Between casts; null is common practice")
    cycle_s = serializers.FloatField(
        allow_null=True, help_text="Seconds for one cast, its swing and the line gathered; null is common practice"
    )
    short_casts = serializers.IntegerField(
        allow_null=True, help_text="At the neck, lengthening the line; null is common practice"
    )
    behind_m = serializers.FloatField(
        allow_null=True, help_text="What the next rod leaves to the one in front; null is common practice"
    )
    worth = serializers.IntegerField()
    worth_by_part = serializers.DictField(child=serializers.IntegerField())
    latitude = serializers.FloatField(allow_null=True)
    longitude = serializers.FloatField(allow_null=True)
    access = serializers.CharField()
    retired = serializers.BooleanField()


class ClosureIn(StrictSerializer):
    from_on = Day()
    to_on = Day()
    reason = serializers.CharField(max_length=200)

    def validate(self, attrs):
        if attrs["to_on"] < attrs["from_on"]:
            raise serializers.ValidationError({"to_on": ["Is before from_on; swap them."]})
        return attrs


class ClosureOut(serializers.Serializer):
    id = serializers.IntegerField()
    pool = serializers.IntegerField(source="pool_id")
    from_on = serializers.DateField()
    to_on = serializers.DateField()
    reason = serializers.CharField()


class GaugeOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    slug = serializers.SlugField()
    name = serializers.CharField()
    typical_low_m = serializers.FloatField(allow_null=True)
    typical_high_m = serializers.FloatField(allow_null=True)
    stale_after_minutes = serializers.IntegerField()
    jump_m = serializers.FloatField(help_text="More than this in a quarter of an hour is not believed")
    fall_step_m = serializers.FloatField(help_text="A larger fall in a quarter of an hour must be confirmed")
    confirm_readings = serializers.IntegerField(
        help_text="Further readings that confirm a fall, or a level after a silence"
    )
    flat_after_hours = serializers.IntegerField(help_text="Flat for so long, it may be stuck")
    lowest_m = serializers.FloatField(allow_null=True, help_text="Lowest level believed so far")
    highest_m = serializers.FloatField(allow_null=True, help_text="Highest level believed so far")
    feed_kind = serializers.ChoiceField(choices=Gauge.Feed.choices, allow_null=True)
    polled_at = serializers.DateTimeField(allow_null=True, help_text="When its feed was last asked")
    poll_failures = serializers.IntegerField(help_text="In a row; 0 when the last fetching came off")
    poll_fault = serializers.CharField(allow_null=True, help_text="Why the last fetching brought nothing")
    poll_notes = serializers.CharField(allow_null=True, help_text="What was left out of the last answer")
    attribution = serializers.CharField(allow_null=True, help_text="To be shown wherever its levels are")


CONFIRMED = "A person has looked again: a level far outside the gauge's history is refused without it"


class LevelIn(StrictSerializer):
    level_m = Number(min_value=LOWEST_M, max_value=HIGHEST_M, help_text="Metres on the gauge")
    water_c = Number(
        min_value=COLDEST_C, max_value=WARMEST_C, required=False, allow_null=True, help_text="Degrees Celsius"
    )


class ReadingIn(LevelIn):
    at = Instant(required=False, help_text="When it was read; now, if left out")
    confirmed = serializers.BooleanField(default=False, help_text=CONFIRMED)


class CorrectionIn(StrictSerializer):
    """The level that a reading should have had."""

    level_m = Number(min_value=LOWEST_M, max_value=HIGHEST_M, help_text="Metres on the gauge")
    confirmed = serializers.BooleanField(default=False, help_text=CONFIRMED)


class TimedReadingIn(LevelIn):
    at = Instant(help_text="When it was read")


class ReadingsIn(StrictSerializer):
    readings = serializers.ListField(child=TimedReadingIn(), min_length=1, max_length=1000)
    confirmed = serializers.BooleanField(default=False, help_text=CONFIRMED)


class NotedOut(serializers.Serializer):
    """What became of many readings."""

    added = serializers.IntegerField()
    known = serializers.IntegerField(help_text="Noted before, with this level")
    read_otherwise = serializers.IntegerField(help_text="Noted before with another level, which stands")


class GaugeKeyIn(StrictSerializer):
    label = serializers.CharField(max_length=80, help_text="What will carry it, such as: logger at the bridge")
    days = serializers.IntegerField(min_value=1, max_value=3650, default=365, help_text="How long it holds")


class GaugeKeyOut(serializers.Serializer):
    id = serializers.IntegerField()
    gauge = serializers.IntegerField(source="gauge_id")
    label = serializers.CharField()
    created_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
    revoked_at = serializers.DateTimeField(allow_null=True)
    last_used_at = serializers.DateTimeField(allow_null=True)


class GaugeKeyMade(GaugeKeyOut):
    secret = serializers.CharField(
        allow_null=True, help_text="Shown this once. Null when the same request comes again."
    )


class ReadingOut(serializers.Serializer):
    id = serializers.IntegerField()
    gauge = serializers.IntegerField(source="gauge_id")
    at = serializers.DateTimeField()
    level_m = serializers.FloatField()
    water_c = serializers.FloatField(allow_null=True)
    source = serializers.ChoiceField(choices=Reading.Source.choices)
    trusted = serializers.BooleanField(
        allow_null=True, help_text="false: it jumped, or a keeper distrusts it; true: a keeper vouches for it"
    )


class ReasonOut(serializers.Serializer):
    status = serializers.ChoiceField(choices=STATUSES)
    text = serializers.CharField()
    source = serializers.CharField()
    fish = serializers.CharField()


class RulingOut(serializers.Serializer):
    """How a day stands; the strictest reason comes first and decides."""

    day = serializers.DateField()
    status = serializers.ChoiceField(choices=STATUSES)
    reasons = ReasonOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class SpanIn(StrictSerializer):
    first_on = Day()
    last_on = Day()

    def validate(self, attrs):
        if attrs["last_on"] < attrs["first_on"]:
            raise serializers.ValidationError({"last_on": ["Is before first_on; swap them."]})
        if (attrs["last_on"] - attrs["first_on"]).days > 366:
            raise serializers.ValidationError({"last_on": ["Ask for a year at most."]})
        return attrs


class ProblemKindOut(serializers.Serializer):
    code = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    meaning = serializers.CharField()
