"""Terms, tariff and ledger on the wire. Sums are exact: text with two decimals."""

from decimal import Decimal

from rest_framework import serializers

from beats.shared.rest import Day, Ref, StrictSerializer
from bookings.models import LedgerEntry, Let
from bookings.tariff import LAST_WEEK, MOST, money
from bookings.terms_limits import CURRENCY, FIGURES, LONGEST_RULES


class Sum(serializers.DecimalField):
    """Whole pennies, as text such as "85.00"."""

    default_error_messages = {
        "max_decimal_places": "There is no coin below a penny. Give the amount in whole pennies, such as 85.00.",
        "invalid": 'Write an amount of money such as "85.00".',
        "float": 'Write the amount as text, such as "85.00": a number with a point is not exact.',
    }

    def __init__(self, **kwargs):
        super().__init__(max_digits=9, decimal_places=2, max_value=MOST, **kwargs)

    def to_internal_value(self, data):
        if isinstance(data, float):
            self.fail("float")
        if isinstance(data, bool):
            self.fail("invalid")
        return money(super().to_internal_value(data))


class Currency(serializers.RegexField):
    def __init__(self, **kwargs):
        super().__init__(CURRENCY, max_length=3, help_text="ISO 4217, such as GBP", **kwargs)


def _figure(name: str) -> serializers.IntegerField:
    return serializers.IntegerField(**FIGURES[name].ends, required=False)


class TermsChange(StrictSerializer):
    """What may be changed; leave out what stays."""

    currency = Currency(required=False)
    vat_percent = serializers.DecimalField(
        max_digits=4,
        decimal_places=2,
        min_value=Decimal(0),
        max_value=FIGURES["vat_percent"].highest,
        required=False,
    )
    vat_included = serializers.BooleanField(required=False)
    deposit_percent = _figure("deposit_percent")
    deposit_days = _figure("deposit_days")
    balance_days = _figure("balance_days")
    water_rules = serializers.CharField(max_length=LONGEST_RULES, allow_blank=True, required=False)
    keep_guests_months = _figure("keep_guests_months")
    keep_contacts_months = _figure("keep_contacts_months")
    keep_letters_months = _figure("keep_letters_months")


class TermsOut(serializers.Serializer):
    fishery = serializers.CharField(source="fishery.slug")
    currency = serializers.CharField()
    vat_percent = serializers.DecimalField(max_digits=4, decimal_places=2)
    vat_included = serializers.BooleanField()
    deposit_percent = serializers.IntegerField()
    deposit_days = serializers.IntegerField()
    balance_days = serializers.IntegerField()
    water_rules = serializers.CharField()
    keep_guests_months = serializers.IntegerField()
    keep_contacts_months = serializers.IntegerField()
    keep_letters_months = serializers.IntegerField()
    version = serializers.IntegerField()


class PriceIn(StrictSerializer):
    beat = Ref(required=False, allow_null=True, default=None, help_text="Left out: every beat")
    kind = serializers.ChoiceField(
        choices=Let.Kind.choices, allow_blank=True, default="", help_text="Blank: every kind"
    )
    first_week = serializers.IntegerField(
        min_value=1, max_value=LAST_WEEK, default=1, help_text="Week of the season; 1 holds its first day"
    )
    last_week = serializers.IntegerField(min_value=1, max_value=LAST_WEEK, default=LAST_WEEK)
    first_on = Day(help_text="The first day of fishing it prices")
    last_on = Day(required=False, allow_null=True, default=None, help_text="Left out: until further notice")
    rod_day = Sum(help_text="One rod on one day")
    currency = Currency()


class PriceEnd(StrictSerializer):
    last_on = Day(help_text="The last day of fishing it prices")


class PriceOut(serializers.Serializer):
    id = serializers.IntegerField()
    fishery = serializers.CharField(source="fishery.slug")
    beat = serializers.IntegerField(source="beat_id", allow_null=True)
    kind = serializers.ChoiceField(choices=Let.Kind.choices, allow_blank=True)
    first_week = serializers.IntegerField()
    last_week = serializers.IntegerField()
    first_on = serializers.DateField()
    last_on = serializers.DateField(allow_null=True)
    rod_day = serializers.DecimalField(max_digits=9, decimal_places=2)


class QuoteLineOut(serializers.Serializer):
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    rod_days = serializers.IntegerField()
    rod_day = serializers.DecimalField(max_digits=9, decimal_places=2)
    net = serializers.DecimalField(max_digits=12, decimal_places=2)
    vat = serializers.DecimalField(max_digits=12, decimal_places=2)
    gross = serializers.DecimalField(max_digits=12, decimal_places=2)


class DueOut(serializers.Serializer):
    due_on = serializers.DateField()
    amount = serializers.DecimalField(max_digits=12, decimal_places=2)
    what = serializers.CharField()


class AgreedLineOut(serializers.Serializer):
    """Rod-days at one agreed price. A later tariff or VAT rate does not change it."""

    first_on = serializers.DateField()
    last_on = serializers.DateField()
    rod_days = serializers.IntegerField()
    rod_day = serializers.DecimalField(
        max_digits=9, decimal_places=2, allow_null=True, help_text="Null: no price was agreed, nothing is charged"
    )
    vat_percent = serializers.DecimalField(max_digits=4, decimal_places=2)
    net = serializers.DecimalField(max_digits=12, decimal_places=2)
    vat = serializers.DecimalField(max_digits=12, decimal_places=2)
    gross = serializers.DecimalField(max_digits=12, decimal_places=2)
    given_up_on = serializers.DateField(allow_null=True)
    refund_percent = serializers.IntegerField(
        allow_null=True, help_text="By the refund policy when given up; 100 for days exchanged for others"
    )
    credited = serializers.DecimalField(max_digits=12, decimal_places=2)
    kept = serializers.DecimalField(max_digits=12, decimal_places=2, help_text="What is charged for them")


