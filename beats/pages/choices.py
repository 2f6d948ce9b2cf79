"""What keepers choose from, told alike on every page."""

from django import forms
from django.db.models import QuerySet

from beats.models import Fishery, Pool


class PoolsField(forms.ModelMultipleChoiceField):
    """Pools as tiles, each with the beat it is on; the form sets `queryset` to the pools of its fishery."""

    def __init__(self, **more) -> None:
        super().__init__(None, widget=forms.CheckboxSelectMultiple, **more)

    def clean(self, value):
        """A number no row can have is no choice; SQLite would not even look for it."""
        try:
            return super().clean(value)
        except OverflowError:
            sentence, chosen = self.error_messages["invalid_choice"], {"value": ", ".join(value)}
            raise forms.ValidationError(sentence, code="invalid_choice", params=chosen) from None

    def label_from_instance(self, pool: Pool) -> str:
        return f"{pool.name} ({pool.beat.name})"


def pools_of(fishery: Fishery) -> QuerySet[Pool]:
    """Those still fished, down the river."""
    pools = Pool.objects.filter(beat__fishery=fishery, retired=False).select_related("beat__fishery")
    return pools.order_by("beat__order", "order", "id")
