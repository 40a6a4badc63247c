"""Keys of a scenario file written with dots, for instance "planes.L2.width": found, and what they measure."""

from __future__ import annotations

import re
from inspect import isclass
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from geometries.errors import ScenarioError, nearest
from geometries.files.schema import ScenarioTable, VariantTable
from geometries.files.tables import Table
from geometries.quantities import Quantity

Steps = tuple[str | int, ...]
"""The way to a value through nested tables and lists."""

_OUTSIDE_VARIANT: dict[str, Any] = {
    name: ScenarioTable.model_fields[name].rebuild_annotation() for name in ("analysis", "stackups")
}
"""Tables beside the variant that a key may lead into."""

_LABELS = ("name", "copper", "dielectric")
"""Keys by which an entry of a list is named."""


def find_key(key: str, inputs: dict[str, Any]) -> tuple[Steps, Quantity]:
    """The way to a numeric key through the tables, and what its value measures.

    Parameters
    ----------
    key : str
        Names with dots between them, in quotation marks where they hold dots themselves: a key of the variant, of
        `analysis` or of `constructions`. `construction.LAYER.thickness` is a layer of the variant's own board.
    inputs : dict
        Tables of one variant, see :attr:`geometries.study.sweep.Sweep.inputs`.

    Returns
    -------
    steps : tuple of str or int
    quantity : Quantity

    Raises
    ------
    ScenarioError
        If there is no such key, with the nearest one, or it holds no value with a unit.
    """
    names = [quoted or plain.strip() for quoted, plain in re.findall(r'"([^"]*)"|([^."]+)', key)] or [key]
    variant = inputs["variant"][0]
    if names[0] == "stackup" and len(names) > 1 and "stackup" in variant:
        names = ["stackups", variant["stackup"], "layers", *names[1:]]
    if names[0] in _OUTSIDE_VARIANT:
        start: Steps = (names[0],)
        annotation, node, names = _OUTSIDE_VARIANT[names[0]], inputs[names[0]], names[1:]
    else:
        start, annotation, node = ("variant", 0), VariantTable, variant
        known = [*_keys(VariantTable), "analysis"]
        if names[0] not in known:
            raise ScenarioError(f"unknown key {names[0]!r} in {key!r}; {nearest(names[0], known)}")
    steps, quantity = _walk(annotation, node, names, key)
    return start + steps, quantity


def _walk(annotation: Any, node: Any, names: list[str], key: str) -> tuple[Steps, Quantity]:
    """Follow the names through the schema and the tables side by side."""
    steps: list[str | int] = []
    for name in names:
        step, annotation = _step(annotation, node, name, key)
        steps.append(step)
        node = node[int(step)] if isinstance(node, list) else node.get(step, {})
    for each in _alternatives(annotation):
        for mark in get_args(each)[1:]:
            if isinstance(mark, Quantity):
                return tuple(steps), mark
    raise ScenarioError(f"{key!r} is not a value with a unit; a sweep varies lengths, temperatures and the like")


def _step(annotation: Any, node: Any, name: str, key: str) -> tuple[str | int, Any]:
    """The next step by name: a key of a table, a named table, or an entry of a list by its name or number."""
    for each in _alternatives(annotation):
        if isclass(each) and issubclass(each, Table) and _is_kind(each, node):
            known = _keys(each)
            if name not in known:
                raise ScenarioError(f"unknown key {name!r} in {key!r}; {nearest(name, list(known))}")
            return name, known[name]
        if get_origin(each) is dict:
            if name not in node:
                raise _missing(name, key, list(node))
            return name, get_args(each)[1]
        if get_origin(each) in (list, tuple) and isinstance(node, list):
            index = _entry(node, name, key)
            return index, get_args(each)[0]
    raise ScenarioError(f"{key!r} leads nowhere: there is nothing to be named {name!r} at that place")


def _alternatives(annotation: Any) -> list[Any]:
    """What a value may be: the parts of a union; a number keeps the mark of its quantity."""
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        return [annotation] if any(isinstance(mark, Quantity) for mark in marks) else _alternatives(inner)
    if get_origin(annotation) in (Union, UnionType):
        return [each for part in get_args(annotation) for each in _alternatives(part)]
    return [annotation]


def _keys(table: type[Table]) -> dict[str, Any]:
    return {field.alias or name: field.rebuild_annotation() for name, field in table.model_fields.items()}


def _is_kind(table: type[Table], node: Any) -> bool:
    """Whether the tables hold this kind of table; only loops come in several, and a segment may leave it open."""
    kind = table.model_fields.get("kind")
    return kind is None or node.get("kind") in (None, *get_args(kind.annotation))


def _entry(node: list[Any], name: str, key: str) -> int:
    labels = [next((str(each[label]) for label in _LABELS if each.get(label)), "") for each in map(_table, node)]
    hits = [index for index, label in enumerate(labels) if label == name]
    if len(hits) == 1:
        return hits[0]
    if not hits and name.isdecimal() and int(name) < len(node):
        return int(name)
    if hits:
        raise ScenarioError(f"{name!r} in {key!r} fits {len(hits)} entries; give its number instead, the first is 0")
    known = [label for label in labels if label] or [str(index) for index in range(len(node))]
    raise _missing(name, key, known)


def _missing(name: str, key: str, known: list[str]) -> ScenarioError:
    hint = nearest(name, known) if known else "the variant has none"
    return ScenarioError(f"there is no {name!r} for {key!r}; {hint}")


def _table(entry: Any) -> dict[str, Any]:
    return entry if isinstance(entry, dict) else {}
