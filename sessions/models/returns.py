"""The return as it was signed, when it is due, and the keys of those who may read it."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from beats.models import Fishery
from beats.shared.once import MadeOnce
from beats.shared.phrases import say


class Return(MadeOnce):
    """A signed return. Rows are only ever added: an amendment is a new version."""

    class State(models.TextChoices):
        NIL = "nil"
        DATA = "data"

    class Capacity(models.TextChoices):
        """Those who are asked for the return: proprietors, occupiers or their agents (gov.scot, "Collecting Salmon
        and Sea Trout Fishery Data")."""

        OWNER = "owner", say("Owner")
        OCCUPIER = "occupier", say("Occupier")
        AGENT = "agent", say("Agent")

    fishery = models.ForeignKey(Fishery, on_delete=models.PROTECT, related_name="returns")
    season = models.PositiveSmallIntegerField()
    version = models.PositiveIntegerField()
    state = models.CharField(max_length=4, choices=State)
    snapshot = models.JSONField(help_text="The table as it was signed")
    fish = models.JSONField(help_text="Which fish it was made of: [id, version] of each")
    content_hash = models.CharField(max_length=64, help_text="SHA-256 of the snapshot")
    findings = models.JSONField(default=list, help_text="What was on the review list when it was signed")
    differences = models.JSONField(default=list, help_text="From the version before")
    reason = models.CharField(max_length=300, blank=True, help_text="Why it was amended; empty on the first")
    signed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signed_at = models.DateTimeField()
    signer_name = models.CharField(max_length=120, blank=True, default="", db_default="")
    signer_capacity = models.CharField(max_length=8, choices=Capacity, blank=True, default="", db_default="")
    signer_address = models.CharField(max_length=400, blank=True, default="", db_default="")
    declaration = models.TextField(blank=True, default="", db_default="", help_text="As it stood when signed")

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(fields=["fishery", "season", "version"], name="one_return_of_a_version"),
            models.CheckConstraint(condition=Q(version=1) | ~Q(reason=""), name="an_amendment_says_why"),
        ]

    def __str__(self) -> str:
        return f"return of {self.fishery} for {self.season}, version {self.version}"


class ReturnDue(models.Model):
    """When a season's return is to be in. A setting of the owner: no official date was found."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="returns_due")
    season = models.PositiveSmallIntegerField()
    due_on = models.DateField()
    anglers_due_on = models.DateField(null=True, help_text="By when anglers give the owner their own figures")
    remind_days = models.PositiveSmallIntegerField(default=14, help_text="How long before the owner is reminded")
    reminded_at = models.DateTimeField(null=True)
    leased_until = models.DateTimeField(null=True, help_text="Somebody is sending the reminder until then")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["fishery", "season"], name="one_due_date_a_season")]

    def __str__(self) -> str:
        return f"return of {self.fishery} for {self.season}, due {self.due_on}"


class BoardKey(MadeOnce):
    """The secret of a district board's machine, which reads this fishery's signed returns and nothing else.

    Only its SHA-256 is kept.
    """

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="board_keys")
    label = models.CharField(max_length=80)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.label} at {self.fishery}"


class EffortDecision(MadeOnce):
    """The owner's word on a month's rod-days where the book's sources differ. The newest of a month holds."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="effort_decisions")
    season = models.PositiveSmallIntegerField()
    month = models.PositiveSmallIntegerField()
    rod_days = models.PositiveIntegerField()
    reason = models.CharField(max_length=300)
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    decided_at = models.DateTimeField()

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(month__gte=1, month__lte=12), name="effort_is_of_a_month"),
            models.CheckConstraint(condition=~Q(reason=""), name="effort_is_decided_with_a_reason"),
        ]
        indexes = [models.Index(fields=["fishery", "season"], name="effort_by_season")]

    def __str__(self) -> str:
        return f"{self.rod_days} rod-days of {self.fishery} in {self.season}-{self.month:02}"


class MonthStatement(MadeOnce):
    """The owner's statement on a month without fish. The newest of a month holds; "no record" takes one back."""

    class Record(models.TextChoices):
        NO_RECORD = "no_record", say("no record")
        NO_FISHING = "no_fishing", say("no fishing")
        NONE_CAUGHT = "none_caught", say("fished, none caught")

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="month_statements")
    season = models.PositiveSmallIntegerField()
    month = models.PositiveSmallIntegerField()
    record = models.CharField(max_length=11, choices=Record)
    stated_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    stated_at = models.DateTimeField()

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(
                condition=Q(month__gte=1, month__lte=12), name="fishing_sessions_monthstatement_month"
            ),
        ]
        indexes = [models.Index(fields=["fishery", "season"], name="month_statements_by_season")]

    def __str__(self) -> str:
        return f"{self.record} of {self.fishery} in {self.season}-{self.month:02}"


class ReviewAnswer(MadeOnce):
    """The owner's answer to a question of the review that changes no figure: why it is right as it stands.

    It holds while the question reads the same; other figures ask again.
    """

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="review_answers")
    season = models.PositiveSmallIntegerField()
    code = models.CharField(max_length=30)
    month = models.PositiveSmallIntegerField(null=True)
    question = models.TextField(help_text="The question as it was asked")
    reason = models.CharField(max_length=300)
    answered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    answered_at = models.DateTimeField()

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=~Q(reason=""), name="fishing_sessions_reviewanswer_reason"),
        ]
        indexes = [models.Index(fields=["fishery", "season"], name="review_answers_by_season")]

    def __str__(self) -> str:
        return f"answer to {self.code} of {self.fishery} in {self.season}"
