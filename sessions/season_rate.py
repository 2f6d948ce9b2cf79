"""The rate of a season: salmon per rod-day, by the rod-days that its return counts."""

from collections.abc import Collection, Iterable

from beats.shared.phrases import joined, say
from sessions.effort import MonthEffort
from sessions.month_records import month_name
from sessions.statistics.rates import Rate, rate

FOR_SALMON = say("Rod-days are those of the return, fished for salmon, so sea trout have no rate.")


def season_rate(fish: int, fished: Collection[int], effort: Iterable[MonthEffort]) -> Rate:
    """`fish` by the rod-days of `effort`. `fished` are the months with a fish, or stated as fished.

    No rate where the rod-days of a month that was fished are not known: the others alone would overstate it.
    """
    efforts = {each.month: each for each in effort}
    counted = {month: each.counted for month, each in efforts.items()}
    seen = {month for month, each in efforts.items() if each.checked_in}
    if unknown := [month for month in sorted({*fished, *seen}) if counted.get(month) is None]:
        names = joined([month_name(month) for month in unknown], ", ")
        return Rate(
            fish,
            None,
            None,
            None,
            None,
            say("Rod-days are not on record for {months}, so there is no rate.", months=names),
        )
    return rate(fish, sum(days for days in counted.values() if days is not None))
