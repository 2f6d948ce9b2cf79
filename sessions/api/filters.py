"""Which fish of the book: by season, month, beat, species, fate and what else was noted."""

from django.db.models import Q
from django_filters.rest_framework import ChoiceFilter

from beats.shared.rest import StrictFilterSet, TrueOrFalseFilter, WholeNumberFilter
from sessions.models import Catch

SPECIES = {
    "salmon": ["msw", "1sw"],
    "sea_trout": ["sea_trout", "finnock"],
    "farmed": ["farmed_msw", "farmed_1sw"],
    "uncounted": ["kelt", "non_native"],
}


class CatchFilter(StrictFilterSet):
    season = WholeNumberFilter(field_name="caught_on__year", min_value=1950, max_value=2200, label="Year caught")
    month = WholeNumberFilter(field_name="caught_on__month", min_value=1, max_value=12)
    species = ChoiceFilter(choices=[(name, name) for name in SPECIES], method="of_species")
    flagged = TrueOrFalseFilter(method="with_flag", label="Fish the law has something against")

    class Meta:
        model = Catch
        fields = {
            "beat": ["exact"], "pool": ["exact"], "guest": ["exact"], "outing": ["exact"], "kind": ["exact"],
            "fate": ["exact"], "method": ["exact"], "part": ["exact"], "old_book": ["exact"],
            "caught_on": ["exact", "gte", "lte"],
        }  # fmt: skip

    def of_species(self, fish, _name, value):
        return fish.filter(kind__in=SPECIES[value])

    def with_flag(self, fish, _name, value):
        return fish.exclude(flag="") if value else fish.filter(Q(flag=""))
