"""Keys of a scenario written with dots, for instance "planes.L2.width": found, replaced, with what follows them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, get_args, get_origin

from geometries.errors import GeometryError, ScenarioError, nearest
from geometries.quantities import Quantity, read_number, read_quantity
from geometries.study.described_copper import MAIN
from geometries.study.described_variant import SegmentTable, Steps, VariantTable
from geometries.study.description import Description
from geometries.tables import Table, keys_of, marks

_LABELS = ("name", "case")
"""Fields by which an entry of a list is named."""

_NOT_VARIED = ("variant", "sweep", "explore", "tolerance", "budgets", "objectives", "measurement")
"""Tables of a file that hold no value of the converter."""

Line = tuple[str, str, str, str]

FOLLOWS: tuple[Line, ...] = (
    ("switching", "input_voltage", "converter", "input_voltage"),
    ("switching", "frequency", "converter", "frequency"),
    ("switching", "edge_time", "converter", "voltage_rise"),
    ("emission", "current", "converter", "switched_current"),
    ("emission", "frequency", "converter", "frequency"),
    ("emission", "duty", "converter", "duty_cycle"),
    ("emission", "rise_time", "converter", "current_rise"),
    ("emission", "fall_time", "converter", "current_fall"),
    ("pickup", "current", "converter", "switched_current"),
    ("pickup", "frequency", "converter", "frequency"),
    ("pickup", "duty", "converter", "duty_cycle"),
    ("pickup", "rise_time", "converter", "current_rise"),
    ("pickup", "fall_time", "converter", "current_fall"),
    ("pickup", "voltage", "converter", "input_voltage"),
    ("pickup", "voltage_rise_time", "converter", "voltage_rise"),
    ("pickup", "voltage_fall_time", "converter", "voltage_fall"),
    ("emission", "frequency", "switching", "frequency"),
    ("emission", "rise_time", "switching", "full_edge"),
    ("emission", "fall_time", "emission", "rise_time"),
    ("pickup", "frequency", "switching", "frequency"),
    ("pickup", "rise_time", "switching", "full_edge"),
    ("pickup", "fall_time", "pickup", "rise_time"),
    ("pickup", "voltage", "switching", "input_voltage"),
    ("pickup", "voltage_fall_time", "pickup", "voltage_rise_time"),
    ("pickup", "voltage_rise_time", "pickup", "rise_time"),
    ("pickup", "voltage_fall_time", "pickup", "fall_time"),
)
"""Table and key that are taken, where a file leaves them out, from an attribute of another table or from another key
of the same one; the first line that can be followed counts."""

_FOLLOWS_IN_VARIANTS: tuple[tuple[str, str, str], ...] = (
    ("current", "converter", "switched_current"),
    ("edge", "converter", "current_edge"),
)
"""The same for the main loop's table among the switched loops of every variant that has such loops."""


def follow_lines(variants: int) -> tuple[Line, ...]:
    """All lines of :data:`FOLLOWS` and of a file's variants; the way to a table is written with dots.

    Examples
    --------
    >>> follow_lines(1)[-1]
    ('variant.0.switched.loop', 'edge', 'converter', 'current_edge')
    """
    inside = ((f"variant.{index}.switched.{MAIN}", *rest) for index in range(variants) for rest in _FOLLOWS_IN_VARIANTS)
    return (*FOLLOWS, *inside)


def table_steps(table: str) -> Steps:
    """The way to a table of :func:`follow_lines`.

    Examples
    --------
    >>> table_steps("variant.0.switched.loop")
    ('variant', 0, 'switched', 'loop')
    """
    return tuple(int(step) if step.isdecimal() else step for step in table.split("."))


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyPath:
    """A numeric key of a description.

    Parameters
    ----------
    text : str
        As it was asked for, for instance "planes.L2.width".
    steps : tuple of str or int
        The way to it from the description, by fields, names and numbers of entries.
    quantity : Quantity
        What it measures.

    Examples
    --------
    >>> from geometries import describe, find_key
    >>> from geometries.files.reading import builtin_text
    >>> find_key(describe(builtin_text("orchard-pump")), "loop.gap").steps
    ('variant', 0, 'loop', 'gap')
    """

    text: str
    steps: Steps
    quantity: Quantity


