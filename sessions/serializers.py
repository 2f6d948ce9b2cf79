"""The day on the wire: rota, outings, catches, returns."""

from decimal import Decimal

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from beats.shared.rest import Day, Instant, Number, Ref, StrictSerializer
from beats.water.feeds.levels import COLDEST_C, HIGHEST_M, LOWEST_M, WARMEST_C
from sessions.models import Catch, Return, Rota, RotaJob
from sessions.monthly import CLASSES
from sessions.weights import from_length


class RotaIn(StrictSerializer):
    beat = Ref()
    first_on = Day(help_text="The Monday")
    level_m = Number(
        min_value=-50, max_value=500, required=False, help_text="Level to expect, in metres on the gauge"
    )
    later = serializers.BooleanField(
        default=False, help_text="Work it out in the background and answer 202 with a job to ask after"
    )


class PinIn(StrictSerializer):
    turn = Ref()
    pool = Ref()


class ReplanIn(StrictSerializer):
    """What changed. With nothing given, closures and the level are simply read anew."""

    from_day = Day(required=False, help_text="Turns before this day have been fished and stay")
    from_part = serializers.SlugField(required=False, help_text="And before this part of it")
    level_m = Number(min_value=-50, max_value=500, required=False)
    pins = serializers.ListField(
        child=PinIn(), default=list, max_length=100, help_text="Send a turn's rod to a pool"
    )
    bars = serializers.ListField(
        child=Ref(), default=list, max_length=100, help_text="Keep a turn's rod off its pool"
    )

    def validate(self, attrs):
        if "from_part" in attrs and "from_day" not in attrs:
            raise serializers.ValidationError({"from_day": ["Give the day of that part."]})
        return attrs


class SwapIn(StrictSerializer):
    turn = Ref()
    other = Ref(help_text="Another rod's turn in the same part of the same day")


class RotaJobOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    first_on = serializers.DateField()
    state = serializers.ChoiceField(choices=RotaJob.State.choices)
    progress = serializers.CharField()
    asked_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True)
    refusal = serializers.CharField()
    rota = serializers.IntegerField(source="rota_id", allow_null=True)


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
    sharer = serializers.IntegerField(source="sharer_id", allow_null=True)
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
    replaces = serializers.IntegerField(source="replaces_id", allow_null=True)


class GoalOut(serializers.Serializer):
    name = serializers.CharField()
    value = serializers.FloatField()
    bound = serializers.FloatField(help_text="What no rota as good on the goals before it can pass")
    gap = serializers.FloatField(help_text="How far the two are apart, as a share")
    proven = serializers.BooleanField()
    custom = serializers.FloatField(
        allow_null=True, help_text="The same if everyone moved one pool down each part"
    )


class RodWorthOut(serializers.Serializer):
    rod = serializers.CharField()
    worth_per_turn = serializers.FloatField()


class FollowOut(serializers.Serializer):
    ahead = serializers.CharField()
    behind = serializers.CharField()
    times = serializers.IntegerField()


class BindingOut(serializers.Serializer):
    rule = serializers.CharField()
    worth_gained = serializers.FloatField()
    second_visits_saved = serializers.IntegerField()


class MoveOut(serializers.Serializer):
    """Who goes where instead, and why."""

    day = serializers.DateField()
    part = serializers.CharField()
    rod = serializers.CharField()
    from_pool = serializers.CharField()
    to_pool = serializers.CharField()
    why = serializers.CharField()


class EffectOut(serializers.Serializer):
    goal = serializers.CharField()
    before = serializers.FloatField()
    after = serializers.FloatField()
    verdict = serializers.ChoiceField(choices=["better", "worse", "as before"])


class WithoutOut(serializers.Serializer):
    changes = MoveOut(many=True)
    effect = EffectOut(many=True)
    proven_fewest_changes = serializers.BooleanField()


class WhyOut(serializers.Serializer):
    """Why a rod is on a pool, and what the nearest rota without that would cost."""

    turn = serializers.IntegerField()
    facts = serializers.ListField(child=serializers.CharField())
    without_it = WithoutOut()


