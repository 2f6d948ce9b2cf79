"""An angler's own season on the wire."""

from rest_framework import serializers

from sessions.models import Catch


class AnglerDayOut(serializers.Serializer):
    day = serializers.DateField()
    beat = serializers.CharField()
    let = serializers.BooleanField(help_text="A rod was held")
    seen = serializers.BooleanField(help_text="The angler checked in")
    fish = serializers.IntegerField(help_text="That count; a blank day has none")


class AnglerFishOut(serializers.Serializer):
    id = serializers.IntegerField()
    caught_on = serializers.DateField()
    beat = serializers.CharField(source="beat.name")
    pool = serializers.CharField(source="pool.name", default=None, allow_null=True)
    kind = serializers.ChoiceField(choices=Catch.Kind.choices)
    fate = serializers.ChoiceField(choices=Catch.Fate.choices)
    weight_kg = serializers.DecimalField(max_digits=5, decimal_places=2, allow_null=True)
    weight_how = serializers.CharField()
    length_cm = serializers.DecimalField(max_digits=4, decimal_places=1, allow_null=True)
    method = serializers.CharField()
    fly = serializers.CharField()


class AnglerTotalOut(serializers.Serializer):
    kind = serializers.ChoiceField(choices=Catch.Kind.choices)
    fate = serializers.ChoiceField(choices=Catch.Fate.choices)
    number = serializers.IntegerField()
    weight_kg = serializers.DecimalField(max_digits=12, decimal_places=2, allow_null=True)
    unweighed = serializers.IntegerField()


class AnglerRecordOut(serializers.Serializer):
    """A guest's own days and fish of a season, for waters where the duty to report is theirs."""

    fishery = serializers.CharField(source="guest.fishery.slug")
    season = serializers.IntegerField()
    due_on = serializers.DateField(allow_null=True, help_text="By when the owner asks anglers for their figures")
    rod_days = serializers.IntegerField(help_text="Days with a rod held, a check-in or a fish; each counts once")
    days = AnglerDayOut(many=True)
    fish = AnglerFishOut(many=True)
    totals = AnglerTotalOut(many=True)
