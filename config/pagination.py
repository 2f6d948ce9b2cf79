"""Lists come newest first, in pages that stay true while rows are added."""

from rest_framework.pagination import CursorPagination


class ByNewest(CursorPagination):
    """Cursor pages by id: fixed time at any depth, no counting."""

    ordering = "-id"
    page_size = 50
    max_page_size = 200
    page_size_query_param = "page_size"
