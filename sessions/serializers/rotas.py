"""The rota on the wire."""

from rest_framework import serializers

from beats.shared.rest import Day, Number, Ref, StrictSerializer
from beats.water.limits import Grade
from sessions.models import Rota, RotaJob


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


class TurnConditionsOut(serializers.Serializer):
    """What is known of a turn at the moment. It never says that a pool is fit to fish."""

    do_not_fish = serializers.BooleanField(help_text="False: nothing that is known forbids it")
    reasons = serializers.ListField(child=serializers.CharField(), help_text="Sentences, closures first")
    what_to_do = serializers.CharField()
    wading = serializers.ChoiceField(
        choices=[(grade.value, grade.value) for grade in Grade],
        allow_null=True,
        help_text="The grade that the conditions give this angler, alone unless they checked in in company; "
        "null on another day and for a retired pool",
    )
    level_age_minutes = serializers.IntegerField(
        allow_null=True, help_text="How old the reading is that this rests on; null where there is none"
    )


class TurnRow(serializers.Serializer):
    """The columns of a turn."""

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


class TurnOut(TurnRow):
    conditions = TurnConditionsOut(
        allow_null=True,
        help_text="Null for turns that are over, and for later days of which no closure is known",
    )


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
    unit = serializers.CharField(required=False, help_text="Smaller is better, unless it says so")
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
    conditions = TurnConditionsOut(allow_null=True)
    facts = serializers.ListField(child=serializers.CharField())
    without_it = WithoutOut(
        allow_null=True, help_text="Null for a turn that must not be fished where no rota fits without it"
    )


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
