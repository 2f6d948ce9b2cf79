"""Returns, effort, and who reads them, on the wire."""

from rest_framework import serializers

from beats.shared.rest import Day, StrictSerializer
from sessions.models import MonthStatement, Return
from sessions.month_records import WORDS, Record
from sessions.monthly import CLASSES

RECORD = "no_record until the owner states no_fishing or none_caught (fished, none caught), or a fish is entered"
RECORDS = [(each.value, str(WORDS[each])) for each in Record]
STATES = [*Return.State.choices, ("no_record", "No record")]


class CellOut(serializers.Serializer):
    number = serializers.IntegerField()
    weight_kg = serializers.DecimalField(
        max_digits=12, decimal_places=2, allow_null=True, source="known_kg",
        help_text="Of the fish that were weighed; null where none of them was",
    )  # fmt: skip
    unweighed = serializers.IntegerField(help_text="Fish whose weight is not known")


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
    record = serializers.ChoiceField(choices=RECORDS, help_text=RECORD)
    fished = serializers.BooleanField(allow_null=True, help_text="Null where that is not known")
    rod_days = serializers.IntegerField(allow_null=True, help_text="Null where none are on record")
    catch = FatesOut(source="known_cells", allow_null=True, help_text="Null where there is no record")


class FindingOut(serializers.Serializer):
    code = serializers.CharField()
    month = serializers.IntegerField(allow_null=True)
    sentence = serializers.CharField()
    answer = serializers.CharField(default="", help_text="The owner's answer; empty while there is none")


class DifferenceOut(serializers.Serializer):
    month = serializers.IntegerField()
    what = serializers.CharField()
    before = serializers.CharField(allow_null=True, help_text="Null where it was not known")
    after = serializers.CharField(allow_null=True)


class MonthStatementIn(StrictSerializer):
    month = serializers.IntegerField(min_value=1, max_value=12)
    record = serializers.ChoiceField(
        choices=MonthStatement.Record.choices, help_text="no_record takes an earlier statement back"
    )


class MonthStatementOut(serializers.Serializer):
    id = serializers.IntegerField()
    season = serializers.IntegerField()
    month = serializers.IntegerField()
    record = serializers.ChoiceField(choices=MonthStatement.Record.choices)
    stated_at = serializers.DateTimeField()


class ReviewAnswerIn(StrictSerializer):
    code = serializers.CharField(max_length=30, help_text="Of the finding")
    month = serializers.IntegerField(min_value=1, max_value=12, allow_null=True, default=None)
    reason = serializers.CharField(max_length=300, help_text="Why it is right as it stands")


class ReviewAnswerOut(serializers.Serializer):
    id = serializers.IntegerField()
    season = serializers.IntegerField()
    code = serializers.CharField()
    month = serializers.IntegerField(allow_null=True)
    question = serializers.CharField()
    reason = serializers.CharField()
    answered_at = serializers.DateTimeField()


class SignIn(StrictSerializer):
    content_hash = serializers.RegexField(r"^[0-9a-f]{64}$", help_text="Of the figures you read")
    signer_name = serializers.CharField(max_length=120, allow_blank=True, help_text="Who signs")
    signer_capacity = serializers.ChoiceField(choices=Return.Capacity.choices, allow_blank=True)
    signer_address = serializers.CharField(max_length=400, allow_blank=True, help_text="Their postal address")
    declared = serializers.BooleanField(help_text="That they make the declaration of the return")
    reason = serializers.CharField(max_length=300, default="", allow_blank=True, help_text="For an amendment")


class SignerOut(serializers.Serializer):
    name = serializers.CharField(source="signer_name")
    capacity = serializers.CharField(source="signer_capacity")
    address = serializers.CharField(source="signer_address")


class SignedOut(serializers.Serializer):
    """A return as it was signed."""

    fishery = serializers.CharField(source="fishery.slug")
    season = serializers.IntegerField()
    version = serializers.IntegerField()
    state = serializers.ChoiceField(choices=Return.State.choices)
    signed_at = serializers.DateTimeField()
    content_hash = serializers.CharField()
    reason = serializers.CharField()
    signer = SignerOut(source="*")
    declaration = serializers.CharField(help_text="As it was signed; empty in returns signed before there was one")
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
    counted = serializers.IntegerField(
        allow_null=True, help_text="What the return says; null where none are on record"
    )


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


class SnapshotCellOut(serializers.Serializer):
    number = serializers.IntegerField()
    weight_kg = serializers.DecimalField(max_digits=12, decimal_places=2, allow_null=True)
    unweighed = serializers.IntegerField()


class SnapshotClassesOut(serializers.Serializer):
    def get_fields(self):
        return {kind: SnapshotCellOut() for kind in CLASSES}


class SnapshotFatesOut(serializers.Serializer):
    kept = SnapshotClassesOut()
    released = SnapshotClassesOut()


class SnapshotMonthOut(serializers.Serializer):
    """A month as it was signed; returns signed before months had a record lack `record`."""

    month = serializers.IntegerField()
    name = serializers.CharField()
    record = serializers.CharField(required=False)
    rod_days = serializers.IntegerField(allow_null=True)
    catch = SnapshotFatesOut(allow_null=True)


class SnapshotOut(serializers.Serializer):
    fishery = serializers.CharField()
    district = serializers.CharField()
    season = serializers.IntegerField()
    state = serializers.ChoiceField(choices=Return.State.choices)
    months = SnapshotMonthOut(many=True)
    rod_days = serializers.IntegerField(allow_null=True)
    totals = SnapshotFatesOut(allow_null=True)


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
    state = serializers.ChoiceField(choices=STATES, help_text="nil only where every month is stated unfished")
    record = serializers.ChoiceField(choices=RECORDS)
    first_on = serializers.DateField(source="season.first_on", default=None, allow_null=True)
    last_on = serializers.DateField(source="season.last_on", default=None, allow_null=True)
    months = MonthOut(many=True)
    months_without_record = serializers.ListField(child=serializers.IntegerField(), source="without_record")
    rod_days = serializers.IntegerField(allow_null=True, help_text="Of the months that have any on record")
    rod_days_checked_in = serializers.IntegerField()
    totals = FatesOut(source="known_totals", allow_null=True, help_text="Of the months with a record")
    notes = serializers.ListField(child=serializers.CharField())
    findings = FindingOut(many=True, help_text="What to look at before signing")
    obstacles = serializers.ListField(child=serializers.CharField(), help_text="Why it cannot be signed yet")
    declaration = serializers.CharField(help_text="What whoever signs declares")
    content_hash = serializers.CharField(help_text="Names these figures; send it back to sign them")
    made_of = serializers.ChoiceField(
        choices=["fish", "months"], help_text="months: monthly totals of an old book, instead of fish"
    )
    returned = serializers.ChoiceField(choices=["none", "nil", "data"], help_text="How the season stands signed")
    signed_version = serializers.IntegerField(allow_null=True)
    differences = DifferenceOut(many=True, help_text="From the version signed last")
