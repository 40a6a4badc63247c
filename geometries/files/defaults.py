"""Defaults of a scenario file: what variants and segments inherit, and what one table takes from another."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, TypeVar

from pydantic import ValidationError

from geometries.errors import GeometryError, ScenarioError
from geometries.operation.converter import Converter
from geometries.operation.emission import Emission
from geometries.operation.switching import EdgeSpan, Switching
from geometries.quantities import Quantity, read_quantity, write_quantity
from geometries.section.victims import Drive
from geometries.study.described_copper import MAIN, SwitchedTable
from geometries.study.described_variant import FurtherSegmentTable, Steps, VariantTable
from geometries.study.keys import Line, follow_lines, table_steps
from geometries.tables import InSi, Table, keys_of, marks, read_table

T = TypeVar("T")

_CLASSES: dict[str, type[Table]] = {
    "switching": Switching,
    "emission": Emission,
    "pickup": Drive,
    f"switched.{MAIN}": SwitchedTable,
}
_AGREEMENT = 1e-6

_INHERITED = ("stackup", "copper", "loop", "planes", "region", "dielectric", "current", "length")
_OF_SECTIONS = (*_INHERITED[2:], "victims", "switch_node", "placement", "switch", "capacitor", "switched")
_OF_LAYOUTS = ("outline", "board")
_INHERITED_BY_VARIANTS = (*_INHERITED[:2], *_OF_SECTIONS, *_OF_LAYOUTS)


def inherit_defaults(document: dict[str, Any]) -> dict[str, Any]:
    """Give every variant the keys at the top of the file as defaults; one variant if there are none."""
    base = {key: document[key] for key in _INHERITED_BY_VARIANTS if key in document}
    rest = {key: value for key, value in document.items() if key not in base}
    variants = rest.get("variant", [{"name": str(document.get("title", "variant"))}])
    if not (isinstance(variants, list) and all(isinstance(variant, dict) for variant in variants)):
        return rest
    return {**rest, "variant": [_extend(_merge(_own_kind(base, variant), variant)) for variant in variants]}


def _own_kind(base: dict[str, Any], variant: dict[str, Any]) -> dict[str, Any]:
    """Without the section that an outline or a board stands in place of, or without these."""
    for own in _OF_LAYOUTS:
        if own in variant:
            return {key: value for key, value in base.items() if key == own or key not in (*_OF_SECTIONS, *_OF_LAYOUTS)}
    if {"loop", "placement", "region"} & variant.keys():
        return {key: value for key, value in base.items() if key not in _OF_LAYOUTS}
    return base


def _extend(variant: dict[str, Any]) -> dict[str, Any]:
    """Give every further segment of a variant the variant's own keys as defaults."""
    stretches = variant.get("segment")
    if not (isinstance(stretches, list) and all(isinstance(each, dict) for each in stretches)):
        return variant
    base = {key: variant[key] for key in _INHERITED if key in variant}
    return {**variant, "segment": [_merge(base, each) for each in stretches]}


