"""Guests, lets and rod-days on the wire."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from beats.models import Pool
from beats.shared.rest import Day, Ref, StrictSerializer
from bookings.models import Guest, Let


# Written out, because the generated form calls its own default, the empty text, a wrong e-mail.
@extend_schema_field(
    {"oneOf": [{"type": "string", "format": "email", "maxLength": 254}, {"type": "string", "maxLength": 0}]}
)
class LowerEmail(serializers.EmailField):
    def to_internal_value(self, data):
        return super().to_internal_value(data).lower()


PHONE = "With its country code, or as dialled in the fishery's country; kept as E.164"
GRADE = "The hardest wading they may be sent to; null: not known, and treated as the most careful grade"


class GuestFacts(StrictSerializer):
    name = serializers.CharField(max_length=120)
    email = LowerEmail(max_length=254, allow_blank=True, default="", help_text="Gives them a way to sign in")
    phone = serializers.CharField(max_length=30, allow_blank=True, default="", help_text=PHONE)
    emergency_contact_name = serializers.CharField(max_length=120, allow_blank=True, default="")
    emergency_contact_phone = serializers.CharField(max_length=30, allow_blank=True, default="", help_text=PHONE)
    emergency_contact_email = LowerEmail(max_length=254, allow_blank=True, default="")
    wading_grade = serializers.ChoiceField(
        choices=Pool.Wading.choices, allow_null=True, default=None, help_text=GRADE
    )


class GuestIn(GuestFacts):
    needs_ghillie = serializers.BooleanField(default=False, help_text="Fishes only with a ghillie by")
    casting_shoulder = serializers.ChoiceField(
        choices=Guest.Shoulder.choices, allow_blank=True, default="", help_text="Blank: not said"
    )
    needs = serializers.CharField(
        max_length=300, allow_blank=True, default="", help_text="What the ghillie must know to help them"
    )
    wants_boat = serializers.BooleanField(default=False, help_text="Would rather fish from a boat")
    fishery = serializers.SlugField()


class GuestChange(StrictSerializer):
    """What may be changed; leave out what stays. Guests change their own contact details and needs."""

    name = serializers.CharField(max_length=120, required=False)
    phone = serializers.CharField(max_length=30, allow_blank=True, required=False, help_text=PHONE)
    emergency_contact_name = serializers.CharField(max_length=120, allow_blank=True, required=False)
    emergency_contact_phone = serializers.CharField(
        max_length=30, allow_blank=True, required=False, help_text=PHONE
    )
    emergency_contact_email = LowerEmail(max_length=254, allow_blank=True, required=False)
    wading_grade = serializers.ChoiceField(
        choices=Pool.Wading.choices, allow_null=True, required=False, help_text=GRADE
    )
    needs_ghillie = serializers.BooleanField(required=False)
    casting_shoulder = serializers.ChoiceField(choices=Guest.Shoulder.choices, allow_blank=True, required=False)
    needs = serializers.CharField(max_length=300, allow_blank=True, required=False)
    wants_boat = serializers.BooleanField(required=False)


class GuestOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    name = serializers.CharField()
    email = serializers.CharField()
    phone = serializers.CharField()
    emergency_contact_name = serializers.CharField()
    emergency_contact_phone = serializers.CharField()
    emergency_contact_email = serializers.CharField()
    wading_grade = serializers.IntegerField(allow_null=True, help_text=GRADE)
    needs_ghillie = serializers.BooleanField()
    casting_shoulder = serializers.ChoiceField(choices=Guest.Shoulder.choices, allow_blank=True)
    needs = serializers.CharField()
    wants_boat = serializers.BooleanField()
    invitation = serializers.ChoiceField(
        choices=["none", "open", "declined", "accepted"],
        help_text="Whether the person linked their account; none: no e-mail address is entered",
    )
    version = serializers.IntegerField()


class LetIn(StrictSerializer):
    beat = Ref()
    booker = Ref(help_text="The guest who books")
    first_on = Day()
    last_on = Day(help_text="The last day fished")
    rods = serializers.IntegerField(min_value=1, max_value=60)
    guests = serializers.ListField(
        child=Ref(),
        default=list,
        max_length=60,
        help_text="Who fishes the rods, in order; fewer than rods is fine",
    )
    company = serializers.ChoiceField(
        choices=Let.Company.choices, default=Let.Company.EITHER, help_text="Whether the party's rods share a pool"
    )
    kind = serializers.ChoiceField(choices=Let.Kind.choices, default=Let.Kind.DAY)
    weekday = serializers.IntegerField(
        min_value=0, max_value=6, required=False, help_text="Of season rods: Monday is 0"
    )
    hold = serializers.BooleanField(default=False, help_text="Keep the rods until confirmed, by the policy")


class LetChange(StrictSerializer):
    """What may be changed; leave out what stays. `weekday` null when season rods become days."""

    beat = Ref(required=False)
    first_on = Day(required=False)
    last_on = Day(required=False, help_text="The last day fished")
    rods = serializers.IntegerField(min_value=1, max_value=60, required=False)
    company = serializers.ChoiceField(choices=Let.Company.choices, required=False)
    kind = serializers.ChoiceField(choices=Let.Kind.choices, required=False)
    weekday = serializers.IntegerField(min_value=0, max_value=6, required=False, allow_null=True)


class LetOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    booker = serializers.IntegerField(source="booker_id")
    booker_name = serializers.CharField(source="booker.name")
    status = serializers.ChoiceField(choices=Let.Status.choices)
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    rods = serializers.IntegerField()
    company = serializers.ChoiceField(choices=Let.Company.choices)
    kind = serializers.ChoiceField(choices=Let.Kind.choices)
    weekday = serializers.IntegerField(allow_null=True, help_text="Of season rods: Monday is 0")
    made_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField(allow_null=True, help_text="When a hold runs out")
    confirmed_at = serializers.DateTimeField(allow_null=True)
    cancelled_at = serializers.DateTimeField(allow_null=True)
    ending = serializers.ChoiceField(choices=Let.Ending.choices, allow_blank=True, help_text="Why it is over")
    refund_percent = serializers.IntegerField(allow_null=True, help_text="Of the price of the days given back")
    split_from = serializers.IntegerField(source="split_from_id", allow_null=True)
    version = serializers.IntegerField()


class ShareIn(StrictSerializer):
    rod = serializers.IntegerField(min_value=1, max_value=60)
    guest = Ref(help_text="Who shares the rod")


class RodDayOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    day = serializers.DateField()
    rod = serializers.IntegerField()
    let = serializers.IntegerField(source="let_id")
    guest = serializers.IntegerField(source="guest_id", allow_null=True)
    guest_name = serializers.CharField(source="guest.name", default=None, allow_null=True)
    sharer = serializers.IntegerField(source="sharer_id", allow_null=True)