def find_key(description: Description, key: str, variant: str = "") -> KeyPath:
    """Find a numeric key.

    Parameters
    ----------
    description : Description
        Where it is looked for.
    key : str
        Names with dots between them, in quotation marks where they hold dots themselves: a key of the variant, or of a
        table of the whole file such as `analysis`, `switching` or `stackups`. `stackup.LAYER.thickness` is a layer of
        the variant's own board; entries of a list go by their name or number, the first is 0.
    variant : str
        Name of the variant; the reference if not given.

    Returns
    -------
    KeyPath

    Raises
    ------
    ScenarioError
        If there is no such key, with the nearest one, or it holds no number.

    Examples
    --------
    >>> from geometries import describe, find_key
    >>> from geometries.files.reading import builtin_text
    >>> find_key(describe(builtin_text("orchard-pump")), "stackup.prepreg 7628.thickness").quantity.name
    'COPPER_THICKNESS'
    """
    names = key_names(key)
    index = index_of(description, variant)
    own = description.variant[index]
    if names[0] == "stackup" and len(names) > 1 and own.stackup:
        names = ["stackups", own.stackup, "layers", *names[1:]]
    if names[0] in keys_of(VariantTable):
        return _walk(own, ("variant", index), names, key)
    known = [name for name in keys_of(Description) if name not in _NOT_VARIED]
    if names[0] not in known:
        raise ScenarioError(
            f"unknown key {names[0]!r} in {key!r}; {nearest(names[0], [*keys_of(VariantTable), *known])}"
        )
    return _walk(description, (), names, key)


def key_names(key: str) -> list[str]:
    """The names of a key written with dots.

    Examples
    --------
    >>> key_names('stackup."prepreg 7628".thickness')
    ['stackup', 'prepreg 7628', 'thickness']
    """
    return [quoted or plain.strip() for quoted, plain in re.findall(r'"([^"]*)"|([^."]+)', key)] or [key]


def key_words(key: str) -> str:
    """A key of a scenario file in plain words, as an axis shows it.

    Examples
    --------
    >>> key_words("loop.gap"), key_words("planes.L2.width"), key_words("stackup.prepreg 7628.thickness")
    ('loop gap', 'width of L2', 'thickness of prepreg 7628')
    >>> key_words("switching.edge_time"), key_words("length")
    ('edge time', 'length')
    >>> key_words("placement.distance"), key_words("capacitor.0.case")
    ('placement distance', 'case of capacitor 0')
    """
    names = key_names(key)
    last = names[-1].replace("_", " ")
    if len(names) > 2:
        of = names[-3:-1] if names[-2].isdecimal() else names[-2:-1]
        return f"{last} of {' '.join(of).replace('_', ' ')}"
    return f"{names[0]} {last}" if names[0] in ("loop", "placement", "switch") and len(names) > 1 else last


def of_variant(description: Description, name: str) -> Description:
    """One variant of a file alone, with its board and the tables that its numbers depend on; no titles and notes.

    Raises
    ------
    ScenarioError
        If no variant has that name.
    """
    index = index_of(description, name)
    variant = description.variant[index]
    boards = {each.stackup for each in (variant, *variant.segment)}
    return replace(
        description,
        title=name,
        setting="",
        revision="",
        reference=name,
        stackups={board: replace(each, note="") for board, each in description.stackups.items() if board in boards},
        variant=(replace(variant, note="", price=""),),
        pickup=description.pickup if variant.victims else None,
        measurement=None,
        sweep=None,
        explore=None,
        tolerance=None,
        text="",
        following=frozenset(_of_the_only(description.following, index)),
    )


def _of_the_only(lines: Iterable[Line], index: int) -> Iterator[Line]:
    """The lines that hold where one variant is left, which is then the first."""
    for table, key, leader, attribute in lines:
        place, *way = table_steps(table)
        if place != "variant":
            yield table, key, leader, attribute
        elif way[0] == index:
            yield ".".join(map(str, (place, 0, *way[1:]))), key, leader, attribute


def index_of(description: Description, variant: str = "") -> int:
    """Number of a variant; of the reference if no name is given.

    Raises
    ------
    ScenarioError
        If no variant has that name.
    """
    names = [each.name for each in description.variant]
    wanted = variant or description.reference
    if wanted not in names:
        raise ScenarioError(f"no variant is called {wanted!r}; the scenario has {', '.join(map(repr, names))}")
    return names.index(wanted)


