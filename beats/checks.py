"""What `manage.py check` asks of this installation."""

from zoneinfo import available_timezones

from django.conf import settings
from django.core import checks
from django.db import connections

from beats import places
from beats.models import Fishery, Pool
from beats.shared import wall
from beats.shares import AN_HOUR, IN_ALL


@checks.register()
def shares_are_of_known_kinds(**_) -> list[checks.Error]:
    known = {**AN_HOUR, **IN_ALL}
    wrong = [f"{what}={most}" for what, most in settings.FISHERY_SHARES.items() if what not in known or most < 1]
    if not wrong:
        return []
    hint = f"A share is one or more, of {', '.join(known)}."
    return [checks.Error(f"FISHERY_SHARES says {', '.join(wrong)}.", hint=hint, id="beats.E001")]


@checks.register(checks.Tags.database)
def fisheries_are_where_they_are_said_to_be(*, databases=None, **_) -> list[checks.Warning]:
    """Stored fisheries and pools, loaded before positions were checked or changed by hand.

    `migrate` asks this first, when columns may still be missing: only the oldest are read.
    """
    tables = connections["default"].introspection.table_names() if "default" in (databases or []) else []
    if "beats_fishery" not in tables or "beats_pool" not in tables:
        return []
    found = []
    facts = ("pk", "slug", "latitude", "longitude", "district", "time_zone")
    for pk, slug, latitude, longitude, district, zone in Fishery.objects.order_by("slug").values_list(*facts):
        own = [(slug, sentence) for sentence in _wrong_with(latitude, longitude, district, zone)]
        found += own
        pools = Pool.objects.filter(beat__fishery=pk, latitude__isnull=False, longitude__isnull=False)
        for pool, *there in () if own else pools.order_by("pk").values_list("slug", "latitude", "longitude"):
            away = places.too_far((there[0], there[1]), (latitude, longitude))
            found += [(f"{slug}, pool {pool}", away.sentence)] if away else []
    hint = "Correct its fishery file and load it."
    return [checks.Warning(f"{where}: {sentence}.", hint=hint, id="beats.W002") for where, sentence in found]


def _wrong_with(latitude: float, longitude: float, district: str, zone: str) -> list[str]:
    if wrong := places.misplaced(latitude, longitude, entry=district):
        return [wrong.sentence]
    fault = places.wrong_zone(zone, longitude) if zone in available_timezones() else ""
    return [fault] if fault else []


@checks.register(checks.Tags.database)
def the_wall_stands(*, databases=None, **_) -> list[checks.Warning]:
    """On PostgreSQL alone; SQLite has no row security, and the code keeps fisheries apart there by itself."""
    found = []
    for name in databases or []:
        connection = connections[name]
        if connection.vendor == "postgresql" and not wall.stands(connection):
            hint = (
                f"As a database superuser: CREATE ROLE {wall.ROLE} NOLOGIN; GRANT {wall.ROLE} TO "
                f"{connection.settings_dict['USER'] or 'the service'}; then migrate each app back to before its "
                "`the_wall` and forward again."
            )
            found.append(checks.Warning("No second wall stands between fisheries.", hint=hint, id="beats.W001"))
    return found