def _merge(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Own values win; tables are merged key by key. A loop of another kind starts afresh."""
    if own.get("kind", base.get("kind")) != base.get("kind"):
        return own
    merged = dict(base)
    for key, value in own.items():
        both_tables = isinstance(value, dict) and isinstance(base.get(key), dict)
        merged[key] = _merge(base[key], value) if both_tables else value
    return merged


def with_followers(document: dict[str, Any]) -> tuple[dict[str, Any], frozenset[Line]]:
    """With the keys that a table takes from another one, and the lines of :func:`follow_lines` that this took."""
    variants = document.get("variant")
    lines = follow_lines(len(variants) if isinstance(variants, list) else 0)
    found = {table: _table_at(document, table_steps(table)) for table in {table for table, *_ in lines}}
    complete = {table: dict(own) for table, own in found.items() if own is not None}
    taken: set[Line] = set()
    converter = _table_of(Converter, document.get("converter"))
    for line in lines:
        table, key, leader, _ = line
        own = complete.get(table)
        if own is None:
            continue
        found_value = _leading(line, complete, converter)
        if key in own:
            if leader == "converter" and found_value is not None and line not in taken:
                _require_agreement(table, key, own, found_value)
        elif found_value is not None:
            own[key] = found_value if leader == table else InSi(found_value * _part(own, key))
            taken.add(line)
    for table, own in complete.items():
        document = _with_table(document, table_steps(table), own)
    return document, frozenset(taken)


def _table_at(node: Any, steps: Steps) -> dict[str, Any] | None:
    """The table at the end of a way, if there is one."""
    for step in steps:
        if isinstance(step, int) and isinstance(node, list):
            node = node[step]
        elif isinstance(step, str) and isinstance(node, dict):
            node = node.get(step)
        else:
            return None
    return node if isinstance(node, dict) else None


def _with_table(node: Any, steps: Steps, table: dict[str, Any]) -> Any:
    """A copy of nested tables and lists with the table at the end of a way replaced."""
    if not steps:
        return table
    first, *rest = steps
    if isinstance(node, list):
        return [_with_table(each, tuple(rest), table) if index == first else each for index, each in enumerate(node)]
    return {**node, first: _with_table(node[first], tuple(rest), table)}


def _leading(line: Line, tables: dict[str, dict[str, Any]], converter: Converter | None) -> Any:
    """What a key would follow, as it stands in its own table or in SI units; None if there is nothing."""
    table, _, leader, attribute = line
    if leader == table:
        return tables[table].get(attribute)
    return getattr(
        converter if leader == "converter" else _table_of(Switching, tables.get("switching")), attribute, None
    )


def _part(table: dict[str, Any], key: str) -> float:
    """Part of the whole edge that a table counts its edge over, if it says so."""
    spans = {span.value: span.part for span in EdgeSpan}
    return spans.get(str(table.get("edge_span")), 1.0) if key == "edge_time" else 1.0


def _require_agreement(table: str, key: str, own: dict[str, Any], found: float) -> None:
    """Refuse a table that contradicts the operating point; an edge over a span of its own is compared as a whole."""
    name = table.split(".", 2)[-1]
    annotation = keys_of(_CLASSES[name])[key][1]
    quantity = next(mark for mark in marks(annotation) if isinstance(mark, Quantity))
    try:
        stated = float(own[key]) if isinstance(own[key], InSi) else read_quantity(own[key], quantity, key)
        stated /= _part(own, key)
    except (GeometryError, ValueError):  # the table itself is refused for it
        return
    if not math.isclose(stated, found, rel_tol=_AGREEMENT):
        raise ScenarioError(
            f"{name}: {key} is {write_quantity(stated, quantity)}, and [converter] says "
            f"{write_quantity(found, quantity)}; leave it out here, or correct one of them"
        )


def _table_of(kind: type[T], table: Any) -> T | None:
    """A table of the whole scenario; none if it cannot be read, which the whole file is refused for."""
    try:
        return None if table is None else read_table(kind, table)
    except ValidationError:
        return None


def with_written_keys(variant: VariantTable, own: dict[str, Any]) -> tuple[FurtherSegmentTable, ...]:
    """The segments of a variant with the keys that are their own."""
    listed = own.get("segment", [])
    return tuple(
        replace(segment, written=frozenset(_written(table, variant)))
        for segment, table in zip(variant.segment, listed, strict=True)
    )


def _written(table: dict[str, Any], variant: VariantTable) -> Iterator[tuple[str, ...]]:
    """Keys of a segment that are its own; a loop of another kind is its own altogether."""
    for key, value in table.items():
        if not isinstance(value, dict) or (
            "kind" in value and value["kind"] != getattr(getattr(variant, key), "kind", "")
        ):
            yield (key,)
        else:
            yield from ((key, *rest) for rest in _leaves(value))


def _leaves(table: dict[str, Any]) -> Iterator[tuple[str, ...]]:
    for key, value in table.items():
        yield from ((key, *rest) for rest in _leaves(value)) if isinstance(value, dict) else ((key,),)
