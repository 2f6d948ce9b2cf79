"""Alarms, recalls, drills and incidents on the wire."""

from rest_framework import serializers

from beats.shared.rest import Instant, Ref, StrictSerializer
from safety.models import Alarm, AreaWarning, Delivery, Incident, Recall
from safety.policy import LONGEST_GRACE_MIN, LONGEST_LONE_GRACE_MIN


class DeliveryOut(serializers.Serializer):
    about = serializers.ChoiceField(choices=Delivery.About.choices)
    turn = serializers.IntegerField()
    channel = serializers.ChoiceField(choices=Delivery.Channel.choices)
    recipient = serializers.CharField()
    state = serializers.ChoiceField(choices=Delivery.State.choices)
    attempts = serializers.IntegerField()
    sent_at = serializers.DateTimeField(allow_null=True)
    receipt_at = serializers.DateTimeField(allow_null=True)
    last_fault = serializers.CharField()


class UndeliveredOut(serializers.Serializer):
    """A message that did not arrive; `closing` says how it was dealt with, empty while it was not."""

    id = serializers.UUIDField()
    alarm = serializers.IntegerField(source="alarm_id", allow_null=True)
    about = serializers.ChoiceField(choices=Delivery.About.choices)
    channel = serializers.ChoiceField(choices=Delivery.Channel.choices)
    recipient = serializers.CharField()
    subject = serializers.CharField()
    state = serializers.ChoiceField(choices=Delivery.State.choices)
    attempts = serializers.IntegerField()
    written_at = serializers.DateTimeField()
    failed_at = serializers.DateTimeField(allow_null=True, help_text="When it last failed")
    last_fault = serializers.CharField()
    closed_at = serializers.DateTimeField(allow_null=True)
    closing = serializers.ChoiceField(choices=Delivery.Closing.choices, allow_blank=True)


class CorrectAddressIn(StrictSerializer):
    address = serializers.CharField(max_length=254, help_text="The right number (E.164) or e-mail address")


class AcknowledgementOut(serializers.Serializer):
    id = serializers.IntegerField()
    alarm = serializers.IntegerField(source="alarm_id")
    name = serializers.CharField()
    at = serializers.DateTimeField()
    promised_until = serializers.DateTimeField(help_text="If nothing is heard by then, the alarm comes back")
    note = serializers.CharField()


class AlarmOut(serializers.Serializer):
    id = serializers.IntegerField()
    outing = serializers.IntegerField(source="outing_id")
    guest_name = serializers.CharField(source="outing.guest.name")
    phone = serializers.CharField(source="outing.guest.phone")
    beat_name = serializers.CharField(source="outing.beat.name")
    pool_name = serializers.CharField(source="outing.pool.name", default=None, allow_null=True)
    alone = serializers.BooleanField(source="outing.alone")
    kind = serializers.ChoiceField(choices=Alarm.Kind.choices)
    deadline_number = serializers.IntegerField(help_text="0 where no time back was missed")
    stage = serializers.IntegerField(help_text="0: the angler alone was asked")
    turn = serializers.IntegerField(help_text="How often this stage was said again")
    due_back_at = serializers.DateTimeField()
    raised_at = serializers.DateTimeField()
    next_at = serializers.DateTimeField(allow_null=True, help_text="When the watch acts on it again")
    cleared_at = serializers.DateTimeField(allow_null=True)
    unreached = serializers.CharField(help_text="Whom this stage has no way to tell, and why")
    words = serializers.CharField(help_text="What came with a call for help, word for word")
    closed_at = serializers.DateTimeField(allow_null=True, help_text="When a keeper closed a call for help")
    closed_note = serializers.CharField()
    deliveries = DeliveryOut(many=True, source="deliveries.all")
    acknowledgements = AcknowledgementOut(many=True, source="acknowledgements.all")


class AnswerForIn(StrictSerializer):
    minutes = serializers.IntegerField(min_value=1, max_value=10_000, help_text="You will have an answer within")
    note = serializers.CharField(max_length=300, allow_blank=True, default="")


class CardOut(serializers.Serializer):
    """The emergency card, field by field and as it is read out."""

    fields_to_read = serializers.ListField(child=serializers.ListField(child=serializers.CharField()))
    text = serializers.CharField()