class CertificateOut(serializers.Serializer):
    """How good the rota is and how sure that is."""

    status = serializers.CharField(help_text="proven best, best found, or changed by hand")
    policy = serializers.CharField()
    cut_short = serializers.CharField(help_text="Why the search ended early; empty when it did not")
    goals = GoalOut(many=True)
    worth_by_rod = RodWorthOut(many=True)
    second_visits = serializers.IntegerField()
    follows = FollowOut(many=True)
    binding = BindingOut(many=True)
    closed_pools = serializers.DictField(child=serializers.ListField(child=serializers.CharField()))
    notes = serializers.ListField(child=serializers.CharField())
    moves = MoveOut(many=True, required=False)
    effect = EffectOut(many=True, required=False)


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
    weight_kg = serializers.DecimalField(max_digits=12, decimal_places=2, source="total_kg")
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


class FindingOut(serializers.Serializer):
    code = serializers.CharField()
    month = serializers.IntegerField(allow_null=True)
    sentence = serializers.CharField()


class DifferenceOut(serializers.Serializer):
    month = serializers.IntegerField()
    what = serializers.CharField()
    before = serializers.CharField()
    after = serializers.CharField()


class SignIn(StrictSerializer):
    content_hash = serializers.RegexField(r"^[0-9a-f]{64}$", help_text="Of the figures you read")
    reason = serializers.CharField(max_length=300, default="", allow_blank=True, help_text="For an amendment")


class SignedOut(serializers.Serializer):
    """A return as it was signed."""

    fishery = serializers.CharField(source="fishery.slug")
    season = serializers.IntegerField()
    version = serializers.IntegerField()
    state = serializers.ChoiceField(choices=Return.State.choices)
    signed_at = serializers.DateTimeField()
    content_hash = serializers.CharField()
    reason = serializers.CharField()
    differences = DifferenceOut(many=True)


class EffortOut(serializers.Serializer):
    """Rod-days of a month by where they come from, and what the return says of them."""

    month = serializers.IntegerField()
    booked = serializers.IntegerField(help_text="Let, and not cancelled, up to today")
    planned = serializers.IntegerField(help_text="On a published rota")
    checked_in = serializers.IntegerField(help_text="Anglers seen on the water, once a day")
    sea_trout_only = serializers.IntegerField(help_text="Let, but fished for sea trout alone without a salmon")
    difference = serializers.IntegerField(help_text="Let beyond those seen")
    decided = serializers.IntegerField(allow_null=True, help_text="The owner's word")
    reason = serializers.CharField()
    counted = serializers.IntegerField(help_text="What the return says")


class EffortIn(StrictSerializer):
    month = serializers.IntegerField(min_value=1, max_value=12)
    rod_days = serializers.IntegerField(min_value=0, max_value=100_000)
    reason = serializers.CharField(max_length=300)


class EffortDecisionOut(serializers.Serializer):
    id = serializers.IntegerField()
    season = serializers.IntegerField()
    month = serializers.IntegerField()
    rod_days = serializers.IntegerField()
    reason = serializers.CharField()
    decided_at = serializers.DateTimeField()


class RateOut(serializers.Serializer):
    fish = serializers.IntegerField()
    rod_days = serializers.IntegerField()
    rate = serializers.FloatField(allow_null=True, help_text="Fish per rod-day, a ratio of totals")
    low = serializers.FloatField(allow_null=True, help_text="95 % limits, exact Poisson (Garwood)")
    high = serializers.FloatField(allow_null=True)
    note = serializers.CharField()


class ShareOut(serializers.Serializer):
    part = serializers.IntegerField()
    whole = serializers.IntegerField()
    share = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True, help_text="95 % limits (Wilson)")
    high = serializers.FloatField(allow_null=True)


class AverageOut(serializers.Serializer):
    years = serializers.ListField(child=serializers.IntegerField())
    missing = serializers.ListField(child=serializers.IntegerField(), help_text="No book; not counted as nought")
    mean = serializers.FloatField(allow_null=True)
    lowest = serializers.IntegerField(allow_null=True)
    highest = serializers.IntegerField(allow_null=True)


class GroupOut(serializers.Serializer):
    name = serializers.CharField()
    fish = serializers.IntegerField()
    low = serializers.FloatField(help_text="95 % limits of the count, exact Poisson (Garwood)")
    high = serializers.FloatField()


class WeekOut(serializers.Serializer):
    week = serializers.IntegerField()
    season = RateOut()
    past = RateOut(help_text="The five seasons before, together")


class NotedFishOut(serializers.Serializer):
    id = serializers.IntegerField()
    caught_on = serializers.DateField()
    weight_kg = serializers.DecimalField(max_digits=5, decimal_places=2, allow_null=True)
    pool = serializers.CharField()


