"""Long lists told straight from their columns, in the words of their serializer, at a fraction of its cost."""

from collections.abc import Callable, Iterable, Sequence
from functools import cache
from typing import Any

from django.utils import timezone
from rest_framework import serializers

Told = Callable[[Any], Any]
Maker = Callable[[Any], Told]
"""How a field writes a value, given the zone."""


class CodeList(serializers.ListField):
    """A JSON column that holds a list of codes, answered as it is stored."""


AS_THEY_ARE = (
    serializers.IntegerField, serializers.BooleanField, serializers.FloatField, serializers.CharField, CodeList,
)  # fmt: skip


class PlainList:
    """A list view whose serializer only names columns: pages are read as values, and no model is made.

    What a page says is what the serializer would say; a serializer with a field reckoned from others will not do.
    A view with computed fields names the serializer of its columns as `row_serializer`, and adds the others in
    `complete`.
    """

    row_serializer: type[serializers.Serializer] | None = None

    def list(self, _request, *_args, **_kwargs):
        names, columns, makers = _plan(self.row_serializer or self.get_serializer_class())
        placed_by = [column for column in self.placed_by() if column not in columns]
        rows = self.filter_queryset(self.get_queryset()).values_list(*columns, *placed_by, named=True)
        page = self.paginate_queryset(rows)
        zone = timezone.get_current_timezone()
        told = [(place, make(zone)) for place, make in makers]
        return self.get_paginated_response(self.complete(page, [_said(row, names, told) for row in page]))

    def complete(self, page: Sequence[Any], rows: Sequence[dict[str, Any]]) -> Sequence[dict[str, Any]]:
        """The rows with their computed fields. `page` holds the same rows as named tuples of their columns."""
        del page
        return rows

    def placed_by(self) -> Iterable[str]:
        """The columns that a page's place is told by."""
        ordering = self.paginator.ordering
        return [name.lstrip("-") for name in ([ordering] if isinstance(ordering, str) else ordering)]


def _said(row, names: Sequence[str], told: list[tuple[int, Told]]) -> dict[str, Any]:
    values = list(row)
    for place, tell in told:
        if values[place] is not None:
            values[place] = tell(values[place])
    return dict(zip(names, values, strict=False))  # columns that only place a page stand after those with a name


@cache
def _plan(serializer_class) -> tuple[tuple[str, ...], tuple[str, ...], tuple[tuple[int, Maker], ...]]:
    """Names of the fields, their columns, and which of them, by place, are not written as they are."""
    fields = serializer_class().fields
    columns = tuple(field.source.replace(".", "__") for field in fields.values())
    makers = [_maker(name, field) for name, field in fields.items()]
    return tuple(fields), columns, tuple((place, make) for place, make in enumerate(makers) if make)


def _maker(name: str, field: serializers.Field) -> Maker | None:
    """How the field writes a value, given the zone; None for a value that is written as it is."""
    if isinstance(field, serializers.DateTimeField):
        return _instant
    if isinstance(field, serializers.DateField | serializers.TimeField):
        return lambda _zone: _iso
    if isinstance(field, serializers.ChoiceField):
        return lambda _zone: str
    if isinstance(field, AS_THEY_ARE):
        return None
    raise TypeError(f"{name} is no plain column: tell this list by its serializer.")


def _instant(zone) -> Told:
    def told(at) -> str:
        text = at.astimezone(zone).isoformat()
        return text[:-6] + "Z" if text.endswith("+00:00") else text

    return told


def _iso(value) -> str:
    return value.isoformat()
