"""A what-if study: a box of keys that a page moves in, for one or several variants of a scenario."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import prod
from typing import Any, Protocol

from geometries.errors import GeometryError, ScenarioError
from geometries.quantities import Quantity, write_quantity
from geometries.study.build import build_scenario
from geometries.study.described_variation import ExploreKeyTable, ExploreTable
from geometries.study.description import Description
from geometries.study.fingerprint import computed_from
from geometries.study.keys import KeyPath, find_key, of_variant, read_value, value_at, with_values
from geometries.study.scenario import Scenario, only_variant

_USUAL = ("loop.width", "loop.gap", "loop.length", "switching.edge_time", "switching.switch_resistance")
"""Keys of a box that the file does not state, as far as a scenario has them; each runs over :data:`_USUAL_SPAN`."""

_USUAL_SPAN = (2 / 3, 3 / 2)

_MOST_VARIANTS = 24
"""Boards of one page, with all combinations of choices."""

Values = tuple[float, ...]
"""Of every axis [SI]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExploreAxis:
    """A key and the range in which it is moved.

    Parameters
    ----------
    key : str
        As it is written in the scenario file.
    quantity : Quantity
        What it measures.
    low, high : float
        Ends of the range [SI].
    logarithmic : bool
        Whether it is moved by ratios.
    shapes : bool
        Whether a conductor or anything else that the fields depend on changes with it.
    """

    key: str
    quantity: Quantity
    low: float
    high: float
    logarithmic: bool
    shapes: bool

    def value(self, place: float) -> float:
        """The value at a place from -1 to 1."""
        part = (place + 1) / 2
        if self.logarithmic:
            return float(self.low * (self.high / self.low) ** part)
        return self.low + (self.high - self.low) * part


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A key with its choices: as they are written, and as they are called."""

    key: str
    values: tuple[Any, ...]

    @property
    def labels(self) -> tuple[str, ...]:
        """Names of the choices, all different; a table goes by its kind or name where that tells it from the others."""
        short = tuple(_label(value) for value in self.values)
        return short if len(set(short)) == len(short) else tuple(_in_full(value) for value in self.values)


def _label(value: Any) -> str:
    if isinstance(value, Mapping):
        return next((str(value[key]) for key in ("kind", "name", "case") if key in value), _in_full(value))
    return ", ".join(map(_label, value)) if isinstance(value, list) else str(value)


def _in_full(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key.replace('_', ' ')} {_in_full(each)}" for key, each in value.items())
    return "; ".join(map(_in_full, value)) if isinstance(value, list) else str(value)


class AsWritten(Protocol):
    """What a file says, for keys that hold no number."""

    def stated(self, variant: str, key: str) -> Any:
        """What a variant has for a key; None if nothing is written."""
        ...

    def changed(self, variant: str, changes: Mapping[str, Any]) -> Description:
        """The file with other values for keys of a variant, or of the whole file."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class ExploredVariant:
    """A variant alone, with one choice for every key that offers some.

    Parameters
    ----------
    name : str
        Its own name, with the choices that are not those of the file.
    base : str
        The variant of the file.
    picked : tuple of int
        Numbers of its choices.
    description : Description
        What it says.
    paths, today
        Its keys, and their values as the file has them.
    """

    name: str
    base: str
    picked: tuple[int, ...]
    description: Description
    paths: tuple[KeyPath, ...]
    today: Values


