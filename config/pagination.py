"""Lists come newest first, in pages that stay true while rows are added."""

from beats.shared.rest import ByDay


class ByNewest(ByDay):
    """Cursor pages by id: fixed time at any depth, no counting."""

    ordering = "-id"
    read_place = int
