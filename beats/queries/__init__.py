"""Who may see which water, what the river says, and what is known of a beat on a day."""

from beats.queries.day import facts_of_day, habits_of, warnings_now
from beats.queries.gauges import GaugeNow, gauges_now
from beats.queries.river import (
    BETWEEN,
    NEWEST,
    Level,
    judged,
    level_at,
    levels_between,
    light_on,
    local_day,
    newest_level,
    rulings,
    zone_of,
)
from beats.queries.seen import (
    Role,
    beats_visible_to,
    fisheries_kept_by,
    fisheries_visible_to,
    gauge_keys_visible_to,
    gauges_visible_to,
    pools_visible_to,
    readings_visible_to,
    require_role,
    role_in,
)

__all__ = [
    "BETWEEN",
    "NEWEST",
    "GaugeNow",
    "Level",
    "Role",
    "beats_visible_to",
    "facts_of_day",
    "fisheries_kept_by",
    "fisheries_visible_to",
    "gauge_keys_visible_to",
    "gauges_now",
    "gauges_visible_to",
    "habits_of",
    "judged",
    "level_at",
    "levels_between",
    "light_on",
    "local_day",
    "newest_level",
    "pools_visible_to",
    "readings_visible_to",
    "require_role",
    "role_in",
    "rulings",
    "warnings_now",
    "zone_of",
]