class ExpectedOut(serializers.Serializer):
    seasons = serializers.IntegerField()
    fish = serializers.IntegerField()
    rod_days = serializers.IntegerField()
    rate = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    spread = serializers.FloatField(help_text="How much more the seasons differ than chance; widens the limits")
    words = serializers.CharField()


class StatisticsOut(serializers.Serializer):
    """A season's figures. Every count can be followed to its fish with the same filters on `catches/`."""

    season = serializers.IntegerField()
    species = serializers.CharField()
    overall = RateOut()
    average = AverageOut(help_text="Of the five seasons before")
    released = ShareOut()
    weeks = WeekOut(many=True)
    by_pool = GroupOut(many=True)
    by_level = GroupOut(many=True)
    by_warmth = GroupOut(many=True)
    by_fly = GroupOut(many=True)
    by_part = GroupOut(many=True)
    best = NotedFishOut(allow_null=True)
    last = NotedFishOut(allow_null=True)
    notes = serializers.ListField(child=serializers.CharField())


class StatisticsQuery(StrictSerializer):
    species = serializers.ChoiceField(choices=["salmon", "sea_trout"], default="salmon")
    of = serializers.ChoiceField(choices=["weeks", "level", "pools"], default="weeks")
    format = serializers.CharField(required=False)


class ExpectedQuery(StrictSerializer):
    week = serializers.IntegerField(min_value=1, max_value=52)
    level_m = serializers.FloatField(min_value=LOWEST_M, max_value=HIGHEST_M, required=False)
    species = serializers.ChoiceField(choices=["salmon", "sea_trout"], default="salmon")


class BoardKeyIn(StrictSerializer):
    label = serializers.CharField(max_length=80, help_text="Who will carry it, such as: the district board")
    days = serializers.IntegerField(min_value=1, max_value=3650, default=365, help_text="How long it holds")


class BoardKeyOut(serializers.Serializer):
    id = serializers.IntegerField()
    label = serializers.CharField()
    created_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
    revoked_at = serializers.DateTimeField(allow_null=True)


class BoardKeyMade(BoardKeyOut):
    secret = serializers.CharField(
        allow_null=True, help_text="Shown this once. Null when the same request comes again."
    )


class SnapshotMonthOut(serializers.Serializer):
    month = serializers.IntegerField()
    name = serializers.CharField()
    rod_days = serializers.IntegerField()
    catch = FatesOut()


class SnapshotOut(serializers.Serializer):
    fishery = serializers.CharField()
    district = serializers.CharField()
    season = serializers.IntegerField()
    state = serializers.ChoiceField(choices=Return.State.choices)
    months = SnapshotMonthOut(many=True)
    rod_days = serializers.IntegerField()
    totals = FatesOut()


class SignedDetailOut(SignedOut):
    snapshot = SnapshotOut()
    findings = FindingOut(many=True)


class DueIn(StrictSerializer):
    due_on = Day(help_text="When the return is to be in; a setting of yours")
    anglers_due_on = Day(required=False, allow_null=True, default=None)
    remind_days = serializers.IntegerField(min_value=0, max_value=120, default=14)


class DueOut(serializers.Serializer):
    season = serializers.IntegerField()
    due_on = serializers.DateField()
    anglers_due_on = serializers.DateField(allow_null=True)
    remind_days = serializers.IntegerField()
    reminded_at = serializers.DateTimeField(allow_null=True)


class ReturnOut(serializers.Serializer):
    fishery = serializers.CharField(source="fishery.slug")
    season = serializers.IntegerField(source="year")
    state = serializers.ChoiceField(choices=Return.State.choices)
    first_on = serializers.DateField(source="season.first_on", default=None, allow_null=True)
    last_on = serializers.DateField(source="season.last_on", default=None, allow_null=True)
    months = MonthOut(many=True)
    rod_days = serializers.IntegerField()
    rod_days_checked_in = serializers.IntegerField()
    totals = FatesOut()
    notes = serializers.ListField(child=serializers.CharField())
    findings = FindingOut(many=True, help_text="What to look at before signing")
    content_hash = serializers.CharField(help_text="Names these figures; send it back to sign them")
    returned = serializers.ChoiceField(choices=["none", "nil", "data"], help_text="How the season stands signed")
    signed_version = serializers.IntegerField(allow_null=True)
    differences = DifferenceOut(many=True, help_text="From the version signed last")
