"""Which country a time zone lies in, for telephone numbers written without a country code. Pure.

The table is `zone.tab` of the IANA time zone database, as the tzdata package ships it.
"""

from functools import cache
from importlib import resources

UNKNOWN = "GB"
"""Where the table does not name the zone: the law the service holds is Scotland's."""


@cache
def _countries() -> dict[str, str]:
    table = resources.files("tzdata").joinpath("zoneinfo", "zone.tab").read_text(encoding="utf-8")
    rows = [line.split("\t") for line in table.splitlines() if line and not line.startswith("#")]
    return {row[2]: row[0] for row in rows}


def country_of(time_zone: str) -> str:
    """ISO 3166 alpha-2 code of the country of an IANA zone name such as Europe/London."""
    return _countries().get(time_zone, UNKNOWN)