@dataclass(frozen=True, slots=True, kw_only=True)
class Exploration:
    """What is asked.

    Parameters
    ----------
    scenario : Scenario
        The whole file.
    axes : tuple of ExploreAxis
        Keys that are moved.
    choices : tuple of Choice
        Keys that offer choices; up to six with those that are moved.
    variants : tuple of ExploredVariant
        At least one, with every combination of choices; the reference first, if it is among them.
    points : int
        Places of the shaping keys that are solved of every variant, at most.
    computes : bool
        Whether the page computes edge and levels by itself, so that keys that shape nothing need no solved places.

    Examples
    --------
    >>> from geometries.files.explore_reading import parse_exploration
    >>> from geometries.files.reading import builtin_text
    >>> asked = parse_exploration(builtin_text("irrigation-controller"))
    >>> [axis.key for axis in asked.axes][:2], [axis.shapes for axis in asked.axes]
    (['loop.width', 'loop.gap'], [True, True, True, False, False])
    """

    scenario: Scenario
    axes: tuple[ExploreAxis, ...]
    choices: tuple[Choice, ...]
    variants: tuple[ExploredVariant, ...]
    points: int
    computes: bool = False

    def values(self, places: Sequence[float]) -> Values:
        """Values of the axes at places from -1 to 1."""
        return tuple(axis.value(place) for axis, place in zip(self.axes, places, strict=True))

    def scenario_at(self, variant: ExploredVariant, values: Values) -> Scenario:
        """The variant alone with these values, with all tables that analyses ask for.

        Raises
        ------
        ScenarioError
            If the values make an impossible geometry; the message names them.
        """
        try:
            return _built(variant.description, dict(zip(variant.paths, values, strict=True)))
        except GeometryError as error:
            said = ", ".join(
                f"{axis.key} = {write_quantity(value, axis.quantity)}"
                for axis, value in zip(self.axes, values, strict=True)
            )
            raise ScenarioError(f"explore: variant {variant.name!r} at {said}: {error}") from error


def _built(description: Description, values: dict[KeyPath, float]) -> Scenario:
    scenario = build_scenario(with_values(description, values))
    return replace(scenario, variants=(replace(scenario.variants[0], steps=()),))


def build_exploration(scenario: Scenario, description: Description, written: AsWritten) -> Exploration:
    """Build the what-if study of a file, and both ends of every key once, with every combination of choices.

    Raises
    ------
    ScenarioError
        If a key does not exist in a variant or changes nothing, or an end makes an impossible geometry.
    """
    table = description.explore or ExploreTable(vary=tuple(_usual_keys(description, scenario.reference)))
    names = table.variants or tuple(variant.name for variant in scenario.variants)
    for name in names:
        only_variant(scenario, name)
    ordered = sorted(dict.fromkeys(names), key=lambda name: name != scenario.reference)
    moved = [each for each in table.vary if each.choices is None]
    choices = tuple(Choice(key=each.key, values=each.choices) for each in table.vary if each.choices is not None)
    count = len(ordered) * prod(len(each.values) for each in choices)
    if count > _MOST_VARIANTS:
        raise ScenarioError(
            f"explore: the choices make {count} boards of {len(ordered)} variants; at most {_MOST_VARIANTS} are "
            "solved: offer fewer choices, or name fewer variants"
        )
    variants = tuple(each for name in ordered for each in _with_choices(description, written, name, moved, choices))
    axes = tuple(_axis(each, variants, number) for number, each in enumerate(moved))
    asked = Exploration(scenario=scenario, axes=axes, choices=choices, variants=variants, points=table.points)
    for variant in variants:
        for corner in ([-1.0] * len(axes), [1.0] * len(axes)):
            asked.scenario_at(variant, asked.values(corner))
    return asked


def _usual_keys(description: Description, name: str) -> Iterator[ExploreKeyTable]:
    """The usual keys that the reference has, each with a range about its value."""
    alone = of_variant(description, name)
    for key in _USUAL:
        try:
            path = find_key(alone, key)
            value = value_at(alone, path.steps)
        except GeometryError:  # this scenario has no such key
            continue
        if value is not None and value > 0:
            low, high = (write_quantity(value * part, path.quantity) for part in _USUAL_SPAN)
            yield ExploreKeyTable(key=key, start=low, stop=high)


