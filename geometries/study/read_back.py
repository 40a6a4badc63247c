"""What a scenario file was understood to say: every table and key, its value in a usual unit, defaults marked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass, replace
from enum import Enum
from typing import Any

from pydantic.fields import FieldInfo

from geometries.quantities import Quantity, write_quantity
from geometries.study.description import Description
from geometries.study.unusual import quantity_of
from geometries.tables import Table, keys_of, marks


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadKey:
    """A key as it was understood.

    Parameters
    ----------
    table : str
        Where it stands, for instance "variant 'a' loop"; empty at the top of the file.
    key : str
        As a file writes it.
    text : str
        Its value, in a usual unit if it has a dimension.
    default : bool
        Whether that is what it is if the file leaves it out.
    note : str
        From where it is counted, of a place; else empty.
    """

    table: str
    key: str
    text: str
    default: bool
    note: str = ""


def read_back(description: Description) -> tuple[ReadKey, ...]:
    """Every key of a scenario, table by table; those that hold nothing are left out, and boards that nothing lies on.

    Examples
    --------
    >>> from geometries.files.reading import builtin_text, describe
    >>> keys = read_back(describe(builtin_text("orchard-pump")))
    >>> [(each.text, each.default) for each in keys if (each.table, each.key) == ("switching", "edge_time")]
    [('3 ns', False)]
    """
    stretches = [each for variant in description.variant for each in (variant, *variant.segment)]
    used = {name: board for name, board in description.stackups.items() if name in {each.stackup for each in stretches}}
    return tuple(_keys("", replace(description, stackups=used)))


def _keys(place: str, table: Any) -> Iterator[ReadKey]:
    defaults = {each.name: _default(each) for each in fields(table)}
    inner: list[tuple[str, Any]] = []
    for key, (name, annotation) in keys_of(type(table)).items():
        value = getattr(table, name)
        if value is None or value in ((), {}, ""):
            continue
        if _is_nested(value):
            inner.append((key, value))
        else:
            text = _text(value, quantity_of(annotation))
            yield ReadKey(table=place, key=key, text=text, default=value == defaults[name], note=_note(annotation))
    for key, value in inner:
        yield from _nested(f"{place} {key}".strip(), value)


def _note(annotation: Any) -> str:
    return next(
        (each.description for each in marks(annotation) if isinstance(each, FieldInfo) and each.description), ""
    )


def _default(field: Any) -> Any:
    if field.default is not MISSING:
        return field.default
    return field.default_factory() if field.default_factory is not MISSING else MISSING


def _is_nested(value: Any) -> bool:
    if isinstance(value, Mapping):
        return True
    if isinstance(value, tuple):
        return any(map(_is_nested, value))
    return is_dataclass(value) and isinstance(value, Table)


def _nested(place: str, value: Any) -> Iterator[ReadKey]:
    if isinstance(value, Mapping):
        for name, each in value.items():
            if _is_nested(each):
                yield from _nested(f"{place} {name}", each)
            else:
                yield ReadKey(table=place, key=str(name), text=_text(each, None), default=False)
    elif isinstance(value, tuple):
        for number, each in enumerate(value, start=1):
            name = getattr(each, "name", "")
            yield from _nested(f"{place} {name!r}" if name else f"{place} {number}", each)
    else:
        yield from _keys(place, value)


def _text(value: Any, quantity: Quantity | None) -> str:
    if isinstance(value, tuple):
        return ", ".join(_text(each, quantity) for each in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, float) and quantity not in (None, Quantity.NUMBER, Quantity.COUNT):
        return "as far as there is" if abs(value) == float("inf") else write_quantity(value, quantity)
    return f"{value:.10g}" if isinstance(value, float) else str(value)
