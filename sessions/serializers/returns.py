"""Returns, effort, and who reads them, on the wire."""

from rest_framework import serializers

from beats.shared.rest import Day, StrictSerializer
from sessions.models import Return
from sessions.monthly import CLASSES


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


class ReturnDueOut(serializers.Serializer):
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
    made_of = serializers.ChoiceField(
        choices=["fish", "months"], help_text="months: monthly totals of an old book, instead of fish"
    )
    returned = serializers.ChoiceField(choices=["none", "nil", "data"], help_text="How the season stands signed")
    signed_version = serializers.IntegerField(allow_null=True)
    differences = DifferenceOut(many=True, help_text="From the version signed last")