class CloseHelpIn(StrictSerializer):
    note = serializers.CharField(max_length=300, help_text="Whom you spoke to, or what you found")


class AnglerMessageOut(serializers.Serializer):
    """A text of an angler, word for word."""

    id = serializers.IntegerField()
    outing = serializers.IntegerField(source="outing_id", allow_null=True)
    guest = serializers.IntegerField(source="guest_id", allow_null=True)
    guest_name = serializers.CharField(source="guest.name", default="")
    sender = serializers.CharField(help_text="The number it came from; empty where none came with it")
    text = serializers.CharField()
    received_at = serializers.DateTimeField()
    understood = serializers.BooleanField(help_text="False: a person must read it")
    outcome = serializers.CharField(help_text="What the service made of it")


class RodOut(serializers.Serializer):
    outing = serializers.IntegerField()
    phone = serializers.CharField()
    alone = serializers.BooleanField()
    stage = serializers.IntegerField(help_text="Of the newest open alarm; -1 when there is none")
    sentence = serializers.CharField()
    on_the_water = serializers.BooleanField(help_text="False: checked out, and a later call for help is open")


class LeftOut(serializers.Serializer):
    """One angler off the water, and who entered that."""

    outing = serializers.IntegerField()
    name = serializers.CharField()
    sentence = serializers.CharField()
    undo_until = serializers.DateTimeField(allow_null=True, help_text="Null once the two minutes are over")


class BoardOut(serializers.Serializer):
    """What hangs on the wall of the hut; the one to look for first at the top."""

    watch = serializers.ListField(child=serializers.CharField(), help_text="What is wrong with the watch itself")
    rods = RodOut(many=True)
    warnings = serializers.ListField(child=serializers.CharField(), help_text="Of weather and flood, in force")
    turns = serializers.ListField(
        child=serializers.CharField(),
        help_text="Rods on a pool that they must not fish, by today's rota or on the water",
    )
    recalls = serializers.ListField(child=serializers.CharField())
    undelivered = serializers.ListField(child=serializers.CharField())
    tasks = serializers.IntegerField(help_text="Messages that did not arrive and wait for a keeper: undelivered/")
    loops = serializers.DictField(child=serializers.DateTimeField(), help_text="When each loop last went round")
    texts = AnglerMessageOut(
        many=True, help_text="Of anglers, of the last twelve hours, to be read first at the top"
    )
    off = LeftOut(many=True, help_text="Off the water within twelve hours, the newest first")


class RecallIn(StrictSerializer):
    beat = Ref()
    reason = serializers.CharField(max_length=180, help_text="A sentence for those on the water")
    pools = serializers.ListField(child=Ref(), default=list, max_length=100, help_text="Empty: the whole beat")


class CallOut(serializers.Serializer):
    outing = serializers.IntegerField(source="outing_id")
    guest_name = serializers.CharField(source="outing.guest.name")
    told_at = serializers.DateTimeField()
    answered_at = serializers.DateTimeField(allow_null=True)
    out_at = serializers.DateTimeField(source="outing.checked_out_at", allow_null=True)


class RecallOut(serializers.Serializer):
    id = serializers.IntegerField()
    beat = serializers.IntegerField(source="beat_id")
    beat_name = serializers.CharField(source="beat.name")
    pools = serializers.ListField(child=serializers.IntegerField())
    cause = serializers.ChoiceField(choices=Recall.Cause.choices)
    reason = serializers.CharField()
    called_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True)
    calls = CallOut(many=True, source="seen_calls")


class RecallAnswerIn(StrictSerializer):
    outing = Ref()


class WarningIn(StrictSerializer):
    fishery = serializers.SlugField()
    kind = serializers.ChoiceField(choices=AreaWarning.Kind.choices)
    level = serializers.ChoiceField(
        choices=AreaWarning.Level.choices, help_text="Weather: yellow, amber, red; flood: alert, warning, severe"
    )
    text = serializers.CharField(max_length=120, help_text="What it warns of, as the public body says")
    from_at = Instant()
    until_at = Instant()


class WarningOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    kind = serializers.ChoiceField(choices=AreaWarning.Kind.choices)
    level = serializers.ChoiceField(choices=AreaWarning.Level.choices)
    text = serializers.CharField()
    from_at = serializers.DateTimeField()
    until_at = serializers.DateTimeField()
    entered_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True, help_text="When it was taken back")


class DutyIn(StrictSerializer):
    fishery = serializers.SlugField()
    user = Ref()
    from_at = Instant()
    until_at = Instant()


class DutyOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    user = serializers.IntegerField(source="user_id")
    name = serializers.CharField(source="user.name")
    from_at = serializers.DateTimeField()
    until_at = serializers.DateTimeField()


class DrillIn(StrictSerializer):
    fishery = serializers.SlugField()


class DrillOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    asked_at = serializers.DateTimeField()
    raised_at = serializers.DateTimeField(allow_null=True, help_text="When a sweep wrote its messages")
    sent_at = serializers.DateTimeField(allow_null=True, help_text="When the last of them was taken")
    answered_at = serializers.DateTimeField(allow_null=True)
    answered_by = serializers.CharField(source="answered_by.name", default=None, allow_null=True)


class IncidentIn(StrictSerializer):
    fishery = serializers.SlugField()
    kind = serializers.ChoiceField(choices=Incident.Kind.choices)
    title = serializers.CharField(max_length=200)
    what_happened = serializers.CharField(max_length=5000, allow_blank=True, default="")
    outing = Ref(required=False, allow_null=True, default=None)


class MomentOut(serializers.Serializer):
    at = serializers.CharField()
    what = serializers.CharField()
    who = serializers.CharField()
    facts = serializers.CharField()


class IncidentOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    outing = serializers.IntegerField(source="outing_id", allow_null=True)
    kind = serializers.ChoiceField(choices=Incident.Kind.choices)
    title = serializers.CharField()
    what_happened = serializers.CharField()
    opened_at = serializers.DateTimeField()
    timeline = MomentOut(many=True)


class WatchPolicyIn(StrictSerializer):
    policy = serializers.DictField(help_text="What differs from the usual; GET shows every name")
    contact_minutes = serializers.IntegerField(min_value=0, max_value=1440, required=False)
    warn_minutes = serializers.IntegerField(min_value=0, max_value=240, required=False)
    grace_minutes = serializers.IntegerField(
        min_value=0, max_value=LONGEST_GRACE_MIN, required=False,
        help_text="From the time back to the alarm, in company; for times back given from now on",
    )  # fmt: skip
    lone_grace_minutes = serializers.IntegerField(
        min_value=0,
        max_value=LONGEST_LONE_GRACE_MIN,
        required=False,
        help_text="The same for a lone angler; best 0",
    )


class WatchPolicyOut(serializers.Serializer):
    policy = serializers.DictField()
    contact_minutes = serializers.IntegerField()
    warn_minutes = serializers.IntegerField()
    grace_minutes = serializers.IntegerField()
    lone_grace_minutes = serializers.IntegerField()


class PushKeysIn(StrictSerializer):
    p256dh = serializers.CharField(max_length=100)
    auth = serializers.CharField(max_length=40)


class PushAddressIn(StrictSerializer):
    """What PushSubscription.toJSON() gives in the page, and a name for the phone."""

    endpoint = serializers.CharField(max_length=1000)
    expirationTime = serializers.FloatField(  # noqa: N815 - the Push API's own name
        required=False,
        allow_null=True,
        help_text="Not kept: a push service says when one is gone",
    )
    keys = PushKeysIn()
    label = serializers.CharField(max_length=80, allow_blank=True, default="", help_text="Which phone this is")


class PushAddressOut(serializers.Serializer):
    id = serializers.IntegerField()
    label = serializers.CharField()
    host = serializers.CharField(help_text="Of the browser's push service")
    made_at = serializers.DateTimeField()


class PushKeyOut(serializers.Serializer):
    public_key = serializers.CharField(help_text="applicationServerKey; empty: this service pushes nothing")


class GatewayEventIn(serializers.Serializer):
    type = serializers.CharField(max_length=40)
    data = serializers.DictField()


class GatewayToldOut(serializers.Serializer):
    outcome = serializers.CharField()
    reply = serializers.CharField(help_text="Text this back; empty: nothing")
