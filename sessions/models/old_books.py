"""Old catch books brought in from a file, and the monthly totals of seasons whose fish nobody wrote down."""

from django.db import models
from django.db.models import Q

from beats.models import Fishery
from beats.shared.once import MadeOnce
from sessions.monthly import CLASSES


class OldBook(MadeOnce):
    """One file as it was brought in: what of it was read and how. Its fish and totals name it and their row."""

    class What(models.TextChoices):
        FISH = "fish", "a fish a row"
        MONTHS = "months", "monthly totals"

    fishery = models.ForeignKey(Fishery, on_delete=models.PROTECT, related_name="old_books")
    what = models.CharField(max_length=6, choices=What)
    name = models.CharField(max_length=120, help_text="Of the book or its file")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the file")
    sheet = models.CharField(max_length=60, blank=True)
    plan = models.JSONField(help_text="How its columns were read")
    rows = models.PositiveIntegerField(help_text="Rows of the file that were brought in")
    brought_in_at = models.DateTimeField()
    taken_out_at = models.DateTimeField(null=True)
    reason = models.CharField(max_length=200, blank=True, help_text="Why it was taken out again")

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(
                fields=["fishery", "what", "digest", "sheet"], condition=Q(taken_out_at__isnull=True),
                name="an_old_book_comes_in_once",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return self.name


class MonthlyTotal(models.Model):
    """Fish of one month, class and fate where nobody knows them one by one. Nought is a total, too."""

    fishery = models.ForeignKey(Fishery, on_delete=models.PROTECT, related_name="monthly_totals")
    season = models.PositiveSmallIntegerField()
    month = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=12, choices=list(CLASSES.items()))
    fate = models.CharField(max_length=10, choices=[("kept", "kept"), ("released", "released")])
    number = models.PositiveIntegerField()
    weight_kg = models.DecimalField(max_digits=12, decimal_places=2, null=True, help_text="Null where not known")
    old_book = models.ForeignKey(OldBook, on_delete=models.PROTECT, related_name="totals")
    old_row = models.PositiveIntegerField(help_text="Its row in the file of that old book")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["fishery", "season", "month", "kind", "fate"], name="one_total_a_month_class_and_fate"
            ),
            models.CheckConstraint(condition=Q(month__gte=1, month__lte=12), name="a_total_is_of_a_month"),
            models.CheckConstraint(
                condition=Q(weight_kg__isnull=True) | Q(weight_kg__gt=0, number__gt=0),
                name="a_total_weight_has_fish",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.kind} {self.fate} in {self.season}-{self.month:02}"
