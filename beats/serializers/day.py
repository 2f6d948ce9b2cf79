"""A beat's day on the wire. The shapes are those of `beats.water.told`.

The answer itself is made by `plain`, field by field as it stands there; these name it for the document,
and a test holds the two together.
"""

from typing import Any

from rest_framework import serializers

from beats.models import Pool
from beats.models.water import CLARITIES
from beats.serializers import RulingOut
from beats.shared.rest import Day, StrictSerializer
from beats.water.casting import Blows, Family, Side
from beats.water.facts import Who
from beats.water.fish_care import Care
from beats.water.limits import Grade, Wader
from beats.water.moon import Range
from beats.water.quality import Unconfirmed
from beats.water.section import Wader as WadingGrade
from beats.water.tide_table import Kind
from beats.water.trend import Band
from beats.water.wading import Trust
from beats.water.wind import Strength


def _choices(kind) -> list[tuple[str, str]]:
    return [(one.value, one.value) for one in kind]


GRADES, TIDES, BLOWS = (_choices(kind) for kind in (Grade, Kind, Blows))
SIDES = Pool.Bank.choices
FAMILIES, CARES, RANGES, BANDS = (_choices(kind) for kind in (Family, Care, Range, Band))
TRUSTS, STRENGTHS, UNCONFIRMED = (_choices(kind) for kind in (Trust, Strength, Unconfirmed))
STANDINGS = [(word, word) for word in ("within", "below", "above", "not known")]
WADERS = {"adult": Wader.ADULT, "child": Wader.CHILD, "frail": Wader.FRAIL}
WADER_NAMES = _choices(Wader)


class DayIn(StrictSerializer):
    """Of which day, and for whom."""

    day = Day(required=False, help_text="Today at the river, if left out")
    wader = serializers.ChoiceField(choices=[(name, name) for name in WADERS], default="adult")
    wading_grade = serializers.IntegerField(
        min_value=0, max_value=3, required=False, help_text="What the wader is used to: 0 bank, 3 deep or rough"
    )
    alone = serializers.BooleanField(default=False)
    new_here = serializers.BooleanField(default=False, help_text="The first time on this water")
    hand = serializers.ChoiceField(choices=SIDES, default="right", help_text="The one uppermost on the rod")


def who_of(asked: dict[str, Any]) -> Who:
    """For whom the day is told, from a validated DayIn."""
    grade = asked.get("wading_grade")
    return Who(
        wader=WADERS[asked["wader"]],
        grade=None if grade is None else WadingGrade(grade),
        alone=asked["alone"],
        new_here=asked["new_here"],
        hand=Side(asked["hand"]),
    )


class Minutes(serializers.IntegerField):
    """Whole minutes, rounded down; null where there is nothing to be old."""

    def __init__(self, **kwargs):
        super().__init__(allow_null=True, **kwargs)


class Maybe(serializers.FloatField):
    """A number, or null where it is not known."""

    def __init__(self, **kwargs):
        super().__init__(allow_null=True, **kwargs)


class When(serializers.DateTimeField):
    """An instant in UTC, or null where it is not known."""

    def __init__(self, **kwargs):
        super().__init__(allow_null=True, **kwargs)


class AskedForOut(serializers.Serializer):
    wader = serializers.ChoiceField(choices=WADER_NAMES)
    wading_grade = serializers.IntegerField(allow_null=True)
    alone = serializers.BooleanField()
    new_here = serializers.BooleanField()
    hand = serializers.ChoiceField(choices=SIDES)


class CautionOut(serializers.Serializer):
    """A sentence, and the figures it rests on; null where it rests on none."""

    sentence = serializers.CharField()
    steps = serializers.IntegerField(help_text="By how many grades it raises the hazard")
    value = Maybe()
    threshold = Maybe()
    unit = serializers.CharField()
    source = serializers.CharField()
    edition = serializers.CharField()
    from_memory = serializers.BooleanField(help_text="Nobody has yet read the figure in its source")
    age_minutes = Minutes()