def numeric_keys(description: Description, variant: str = "") -> tuple[KeyPath, ...]:
    """Every numeric key of a variant and of the tables of the whole file, those that hold no value left out."""
    index = index_of(description, variant)
    found = list(_numbers(description.variant[index], None, ("variant", index), ""))
    for key, (field, annotation) in keys_of(Description).items():
        if key not in _NOT_VARIED:
            found += _numbers(getattr(description, field), annotation, (field,), key)
    return tuple(found)


def value_at(description: Description, steps: Steps) -> float | None:
    """The number at the end of a way; none if the file leaves it out and it has no default."""
    node: Any = description
    for step in steps:
        node = getattr(node, str(step)) if isinstance(node, Table) else node[step]
    return None if node is None else float(node)


def read_value(value: object, path: KeyPath) -> float:
    """A value for a key as a file writes it: text with a unit, or a bare number where it is a number.

    Raises
    ------
    GeometryError
        If it cannot be read.
    """
    if path.quantity in (Quantity.NUMBER, Quantity.COUNT):
        return read_number(value, path.text)
    return read_quantity(value, path.quantity, path.text)


def with_values(description: Description, values: Mapping[KeyPath, float]) -> Description:
    r"""A description with some of its values replaced, and with what follows them.

    Parameters
    ----------
    description : Description
        As read.
    values : mapping of KeyPath to float
        New values in SI units.

    Returns
    -------
    Description

    Raises
    ------
    GeometryError
        If a table does not take its value.

    Examples
    --------
    >>> from geometries.files.reading import describe
    >>> described = describe(
    ...     'title = "loop"\nstackup = "2L-1.6"\n'
    ...     'loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }'
    ... )
    >>> gap = find_key(described, "loop.gap")
    >>> with_values(described, {gap: 2e-3}).variant[0].loop.gap
    0.002
    """
    return replaced(description, {path.steps: value for path, value in values.items()})


def replaced(description: Description, changes: Mapping[Steps, float]) -> Description:
    """The same as :func:`with_values`, by the way to each value."""
    complete = {way: new for steps, value in changes.items() for way, new in _in_segments(description, steps, value)}
    complete.update(changes)
    description, complete = _at_operating_point(description, complete)
    first = {steps: value for steps, value in complete.items() if steps[0] == "switching"}
    changed: Description = _replaced(description, first) if first else description
    rest = {steps: value for steps, value in complete.items() if steps[0] != "switching"}
    _follow(changed, rest, edge_changed=bool(first))
    return _replaced(changed, rest) if rest else changed


def _at_operating_point(
    description: Description, changes: dict[Steps, float]
) -> tuple[Description, dict[Steps, float]]:
    """With changes of the converter made, and those of other tables that take their value from it added."""
    own = {steps: value for steps, value in changes.items() if steps[0] == "converter"}
    if not own:
        return description, changes
    changed: Description = _replaced(description, own)
    rest = {steps: value for steps, value in changes.items() if steps not in own}
    for table, key, leader, attribute in description.following:
        if leader == "converter":
            rest.setdefault((*table_steps(table), key), getattr(changed.converter, attribute))
    return changed, rest


def _in_segments(description: Description, steps: Steps, value: float) -> Iterator[tuple[Steps, float]]:
    """The same key of those segments of the variant that have no value of their own for it."""
    if steps[0] != "variant" or steps[2] not in keys_of(SegmentTable):
        return
    for number, segment in enumerate(description.variant[int(steps[1])].segment):
        own = any(steps[2 : 2 + len(written)] == written for written in segment.written)
        if not own:
            yield (*steps[:2], "segment", number, *steps[2:]), value


def _follow(description: Description, changes: dict[Steps, float], *, edge_changed: bool) -> None:
    """Add the keys that follow a changed one to the changes."""
    for line in FOLLOWS:
        table, key, leader, attribute = line
        if line not in description.following or (table, key) in changes:
            continue
        if leader == "switching" and edge_changed:
            changes[table, key] = getattr(description.switching, attribute)
        elif (leader, attribute) in changes:
            changes[table, key] = changes[leader, attribute]


