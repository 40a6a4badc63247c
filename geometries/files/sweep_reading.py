"""From the `[sweep]` table of a scenario file to a sweep, and from each of its points to a variant."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import build_scenario, inherit_defaults, parse_document, read_text
from geometries.files.schema import MOST_SWEEP_POINTS, SweepKeyTable, SweepTable
from geometries.files.stackups import stackup_tables
from geometries.files.sweep_keys import Steps, find_key
from geometries.quantities import Quantity, read_quantity
from geometries.study.scenario import Analysis, Scenario, Variant, only_variant
from geometries.study.sweep import Sweep, SweepAxis, SweepCase, SweepPoint, point_label, sweep_points


def read_sweep(path: Path) -> Sweep:
    """Read a scenario file that has a `[sweep]` table.

    Parameters
    ----------
    path : Path
        A TOML file.

    Returns
    -------
    Sweep
        Every point of it has been built once, so that none of them is refused later.

    Raises
    ------
    ScenarioError
        If the file cannot be read, has no sweep, a key does not exist or has no effect, or a value makes an
        impossible geometry; the message names the point.
    """
    return parse_sweep(read_text(path), where=str(path))


def parse_sweep(text: str, *, where: str = "scenario") -> Sweep:
    """Read a sweep from the text of a scenario file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_sweep`.
    """
    document = parse_document(text, where=where)
    scenario = build_scenario(document, text=text, where=where)
    if "sweep" not in document:
        raise ScenarioError(
            f'{where}: there is no [sweep] table; add one, for example [sweep] vary = [{{ key = "loop.width", '
            'from = "1 mm", to = "5 mm", steps = 9 }]'
        )
    try:
        sweep = _build_sweep(SweepTable.model_validate(document["sweep"]), scenario, document)
    except GeometryError as error:
        raise ScenarioError(f"{where}: sweep: {error}") from error
    _try_every_point(sweep, where)
    return sweep


def sweep_case(sweep: Sweep, point: SweepPoint, *, where: str = "sweep") -> SweepCase:
    """What has to be solved for one point of a sweep.

    Raises
    ------
    ScenarioError
        If the point's values make an impossible geometry; the message names them.
    """
    document = json.loads(sweep.inputs)
    for axis, value in zip(sweep.axes, point.values, strict=True):
        document = _with_value(document, axis.steps, f"{value!r} {axis.quantity.unit}")
    scenario = build_scenario(document, text="", where=f"{where}: sweep point {point_label(sweep, point)}")
    return SweepCase(point=point, variant=replace(scenario.variants[0], steps=()), analysis=scenario.analysis)


def _build_sweep(table: SweepTable, scenario: Scenario, document: dict[str, Any]) -> Sweep:
    name = only_variant(scenario, table.variant).reference
    inputs = variant_inputs(document, name)
    axes = tuple(_build_axis(each, inputs) for each in table.vary)
    if len({axis.steps for axis in axes}) < len(axes):
        raise ScenarioError(f"{axes[0].key} is varied twice; name another key, or one key alone")
    sweep = Sweep(scenario=scenario, variant=name, axes=axes, inputs=json.dumps(inputs, sort_keys=True))
    if sweep.size > MOST_SWEEP_POINTS:
        raise ScenarioError(
            f"the grid has {sweep.size} points; at most {MOST_SWEEP_POINTS} are solved: take fewer steps"
        )
    return sweep


def variant_inputs(document: dict[str, Any], name: str) -> dict[str, Any]:
    """Tables of one variant of a file alone, complete with its defaults and its construction's layers."""
    complete = next(each for each in inherit_defaults(document)["variant"] if each["name"] == name)
    own: dict[str, Any] = next((each for each in document.get("variant", []) if each["name"] == name), {})
    segments = [dict(each) for each in own.get("segment", [])]  # as written, so that they follow the variant's values
    variant = {**_without(_without(complete, "note"), "price"), **({"segment": segments} if segments else {})}
    boards = {**stackup_tables(), **document.get("stackups", {})}
    named = [each["stackup"] for each in (variant, *segments) if each.get("stackup")]
    causes = ("pickup", "switching") if variant.get("victims") else ()
    heard = {key: document[key] for key in causes if key in document}
    return {
        **heard,
        "title": name,
        "analysis": _without(document.get("analysis", {}), "frequencies"),
        "stackups": {board: _without(boards[board], "note") for board in named},
        "variant": [variant],
    }


def _without(table: dict[str, Any], key: str) -> dict[str, Any]:
    return {name: value for name, value in table.items() if name != key}


def _build_axis(table: SweepKeyTable, inputs: dict[str, Any]) -> SweepAxis:
    steps, quantity = find_key(table.key, inputs)
    if table.values is not None:
        values = [read_quantity(value, quantity, table.key) for value in table.values]
    else:
        values = _spaced(table, quantity)
    if len(set(values)) < len(values):
        raise ScenarioError(f"{table.key} takes the same value twice; list every value once")
    return SweepAxis(
        key=table.key,
        steps=steps,
        quantity=quantity,
        values=tuple(values),
        logarithmic=table.spacing == "logarithmic" and min(values) > 0,
    )


def _spaced(table: SweepKeyTable, quantity: Quantity) -> list[float]:
    """Values from the first to the last, both included, evenly spaced as the table says."""
    start, stop = (read_quantity(each, quantity, table.key) for each in (table.start, table.stop))
    count = table.steps or 2
    if table.spacing == "linear":
        return [_rounded(start + (stop - start) * step / (count - 1)) for step in range(count)]
    if not (start > 0 and stop > 0):
        raise ScenarioError(
            f"{table.key} goes from {table.start} to {table.stop}; logarithmic spacing needs both above zero"
        )
    return [_rounded(start * math.exp(math.log(stop / start) * step / (count - 1))) for step in range(count)]


def _rounded(value: float) -> float:
    return float(f"{value:.12g}")


def _with_value(node: Any, steps: Steps, text: str) -> Any:
    """A copy of nested tables and lists with one value replaced; tables on the way are made where they are missing."""
    if not steps:
        return text
    first, rest = steps[0], steps[1:]
    if isinstance(first, int):
        return [_with_value(each, rest, text) if index == first else each for index, each in enumerate(node)]
    return {**node, first: _with_value(node.get(first, {}), rest, text)}


def _try_every_point(sweep: Sweep, where: str) -> None:
    """Build every point once; refuse a key that changes nothing that is computed."""
    idle = {axis.key for axis in sweep.axes}
    first = None
    for point in sweep_points(sweep):
        case = sweep_case(sweep, point, where=where)
        first = first or case
        changed = [axis.key for axis, *pair in _pairs(sweep, point, first.point) if pair[0] != pair[1]]
        if len(changed) == 1 and _inputs_of(case) != _inputs_of(first):
            idle -= set(changed)
    for axis in sweep.axes:
        if axis.key in idle:
            raise ScenarioError(
                f"{where}: sweep: {axis.key} changes nothing in variant {sweep.variant!r} that is computed; vary a key "
                "that shapes a conductor"
            )


def _pairs(sweep: Sweep, point: SweepPoint, other: SweepPoint) -> Iterator[tuple[SweepAxis, float, float]]:
    return zip(sweep.axes, point.values, other.values, strict=True)


def _inputs_of(case: SweepCase) -> tuple[object, ...]:
    return computed_from(case.variant, case.analysis)


def computed_from(variant: Variant, analysis: Analysis) -> tuple[object, ...]:
    """What the numbers of a point depend on; points of which it is the same need to be solved only once."""
    nearest_lines = analysis.heights_above[0], analysis.heights_below[0]
    settings = analysis.report_frequency, analysis.tolerance, *nearest_lines
    return variant.section.regions, variant.length, variant.surfaces, variant.segments, variant.pickup, *settings