class LightOut(serializers.Serializer):
    """Instants; null where the sun does not do that on this day."""

    first_light_at = When()
    sunrise_at = When()
    sunset_at = When()
    last_light_at = When()
    off_water_by_at = When(help_text="The beat's policy: margin_minutes before last light")
    margin_minutes = serializers.IntegerField()
    words = serializers.CharField()


class LevelOut(serializers.Serializer):
    """The gauge; null figures are not known. Pools are worked out only from a fresh or an unconfirmed level."""

    gauge = serializers.CharField()
    level_m = Maybe(help_text="Null where the newest reading is taken for a fault")
    at = When()
    age_minutes = Minutes()
    stale_after_minutes = serializers.IntegerField()
    stale = serializers.BooleanField()
    trusted = serializers.BooleanField(
        help_text="false where it jumped, where it is unconfirmed, and where there is no reading"
    )
    trust = serializers.ChoiceField(choices=TRUSTS)
    unconfirmed = serializers.ChoiceField(
        choices=UNCONFIRMED, allow_null=True, help_text="Why the newest level is not believed yet"
    )
    assumed_m = Maybe(help_text="The level to assume: the highest that may still be true")
    flat_for_hours = serializers.IntegerField(
        allow_null=True, help_text="How long it has read the same, where it may be stuck; else null"
    )
    band = serializers.ChoiceField(choices=BANDS, allow_null=True, help_text="Against the typical range")
    typical_low_m = Maybe()
    typical_high_m = Maybe()
    rise_m_per_h = Maybe(
        help_text="From the newest readings where they rise, else the trend of some hours; below 0 it falls; "
        "null is not known"
    )
    rising = serializers.BooleanField(
        allow_null=True,
        help_text="true from the readings that show a rise until they clearly show its end; null is not known",
    )
    rise_limit_m_per_h = Maybe(help_text="The beat's own; null where none is set")
    attribution = serializers.CharField(allow_null=True, help_text="To be shown wherever the level is")
    words = serializers.CharField()


class WaterTodayOut(serializers.Serializer):
    temperature_c = Maybe()
    temperature_age_minutes = Minutes()
    temperature_by = serializers.CharField()
    clarity = serializers.ChoiceField(choices=CLARITIES, allow_null=True)
    clarity_age_minutes = Minutes()
    clarity_by = serializers.CharField()


class WindOut(serializers.Serializer):
    from_deg = Maybe()
    mps = Maybe()
    force = serializers.IntegerField(allow_null=True, help_text="Beaufort")
    force_name = serializers.CharField()
    thunder = serializers.BooleanField(allow_null=True)
    age_minutes = Minutes()
    noted_by = serializers.CharField()
    words = serializers.CharField()


class TideWaterOut(serializers.Serializer):
    at = serializers.DateTimeField()
    height_m = serializers.FloatField()
    kind = serializers.ChoiceField(choices=TIDES)


class TideOut(serializers.Serializer):
    """Heights above the port's datum; null off the table and on another day."""

    height_m = Maybe(help_text="By cosine")
    height_by_twelfths_m = Maybe()
    rising = serializers.BooleanField(allow_null=True)
    rough = serializers.BooleanField(
        allow_null=True, help_text="true where the rise or fall is not of five to seven hours"
    )
    range = serializers.ChoiceField(choices=RANGES)
    next_springs_at = serializers.DateTimeField()
    next_neaps_at = serializers.DateTimeField()
    lag_days = serializers.FloatField()
    waters = TideWaterOut(many=True)
    words = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class FishCareOut(serializers.Serializer):
    care = serializers.ChoiceField(choices=CARES)
    water_c = Maybe()
    threshold_c = serializers.FloatField()
    source = serializers.CharField()
    sentence = serializers.CharField()
    drought = serializers.BooleanField()
    age_minutes = Minutes()
    coolest_at = When()
    coolest_c = Maybe()
    coolest_sentence = serializers.CharField()


class LimitOut(serializers.Serializer):
    """What one published rule says of the pool."""

    rule = serializers.CharField()
    value = serializers.FloatField()
    threshold = serializers.FloatField()
    reached = serializers.BooleanField()
    unit = serializers.CharField()
    grade = serializers.ChoiceField(choices=GRADES)
    source = serializers.CharField()
    edition = serializers.CharField()
    from_memory = serializers.BooleanField(help_text="Nobody has yet read the threshold in its source")


