"""A season's statistics on the wire."""

from rest_framework import serializers

from beats.shared.rest import StrictSerializer
from beats.water.feeds.levels import HIGHEST_M, LOWEST_M


class RateOut(serializers.Serializer):
    fish = serializers.IntegerField()
    rod_days = serializers.IntegerField(allow_null=True, help_text="Null where they are not known")
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