def _replaced(node: Any, changes: Mapping[Steps, float]) -> Any:
    """A copy of nested values with some of them replaced, checked by their own classes."""
    if () in changes:
        return _whole(changes[()]) if isinstance(node, int) else changes[()]
    inside: dict[str | int, dict[Steps, float]] = {}
    for steps, value in changes.items():
        inside.setdefault(steps[0], {})[steps[1:]] = value
    if isinstance(node, tuple):
        return tuple(_replaced(each, inside[index]) if index in inside else each for index, each in enumerate(node))
    if isinstance(node, Mapping):
        return {**node, **{str(name): _replaced(node[name], rest) for name, rest in inside.items()}}
    new: dict[str, Any] = {str(name): _replaced(getattr(node, str(name)), rest) for name, rest in inside.items()}
    try:
        return replace(node, **new)
    except GeometryError:
        raise
    except ValueError as error:
        raise GeometryError(str(error)) from error


def _whole(value: float) -> int:
    if value != int(value):
        raise GeometryError(f"a count is {value:g}; it must be a whole number")
    return int(value)


def _walk(node: Any, start: Steps, names: list[str], key: str) -> KeyPath:
    """Follow the names through the values."""
    steps, annotation = start, None
    for name in names:
        step, node, annotation = _step(node, annotation, name, key)
        steps = (*steps, step)
    quantity = _quantity(annotation)
    if quantity is None or isinstance(node, tuple):
        raise ScenarioError(f"{key!r} is not a value with a unit; a sweep varies lengths, temperatures and the like")
    return KeyPath(text=key, steps=steps, quantity=quantity)


def _step(node: Any, annotation: Any, name: str, key: str) -> tuple[str | int, Any, Any]:
    """The next step by name: a key of a table, a named table, or an entry of a list by its name or number."""
    if isinstance(node, Table):
        known = keys_of(type(node))
        if name not in known:
            raise ScenarioError(f"unknown key {name!r} in {key!r}; {nearest(name, list(known))}")
        field, inner = known[name]
        return field, getattr(node, field), inner
    if isinstance(node, Mapping):
        if name not in node:
            raise _missing(name, key, list(node))
        return name, node[name], None
    if isinstance(node, tuple) and node:
        index = _entry(node, name, key)
        return index, node[index], _inside(annotation)
    raise ScenarioError(f"{key!r} leads nowhere: there is nothing to be named {name!r} at that place")


def _quantity(annotation: Any) -> Quantity | None:
    return next((mark for mark in marks(annotation) if isinstance(mark, Quantity)), None)


def _inside(annotation: Any) -> Any:
    """What the entries of a list may be."""
    if get_origin(annotation) is tuple:
        return get_args(annotation)[0]
    parts = [_inside(part) for part in get_args(annotation)[: 1 if get_origin(annotation) is Annotated else None]]
    return next((part for part in parts if part is not None), None)


def _numbers(node: Any, annotation: Any, steps: Steps, text: str) -> Iterator[KeyPath]:
    """All numeric keys at and below a node."""
    dot = "." if text else ""
    if isinstance(node, Table):
        for key, (field, inner) in keys_of(type(node)).items():
            yield from _numbers(getattr(node, field), inner, (*steps, field), f"{text}{dot}{key}")
    elif isinstance(node, Mapping):
        for name, each in node.items():
            yield from _numbers(each, None, (*steps, name), f'{text}{dot}"{name}"')
    elif isinstance(node, tuple):
        for index, each in enumerate(node):
            yield from _numbers(each, _inside(annotation), (*steps, index), f"{text}{dot}{index}")
    else:
        quantity = _quantity(annotation)
        if quantity is not None and node is not None:
            yield KeyPath(text=text, steps=steps, quantity=quantity)


def _entry(node: tuple[Any, ...], name: str, key: str) -> int:
    labels = [next((str(getattr(each, label)) for label in _LABELS if getattr(each, label, "")), "") for each in node]
    hits = [index for index, label in enumerate(labels) if label == name]
    if len(hits) == 1:
        return hits[0]
    if not hits and name.isdecimal() and int(name) < len(node):
        return int(name)
    if hits:
        raise ScenarioError(f"{name!r} in {key!r} fits {len(hits)} entries; give its number instead, the first is 0")
    raise _missing(name, key, [label for label in labels if label] or [str(index) for index in range(len(node))])


def _missing(name: str, key: str, known: list[str]) -> ScenarioError:
    hint = nearest(name, known) if known else "the variant has none"
    return ScenarioError(f"there is no {name!r} for {key!r}; {hint}")