class WadingOut(serializers.Serializer):
    """The hazard of wading: cautions first, then the grade, then every rule it was judged by."""

    cautions = CautionOut(many=True)
    grade = serializers.ChoiceField(choices=GRADES)
    water = serializers.ChoiceField(choices=GRADES, allow_null=True, help_text="Of depth and speed alone")
    where = serializers.CharField(help_text="What place the depth and speed are of")
    depth_m = Maybe()
    velocity_mps = Maybe()
    rulings = LimitOut(many=True)


class FlowOut(serializers.Serializer):
    depth_m = Maybe()
    velocity_mps = Maybe()
    how = serializers.CharField()
    why_not = serializers.CharField(help_text="Why it is not known; empty where it is")


class WindowOut(serializers.Serializer):
    standing = serializers.ChoiceField(choices=STANDINGS)
    low_m = Maybe()
    high_m = Maybe()
    sentence = serializers.CharField()


class SpanOut(serializers.Serializer):
    start = serializers.DateTimeField()
    end = serializers.DateTimeField()


class CutOffOut(serializers.Serializer):
    above_m = serializers.FloatField()
    windows = SpanOut(many=True)
    unknown = SpanOut(many=True, help_text="Hours of which the tide table says nothing")
    sentence = serializers.CharField()


class CastingOut(serializers.Serializer):
    """Over which shoulder the fly stays downwind, and which casts that means."""

    cautions = serializers.ListField(child=serializers.CharField())
    blows = serializers.ChoiceField(choices=BLOWS)
    downstream_mps = serializers.FloatField()
    outward_mps = serializers.FloatField()
    onto = serializers.ChoiceField(choices=SIDES, allow_null=True)
    shoulder = serializers.ChoiceField(choices=SIDES, allow_null=True)
    own = serializers.BooleanField(help_text="Whether it is the shoulder of the casting hand")
    family = serializers.ChoiceField(choices=FAMILIES)
    casts = serializers.ListField(child=serializers.CharField())
    strength = serializers.ChoiceField(choices=STRENGTHS)


class SuggestionOut(serializers.Serializer):
    what = serializers.CharField()
    text = serializers.CharField()
    why = serializers.CharField()
    working = serializers.CharField(help_text="The numbers behind it")
    basis = serializers.CharField()
    said_by = serializers.CharField(help_text="Whose word it is; empty where it is reckoned")


class PoolTodayOut(serializers.Serializer):
    id = serializers.IntegerField()
    name = serializers.CharField()
    order = serializers.IntegerField()
    bank = serializers.ChoiceField(choices=SIDES)
    wading_grade = serializers.IntegerField()
    boat = serializers.BooleanField()
    ghillie = serializers.BooleanField()
    closed = serializers.CharField(help_text="Why it is closed by hand on this day; empty where it is not")
    wading = WadingOut()
    flow = FlowOut()
    window = WindowOut()
    cut_off = CutOffOut(allow_null=True, help_text="null where no tide cuts it off")
    casting = CastingOut(allow_null=True)
    casting_why_not = serializers.CharField()
    tackle = SuggestionOut(many=True)
    tackle_why_not = serializers.CharField()
    lies = SuggestionOut(many=True)


class ConditionsOut(serializers.Serializer):
    """What is known of a beat on a day, cautions first. It never says that anything is safe."""

    beat = serializers.IntegerField()
    day = serializers.DateField()
    told_at = serializers.DateTimeField()
    asked_for = AskedForOut()
    cautions = CautionOut(many=True)
    summary = serializers.CharField(help_text="One line for the rota sheet")
    law = RulingOut()
    light = LightOut()
    level = LevelOut(allow_null=True)
    water = WaterTodayOut()
    wind = WindOut()
    tide = TideOut(allow_null=True, help_text="null where no tide reaches")
    fish = FishCareOut()
    pools = PoolTodayOut(many=True)
