"""Values of a scenario that lie outside the range where they usually lie."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import is_dataclass
from functools import cache
from typing import Any, get_args

from geometries.errors import GeometryError
from geometries.plausible import Plausible, judge
from geometries.quantities import Quantity
from geometries.study.description import Description
from geometries.tables import Table, keys_of, marks


def unusual_values(description: Description) -> tuple[str, ...]:
    """Sentences on unusual values, each said once, with the table and the key that they stand under.

    Only tables that are solved or asked with count, the boards among them that a variant names.

    Examples
    --------
    >>> from geometries.files.reading import builtin_text, describe
    >>> unusual_values(describe(builtin_text("orchard-pump").replace("3 ns", "30 ns")))[0][:54]
    'switching: edge_time is 30 ns; it usually lies between'
    """
    return tuple(dict.fromkeys(_judged((), description)))


def _judged(place: tuple[str, ...], table: Any) -> Iterator[str]:
    if isinstance(table, Mapping):
        for name, each in table.items():
            yield from _judged((*place, str(name)), each)
    elif isinstance(table, tuple):
        for each in table:
            yield from _judged(place, each)
    elif is_dataclass(table) and isinstance(table, Table):
        for key, name, quantity, own in _numbers_of(type(table)):
            value = getattr(table, name)
            if quantity is None:
                yield from _judged(place if key in ("variant", "layers") else (*place, key), value)
            else:
                yield from _sentences(place, key, quantity, value, own)


@cache
def _numbers_of(cls: Any) -> tuple[tuple[str, str, Quantity | None, Plausible | None], ...]:
    """Key and field of everything a table holds; of numbers their quantity, and the usual range where they have one."""
    return tuple(
        (key, name, quantity_of(annotation), next((m for m in marks(annotation) if isinstance(m, Plausible)), None))
        for key, (name, annotation) in keys_of(cls).items()
    )


def quantity_of(annotation: Any) -> Quantity | None:
    """The quantity of a key that holds numbers, alone or in tuples."""
    if isinstance(annotation, Quantity):
        return annotation
    found = (quantity_of(part) for part in (*get_args(annotation), *getattr(annotation, "__metadata__", ())))
    return next((quantity for quantity in found if quantity is not None), None)


def _sentences(
    place: tuple[str, ...], key: str, quantity: Quantity, value: Any, known: Plausible | None
) -> Iterator[str]:
    if isinstance(value, tuple):
        for each in value:
            yield from _sentences(place, key, quantity, each, known)
    elif isinstance(value, float):
        warning = _warning(key, quantity, value, known)
        if warning is not None:
            yield f"{'.'.join(place)}: {warning}" if place else warning


def _warning(key: str, quantity: Quantity, value: float, known: Plausible | None) -> str | None:
    """None of a value that a table holds for "as far as there is", or that it computed itself."""
    try:
        return judge(key, quantity, value, known)
    except GeometryError:
        return None
