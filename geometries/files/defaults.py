"""Defaults of a scenario file: what variants and segments inherit, and what one table takes from another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from geometries.operation.switching import Switching
from geometries.study.described_variant import SegmentTable, VariantTable
from geometries.study.keys import FOLLOWS
from geometries.tables import InSi, read_table

_INHERITED = ("stackup", "copper", "loop", "planes", "region", "dielectric", "current", "length")
_INHERITED_BY_VARIANTS = (*_INHERITED, "victims", "switch_node", "placement", "switch", "capacitor", "switched")


def inherit_defaults(document: dict[str, Any]) -> dict[str, Any]:
    """Give every variant the keys at the top of the file as defaults; one variant if there are none."""
    base = {key: document[key] for key in _INHERITED_BY_VARIANTS if key in document}
    rest = {key: value for key, value in document.items() if key not in base}
    variants = rest.get("variant", [{"name": str(document.get("title", "variant"))}])
    if not (isinstance(variants, list) and all(isinstance(variant, dict) for variant in variants)):
        return rest
    return {**rest, "variant": [_extend(_merge(base, variant)) for variant in variants]}


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


def with_followers(document: dict[str, Any]) -> tuple[dict[str, Any], frozenset[tuple[str, str, str, str]]]:
    """With the keys that a table takes from another one, and the lines of :data:`FOLLOWS` that this took."""
    complete = {
        name: dict(document[name]) for name in {table for table, *_ in FOLLOWS} if isinstance(document.get(name), dict)
    }
    switching, taken = _switching_of(document), set()
    for line in FOLLOWS:
        table, key, leader, attribute = line
        own = complete.get(table)
        if own is None or key in own:
            continue
        found = own.get(attribute) if leader == table else getattr(switching, attribute, None)
        if found is not None:
            own[key] = found if leader == table else InSi(found)
            taken.add(line)
    return {**document, **complete}, frozenset(taken)


def _switching_of(document: dict[str, Any]) -> Switching | None:
    """The switching edge; none if it cannot be read, which the whole file is refused for."""
    try:
        return read_table(Switching, document["switching"]) if "switching" in document else None
    except ValidationError:
        return None


def with_written_keys(variant: VariantTable, own: dict[str, Any]) -> tuple[SegmentTable, ...]:
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
