"""Old books on the wire."""

from rest_framework import serializers

from beats.shared.rest import StrictSerializer
from sessions.models import OldBook
from sessions.old_books.plan import FIELDS


def _named(**kwargs) -> serializers.DictField:
    return serializers.DictField(child=serializers.CharField(max_length=120, allow_blank=True), **kwargs)


class OldBookPlanIn(StrictSerializer):
    """How the file is to be read."""

    what = serializers.ChoiceField(choices=OldBook.What.choices)
    columns = _named(
        help_text="Field to the name of its column. "
        + " ".join(f"For {what}: {', '.join(names)}." for what, names in FIELDS.items())
    )
    fixed = _named(default=dict, help_text="Field to what it is in every row, such as fate: kept")
    words = serializers.DictField(
        child=_named(), default=dict, help_text="Field to what the book's own words mean, as in kind: {Gr.: 1sw}"
    )
    weight_unit = serializers.ChoiceField(choices=["kg", "lb", "lb-oz"], default="kg")
    length_unit = serializers.ChoiceField(choices=["cm", "in"], default="cm")
    dates = serializers.ChoiceField(choices=["iso", "day-first", "month-first"], default="iso")
    sheet = serializers.CharField(
        max_length=60, default="", allow_blank=True, help_text="Of a workbook; else the first"
    )


class OldBookIn(StrictSerializer):
    """A form: the file, and the plan as JSON."""

    file = serializers.FileField(
        max_length=120, help_text="CSV in UTF-8, or XLSX; its first row names the columns"
    )
    plan = OldBookPlanIn()


class OldBookOut(serializers.Serializer):
    id = serializers.IntegerField()
    what = serializers.ChoiceField(choices=OldBook.What.choices)
    name = serializers.CharField()
    digest = serializers.CharField(help_text="SHA-256 of the file")
    sheet = serializers.CharField()
    rows = serializers.IntegerField()
    brought_in_at = serializers.DateTimeField()
    taken_out_at = serializers.DateTimeField(allow_null=True)
    reason = serializers.CharField()


class RowFaultOut(serializers.Serializer):
    row = serializers.IntegerField(help_text="As the file counts, its first row being 1")
    field = serializers.CharField()
    sentence = serializers.CharField()


class OldSeasonOut(serializers.Serializer):
    season = serializers.IntegerField()
    fish = serializers.IntegerField()
    weight_kg = serializers.DecimalField(max_digits=14, decimal_places=2)


class OldBookLookOut(serializers.Serializer):
    """What would come in. With any fault nothing would."""

    rows = serializers.IntegerField()
    seasons = OldSeasonOut(many=True)
    fault_count = serializers.IntegerField()
    faults = RowFaultOut(many=True, help_text="The first hundred")
    caution_count = serializers.IntegerField()
    cautions = RowFaultOut(many=True, help_text="What somebody should look at; it forbids nothing")
