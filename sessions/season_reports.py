"""The owner's season report, put together from the book; and how its return stands, in words."""

import datetime as dt

from beats.models import Fishery
from beats.queries import local_day
from beats.shared import words
from beats.shares import take
from bookings.accounts import takings
from sessions.lets_let import season_lets
from sessions.models import Return
from sessions.papers import season_report
from sessions.queries import last_signed
from sessions.returns import SeasonReturn, season_return
from sessions.seasons import season_statistics

NOT_SIGNED = "Not signed: the book as it stands."


def standing_words(made: SeasonReturn, last: Return | None) -> str:
    """How the figures of the book stand to what was signed last."""
    return signed_words(last) if last and last.content_hash == made.content_hash else NOT_SIGNED


def signed_words(signed: Return) -> str:
    return f"Signed {words.day(signed.signed_at.date())}, version {signed.version}, {signed.content_hash[:12]}."


def report_of(fishery: Fishery, season: int, now: dt.datetime) -> season_report.SeasonReport:
    """Everything on the four pages: the dearest file there is, so it comes out of the fishery's share."""
    take("books", fishery, now=now)
    made, last = season_return(fishery, season, now=now), last_signed(fishery, season)
    standing = standing_words(made, last)
    if last and standing == NOT_SIGNED:
        standing = f"The book has changed since version {last.version} was signed."
    salmon, trout = (
        season_statistics(fishery, season, species=species, now=now) for species in ("salmon", "sea_trout")
    )
    money = takings(fishery, season, today=local_day(fishery, now))
    lets = season_lets(fishery, season, takings=money["months"], currency=money["currency"])
    return season_report.SeasonReport(made, standing, salmon, trout, lets, now)
