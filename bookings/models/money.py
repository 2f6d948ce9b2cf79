"""What a let costs and what was paid: terms, tariff, and the ledger, to which rows are only ever added."""

from django.db import models
from django.db.models import F, Q

from beats.models import Beat, Fishery
from beats.shared.once import MadeOnce
from beats.shared.phrases import say
from bookings.models.book import Guest, Let
from bookings.tariff import LAST_WEEK


class Terms(models.Model):
    """What a fishery asks of whoever books, and how long it remembers them. One row a fishery."""

    fishery = models.OneToOneField(Fishery, on_delete=models.CASCADE, related_name="terms")
    currency = models.CharField(max_length=3, default="GBP", help_text="ISO 4217, such as GBP")
    vat_percent = models.DecimalField(max_digits=4, decimal_places=2, default=20)
    vat_included = models.BooleanField(default=True, help_text="Whether the tariff's prices hold VAT already")
    deposit_percent = models.PositiveSmallIntegerField(default=25)
    deposit_days = models.PositiveSmallIntegerField(default=14, help_text="Days after booking to pay it")
    balance_days = models.PositiveSmallIntegerField(default=56, help_text="Days before fishing to pay the rest")
    water_rules = models.TextField(max_length=2000, blank=True, help_text="Rules of the water, for every permit")
    keep_guests_months = models.PositiveSmallIntegerField(
        default=84, help_text="Names, counted from the last day they fished, booked or paid"
    )
    keep_contacts_months = models.PositiveSmallIntegerField(
        default=24, help_text="Emergency contact and needs, counted the same"
    )
    keep_letters_months = models.PositiveSmallIntegerField(default=24, help_text="What was mailed and to whom")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "terms"
        constraints = [
            models.CheckConstraint(
                condition=Q(deposit_percent__lte=100, vat_percent__gte=0), name="terms_keep_within_the_price"
            )
        ]

    def __str__(self) -> str:
        return f"terms of {self.fishery}"


class Tariff(MadeOnce):
    """One row of the tariff: the price of one rod on one day.

    A null beat is every beat, a blank kind every kind.
    """

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="tariff")
    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, null=True, related_name="tariff")
    kind = models.CharField(max_length=10, choices=Let.Kind, blank=True)
    first_week = models.PositiveSmallIntegerField(default=1, help_text="Week of the season; 1 holds its first day")
    last_week = models.PositiveSmallIntegerField(default=LAST_WEEK)
    first_on = models.DateField(help_text="The first day of fishing it prices")
    last_on = models.DateField(null=True, help_text="The last; null: until further notice")
    rod_day = models.DecimalField(max_digits=9, decimal_places=2)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(rod_day__gte=0), name="a_price_is_not_negative"),
            models.CheckConstraint(
                condition=Q(first_week__gte=1, first_week__lte=F("last_week")), name="weeks_run_forward"
            ),
            models.CheckConstraint(
                condition=Q(last_on__isnull=True) | Q(last_on__gte=F("first_on")),
                name="a_price_ends_after_it_starts",
            ),
            models.UniqueConstraint(
                fields=["fishery", "beat", "kind", "first_week", "last_week", "first_on"],
                name="one_price_of_a_beat_and_span",
            ),
            models.UniqueConstraint(
                fields=["fishery", "kind", "first_week", "last_week", "first_on"],
                condition=Q(beat__isnull=True),
                name="one_price_of_all_beats_and_span",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rod_day} a rod-day from {self.first_on}"