class PayerOut(serializers.Serializer):
    """What one guest paid on a let."""

    guest = serializers.IntegerField()
    name = serializers.CharField()
    paid = serializers.DecimalField(max_digits=12, decimal_places=2, help_text="Less what was paid back")
    balance = serializers.DecimalField(
        max_digits=12, decimal_places=2, help_text="Above nothing: owed on this let; below: to get back"
    )
    has_let = serializers.BooleanField(help_text="False: a former booker; the sum is on their own account")


class LetMoneyOut(serializers.Serializer):
    """What a let was charged, what its booker paid on it, and what it would cost by today's tariff."""

    let = serializers.IntegerField()
    currency = serializers.CharField()
    price = serializers.DecimalField(max_digits=12, decimal_places=2, help_text="As charged")
    vat = serializers.DecimalField(max_digits=12, decimal_places=2, help_text="Held in the price")
    paid = serializers.DecimalField(max_digits=12, decimal_places=2)
    balance = serializers.DecimalField(max_digits=12, decimal_places=2)
    dues = DueOut(many=True)
    open_dues = DueOut(many=True)
    kind = serializers.ChoiceField(choices=Let.Kind.choices)
    tariff_today = QuoteLineOut(many=True)
    unpriced_days = serializers.ListField(child=serializers.DateField())
    agreed = AgreedLineOut(many=True, help_text="Price = the sum of kept + by_hand")
    by_hand = serializers.DecimalField(
        max_digits=12, decimal_places=2, help_text="What was put on the price or taken off it by hand"
    )
    payers = PayerOut(many=True)


class EntryIn(StrictSerializer):
    guest = Ref()
    let = Ref(required=False, allow_null=True, default=None)
    kind = serializers.ChoiceField(choices=LedgerEntry.Kind.choices)
    amount = Sum(min_value=Decimal("0.01"), help_text="Above nothing; the kind says which way it points")
    currency = Currency()
    booked_on = Day(required=False, allow_null=True, default=None, help_text="Today at the river, if left out")
    reference = serializers.CharField(max_length=80, allow_blank=True, default="")
    note = serializers.CharField(max_length=200, allow_blank=True, default="")


class EntryOut(serializers.Serializer):
    id = serializers.IntegerField()
    guest = serializers.IntegerField(source="guest_id")
    let = serializers.IntegerField(source="let_id", allow_null=True)
    kind = serializers.ChoiceField(choices=LedgerEntry.Kind.choices)
    amount = serializers.DecimalField(
        max_digits=12, decimal_places=2, help_text="Above nothing: owed by the guest"
    )
    vat = serializers.DecimalField(max_digits=12, decimal_places=2)
    currency = serializers.CharField()
    booked_on = serializers.DateField()
    entered_at = serializers.DateTimeField()
    reference = serializers.CharField()
    note = serializers.CharField()


class StatementLineOut(serializers.Serializer):
    booked_on = serializers.DateField()
    what = serializers.CharField()
    let = serializers.IntegerField(allow_null=True)
    reference = serializers.CharField()
    note = serializers.CharField()
    amount = serializers.DecimalField(max_digits=12, decimal_places=2)
    vat = serializers.DecimalField(max_digits=12, decimal_places=2)


class GivenUpOut(serializers.Serializer):
    let = serializers.IntegerField()
    line = AgreedLineOut()


class StatementOut(serializers.Serializer):
    guest = serializers.CharField()
    currency = serializers.CharField()
    balance = serializers.DecimalField(
        max_digits=12, decimal_places=2, help_text="The sum of all entries; above nothing: owed by the guest"
    )
    entries = StatementLineOut(many=True)
    given_up = GivenUpOut(many=True, help_text="Days given up of which a part stays charged")


class PaymentFacts(serializers.Serializer):
    let = Ref(help_text="Which let was paid for")
    amount = Sum(min_value=Decimal("0.01"))
    currency = Currency()
    reference = serializers.CharField(max_length=80, allow_blank=True, default="")


class PaymentMessage(serializers.Serializer):
    """A signed message; fields it holds beyond these are the sender's own."""

    type = serializers.ChoiceField(choices=[("payment.received", "payment.received")])
    timestamp = serializers.CharField(required=False)
    data = PaymentFacts()


class TakingsMonthOut(serializers.Serializer):
    first_on = serializers.DateField()
    taken = serializers.DecimalField(max_digits=12, decimal_places=2, help_text="Paid in, less paid back")
    to_come = serializers.DecimalField(max_digits=12, decimal_places=2, help_text="Due and not yet paid")


class TakingsOut(serializers.Serializer):
    year = serializers.IntegerField()
    currency = serializers.CharField()
    taken = serializers.DecimalField(max_digits=12, decimal_places=2)
    to_come = serializers.DecimalField(max_digits=12, decimal_places=2)
    months = TakingsMonthOut(many=True)


class YearIn(StrictSerializer):
    year = serializers.IntegerField(min_value=1950, max_value=2200)