def _with_choices(
    description: Description,
    written: AsWritten,
    name: str,
    moved: Sequence[ExploreKeyTable],
    choices: Sequence[Choice],
) -> list[ExploredVariant]:
    """A variant with every combination of choices, that of the file first."""
    own = tuple(_stated(written, name, choice) for choice in choices)
    combinations = product(*(range(len(choice.values)) for choice in choices))
    found = []
    for picked in sorted(combinations, key=lambda each: each != own):
        other = [
            (choice, number) for choice, number, today in zip(choices, picked, own, strict=True) if number != today
        ]
        said = ", ".join(f"{choice.key} = {choice.labels[number]}" for choice, number in other)
        full = f"{name}: {said}" if said else name
        changes = {choice.key: choice.values[number] for choice, number in other}
        try:
            here = _variant(written.changed(name, changes) if changes else description, name, moved)
            build_scenario(here.description)
        except GeometryError as error:
            raise ScenarioError(f"explore: {full}: {error}") from error
        found.append(replace(here, name=full, picked=picked))
    return found


def _stated(written: AsWritten, name: str, choice: Choice) -> int:
    today = written.stated(name, choice.key)
    if today not in choice.values:
        if today is None:
            written.changed(name, {choice.key: choice.values[0]})  # refuses a key that is unknown
        has = "leaves it out" if today is None else f"has {_label(today)!r}"
        raise ScenarioError(
            f"explore: the choices for {choice.key} are {', '.join(map(repr, choice.labels))}, and variant {name!r} "
            f"{has} today; state it there, and have it among the choices"
        )
    return choice.values.index(today)


def _variant(description: Description, name: str, keys: Sequence[ExploreKeyTable]) -> ExploredVariant:
    alone = of_variant(description, name)
    paths = tuple(find_key(alone, each.key) for each in keys)
    today = [value_at(alone, path.steps) for path in paths]
    for path, value in zip(paths, today, strict=True):
        if value is None:
            raise ScenarioError(
                f"explore: variant {name!r} leaves out {path.text}, whose value today nobody knows; state it"
            )
    return ExploredVariant(
        name=name,
        base=name,
        picked=(),
        description=alone,
        paths=paths,
        today=tuple(value for value in today if value is not None),
    )


def _axis(table: ExploreKeyTable, variants: Sequence[ExploredVariant], number: int) -> ExploreAxis:
    path = variants[0].paths[number]
    low, high = (read_value(end, path) for end in (table.start, table.stop))
    if not low < high:
        raise ScenarioError(
            f"explore: {table.key} goes from {table.start} to {table.stop}; write the smaller end first"
        )
    if table.spacing == "logarithmic" and not low > 0:
        raise ScenarioError(
            f"explore: {table.key} goes from {table.start} to {table.stop}; logarithmic spacing needs both above zero"
        )
    for variant in variants:
        today = variant.today[number]
        if not low * (1 - 1e-9) <= today <= high * (1 + 1e-9):
            raise ScenarioError(
                f"explore: {table.key} is {write_quantity(today, path.quantity)} in variant {variant.name!r} today, "
                f"outside {table.start} to {table.stop}; widen the range to hold it"
            )
    ends = [[_built(each.description, {each.paths[number]: end}) for end in (low, high)] for each in variants]
    if all(computed_from(one) == computed_from(other) for one, other in ends):
        raise ScenarioError(f"explore: {table.key} changes nothing that is computed in any of the variants")
    return ExploreAxis(
        key=table.key,
        quantity=path.quantity,
        low=low,
        high=high,
        logarithmic=table.spacing == "logarithmic",
        shapes=any(shape_of(one) != shape_of(other) for one, other in ends),
    )


def shape_of(scenario: Scenario) -> tuple[Any, ...]:
    """What the fields of a scenario depend on: two scenarios of which it is the same share their solution."""
    variants = tuple(each if each.pickup else replace(each, switching=None) for each in scenario.variants)
    return computed_from(replace(scenario, variants=variants, tables=()))