class AgreedPrice(models.Model):
    """The price agreed for one rod of a let on one day; kept when the tariff, the terms or the rods change.

    One row for each rod-day, made when the let is confirmed or the rod-day is added. A row given up keeps
    what was credited of it; what is charged for the row is `gross - credited`.
    """

    let = models.ForeignKey(Let, on_delete=models.CASCADE, related_name="agreed_prices")
    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="agreed_prices")
    day = models.DateField()
    rod_day = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, help_text="The price of the tariff; null: none was agreed"
    )
    vat_percent = models.DecimalField(max_digits=4, decimal_places=2)
    vat_included = models.BooleanField(help_text="Whether rod_day holds VAT")
    currency = models.CharField(max_length=3)
    gross = models.DecimalField(max_digits=12, decimal_places=2)
    vat = models.DecimalField(max_digits=12, decimal_places=2, help_text="Held in gross")
    agreed_at = models.DateTimeField()
    given_up_at = models.DateTimeField(null=True)
    refund_percent = models.PositiveSmallIntegerField(null=True, help_text="Of gross; set when it is given up")
    credited = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    credited_vat = models.DecimalField(max_digits=12, decimal_places=2, default=0, help_text="Held in credited")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(gross__gte=0, vat__gte=0, credited__gte=0, credited__lte=F("gross")),
                name="agreed_price_sums",
            ),
            models.CheckConstraint(
                condition=Q(given_up_at__isnull=True, refund_percent__isnull=True, credited=0)
                | Q(given_up_at__isnull=False, refund_percent__lte=100),
                name="agreed_price_given_up",
            ),
        ]
        indexes = [models.Index(fields=["let", "day"], name="agreed_price_by_let_and_day")]

    def __str__(self) -> str:
        return f"{self.gross} {self.currency} for {self.day}"


class Unchangeable(TypeError):
    """Somebody's code tried to change the ledger."""


class LedgerRows(models.QuerySet):
    """Rows that can be added and read. The database refuses the rest too, by triggers."""

    def update(self, **_facts):
        raise Unchangeable("a ledger entry is never changed; add one that sets it right")

    def delete(self):
        raise Unchangeable("a ledger entry is never taken out; add one that sets it right")

    def bulk_update(self, *_rows, **_facts):
        raise Unchangeable("a ledger entry is never changed; add one that sets it right")


class LedgerEntry(MadeOnce):
    """One sum: what a guest owes more (above nothing) or less (below it). The balance is the sum of all.

    Never changed and never taken out, by this code and by triggers in both databases.
    """

    class Kind(models.TextChoices):
        CHARGE = "charge", say("the price of a let")
        CREDIT = "credit", say("a price taken back")
        PAYMENT = "payment", say("paid by the guest")
        REFUND = "refund", say("paid back to the guest")

    OWED_MORE = (Kind.CHARGE, Kind.REFUND)

    fishery = models.ForeignKey(Fishery, on_delete=models.PROTECT, related_name="ledger")
    guest = models.ForeignKey(Guest, on_delete=models.PROTECT, related_name="ledger")
    let = models.ForeignKey(Let, on_delete=models.PROTECT, null=True, related_name="ledger")
    kind = models.CharField(max_length=8, choices=Kind)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    vat = models.DecimalField(max_digits=12, decimal_places=2, default=0, help_text="Held in the amount")
    currency = models.CharField(max_length=3)
    booked_on = models.DateField(help_text="The date at the river it counts by")
    entered_at = models.DateTimeField()
    reference = models.CharField(max_length=80, blank=True, help_text="What the bank or the payer calls it")
    note = models.CharField(max_length=200, blank=True)
    hook_id = models.CharField(max_length=128, null=True, help_text="The id of the signed message that brought it")

    objects = LedgerRows.as_manager()

    class Meta(MadeOnce.Meta):
        verbose_name_plural = "ledger entries"
        base_manager_name = "objects"
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(fields=["fishery", "hook_id"], name="one_entry_of_a_message"),
            models.CheckConstraint(
                condition=Q(kind__in=["charge", "refund"], amount__gt=0)
                | Q(kind__in=["credit", "payment"], amount__lt=0),
                name="a_ledger_entry_points_the_right_way",
            ),
        ]
        indexes = [models.Index(fields=["fishery", "booked_on"], name="ledger_by_fishery_and_day")]

    def __str__(self) -> str:
        return f"{self.kind} of {self.amount} {self.currency}"

    def save(self, *args, **kwargs):
        if not self._state.adding:
            raise Unchangeable("a ledger entry is never changed; add one that sets it right")
        super().save(*args, **kwargs)

    def delete(self, *_args, **_kwargs):
        raise Unchangeable("a ledger entry is never taken out; add one that sets it right")
