"""What `manage.py check` asks of this installation."""

from django.conf import settings
from django.core import checks
from django.db import connections

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
