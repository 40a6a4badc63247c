"""What is wrong with a file, a line for each mistake: where it stands, what is wrong, and how to fix it."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from geometries.errors import ScenarioError
from geometries.operation.emission import Emission
from geometries.quantities import Quantity
from geometries.section.victims import Drive
from geometries.study.described_placement import PLACEMENT_KINDS
from geometries.study.keys import FOLLOWS, Line, follow_lines, table_steps
from geometries.tables import Table, keys_of, marks

_FOLLOWERS: dict[str, type[Table]] = {"emission": Emission, "pickup": Drive}
"""Tables that take keys from the switching edge."""

_FOLLOWING: set[tuple[int | str, ...]] = {(table, key) for table, key, leader, _ in FOLLOWS if leader != "converter"}
"""Places of the keys that they take."""


def explained(
    error: ValidationError, complete: dict[str, Any], document: dict[str, Any], text: str, where: str
) -> ScenarioError:
    """What is wrong with a file's tables, a line each: `complete` is what was checked, `document` what was written."""
    variants = complete.get("variant")
    lines_followed = follow_lines(len(variants) if isinstance(variants, list) else 0)
    details = _reported(error.errors(include_url=False), lines_followed)
    lines = dict.fromkeys(_explain(detail, complete, document, text) for detail in details)
    return ScenarioError("\n".join(f"{where}: {line}" for line in lines))


def _reported(details: list[ErrorDetails], followed: tuple[Line, ...]) -> list[ErrorDetails]:
    """Without keys that are missing because the one is missing that they follow, or because its table is in error."""
    further = _FOLLOWING - {(table, key) for table, key, leader, _ in FOLLOWS if leader not in (table, "converter")}
    wrong = {each["loc"][0] for each in details if each["loc"] and each["loc"] not in _FOLLOWING}
    further |= {(*table_steps(table), key) for table, key, leader, _ in followed if leader in wrong and leader != table}
    return [each for each in details if each["type"] != "missing" or each["loc"] not in further]


def _explain(detail: ErrorDetails, complete: dict[str, Any], document: dict[str, Any], text: str) -> str:
    """One line: where in the file, and what is wrong with it. A key inherited by every variant is named once."""
    steps, missing = list(detail["loc"]), detail["type"] == "missing" and detail["loc"] not in _FOLLOWING
    place, keys = _walk(steps, complete, missing=missing)
    if len(steps) > 2 and steps[0] == "variant" and isinstance(steps[1], int):
        variants = document.get("variant", [])
        own = variants[steps[1]] if variants else {}
        inherited_place, inherited_keys = _walk(steps[2:], document, missing=missing)
        if inherited_keys == keys[1:] and _walk(steps[2:], own, missing=missing)[1] != keys[1:]:
            place, keys = inherited_place, inherited_keys
    line = _line_of(keys[-1], text) if keys else ""
    message = _message(detail).removeprefix(f"{' '.join(place)}: ")
    return f"{line}{' '.join(place)}: {message}" if place else f"{line}{message}"


def _walk(steps: list[int | str], node: Any, *, missing: bool) -> tuple[list[str], list[str]]:
    """Readable names of the steps to a value, and those of them that are keys of the file."""
    place, keys = [], []
    for number, step in enumerate(steps, start=1):
        if isinstance(step, int) and isinstance(node, list) and step < len(node):
            node = node[step]
            name = node.get("name") if isinstance(node, dict) else None
            place.append(repr(name) if name else f"number {step + 1}")
        elif isinstance(node, dict) and step in node:
            node = node[step]
            place.append(str(step))
            keys.append(str(step))
        elif missing and number == len(steps):
            place.append(str(step))
    return place, keys


def _message(detail: ErrorDetails) -> str:
    if detail["type"] == "missing":
        return _missing(detail["loc"])
    if detail["type"] in ("union_tag_invalid", "union_tag_not_found"):
        kind = detail["input"].get("kind")
        if "placement" in detail["loc"]:
            return f"kind is {kind!r}; a placement's kind is one of {', '.join(map(repr, PLACEMENT_KINDS))}"
        return f"kind is {kind!r}; a loop's kind is 'same-layer', 'next-layer', 'through-board' or 'ring'"
    if detail["type"] in ("dataclass_type", "dict_type", "model_attributes_type"):
        return f"this must be a table of keys, not {detail['input']!r}"
    if detail["type"] == "string_too_short":
        return "this is empty; give it a name"
    return detail["msg"].removeprefix("Value error, ")


def _missing(place: tuple[int | str, ...]) -> str:
    """That a key is missing; one that another table may give is named with that table."""
    if place not in _FOLLOWING:
        return "this key is missing"
    annotation = keys_of(_FOLLOWERS[str(place[0])])[str(place[1])][1]
    example = next(mark.example for mark in marks(annotation) if isinstance(mark, Quantity))
    return f'{place[1]} is missing; give it here or in [switching], for example {place[1]} = "{example}"'


def _line_of(key: str, text: str) -> str:
    """Line of a key, if it stands in the file just once."""
    hits = [
        number
        for number, line in enumerate(text.splitlines(), start=1)
        if line.split("=")[0].strip() == key or line.strip().strip("[]").split(".")[-1] == key
    ]
    return f"line {hits[0]}: " if len(hits) == 1 else ""
