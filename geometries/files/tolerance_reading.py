"""From the `[tolerance]` table of a scenario file to what is to be solved for it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import build_scenario, parse_document, read_text
from geometries.files.sweep_reading import variant_inputs
from geometries.files.tolerance_table import ToleranceTable
from geometries.quantities import Quantity, read_quantity
from geometries.study.scenario import Analysis, Scenario, only_variant
from geometries.study.spread import Source, Spread
from geometries.study.tolerance import Tolerance, ToleranceCase

_Tables = dict[str, Any]
_Move = tuple[Spread, float]
_CLASHING = (Source.WIDTH, Source.ETCH, Source.GAP)
"""What can make conductors meet; every combination of these is built beforehand."""


def read_tolerance(path: Path, variant: str = "") -> Tolerance:
    """Read a scenario file that has a `[tolerance]` table.

    Parameters
    ----------
    path : Path
        A TOML file.
    variant : str
        Look at this one alone; at those that the table names, or at all, if not given.

    Returns
    -------
    Tolerance
        Every corner of it has been built once, so that none is refused later.

    Raises
    ------
    ScenarioError
        If the file cannot be read, has no such table, or a corner is an impossible geometry.
    """
    return parse_tolerance(read_text(path), where=str(path), variant=variant)


def parse_tolerance(text: str, *, where: str = "scenario", variant: str = "") -> Tolerance:
    """Read tolerances from the text of a scenario file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_tolerance`.
    """
    document = parse_document(text, where=where)
    scenario = build_scenario(document, text=text, where=where)
    if "tolerance" not in document:
        raise ScenarioError(
            f'{where}: there is no [tolerance] table; add one, for example [tolerance] prepreg = "10 %", etch = "20 um"'
        )
    table = ToleranceTable.model_validate(document["tolerance"])
    try:
        tolerance = _build(table, scenario, document, variant)
    except GeometryError as error:
        raise ScenarioError(f"{where}: tolerance: {error}") from error
    _try_every_corner(tolerance, where)
    return tolerance


def tolerance_case(tolerance: Tolerance, name: str, offsets: tuple[float, ...], *, where: str = "") -> ToleranceCase:
    """One variant with its values moved within their tolerances.

    Parameters
    ----------
    tolerance : Tolerance
        What varies.
    name : str
        The variant.
    offsets : tuple of float
        Of every spread, from -1 to 1.
    where : str
        Names the file in messages.

    Raises
    ------
    ScenarioError
        If that makes an impossible geometry; the message names the offsets.
    """
    tables = json.loads(tolerance.inputs[tolerance.variants.index(name)])
    moves = {spread.source: (spread, offset) for spread, offset in zip(tolerance.spreads, offsets, strict=True)}
    place = ", ".join(f"{source} at {offset:+.3g}" for source, (_, offset) in moves.items())
    here = f"{where}: tolerance: {name!r} with {place} of its tolerance"
    scenario = build_scenario(_moved(tables, moves), text="", where=here)
    return ToleranceCase(
        name=name,
        offsets=offsets,
        variant=replace(scenario.variants[0], steps=()),
        analysis=_few_frequencies(scenario.analysis, tolerance.scenario.analysis),
    )


def _few_frequencies(analysis: Analysis, asked: Analysis) -> Analysis:
    """The report frequency, and the highest one for the mesh and for the loop's circuit."""
    return replace(analysis, frequencies=tuple(sorted({asked.report_frequency, asked.frequencies[-1]})))


def _build(table: ToleranceTable, scenario: Scenario, document: _Tables, variant: str) -> Tolerance:
    wanted = [variant] if variant else table.variants or [each.name for each in scenario.variants]
    names = tuple(only_variant(scenario, name).reference for name in wanted)
    if len(set(names)) < len(names):
        raise ScenarioError("a variant is named twice; name each once")
    inputs = [variant_inputs(document, name) for name in names]
    for name, tables in zip(names, inputs, strict=True):
        if "loop" not in tables["variant"][0]:
            raise ScenarioError(
                f"variant {name!r} is written out region by region; tolerances move the values of a [loop] on a "
                "construction: name the variants that have one, variants = [...]"
            )
    return Tolerance(
        scenario=scenario,
        spreads=table.spreads,
        samples=table.samples,
        seed=table.seed,
        distribution=table.distribution,
        variants=names,
        inputs=tuple(json.dumps(tables, sort_keys=True) for tables in inputs),
    )


def _try_every_corner(tolerance: Tolerance, where: str) -> None:
    for name, corner in product(tolerance.variants, _corners(tolerance.spreads)):
        tolerance_case(tolerance, name, corner, where=where)


def _corners(spreads: tuple[Spread, ...]) -> Iterator[tuple[float, ...]]:
    """Every combination of what can clash, with all else at its one end and at its other."""
    clashing = [each.source for each in spreads if each.source in _CLASHING]
    for signs, rest in product(product((-1.0, 1.0), repeat=len(clashing)), (-1.0, 1.0)):
        placed = dict(zip(clashing, signs, strict=True))
        yield tuple(placed.get(each.source, rest) for each in spreads)


def _moved(tables: _Tables, moves: Mapping[Source, _Move]) -> _Tables:
    """A copy of the tables of a variant with every toleranced value moved."""
    variant = tables["variant"][0]
    own = _moved_copper(_moved_stretch(variant, moves), moves)
    if "segment" in variant:
        own = {**own, "segment": [_moved_stretch(each, moves) for each in variant["segment"]]}
    boards = {name: _moved_board(board, moves) for name, board in tables["stackups"].items()}
    return {**tables, "stackups": boards, "variant": [own]}


def _moved_board(board: _Tables, moves: Mapping[Source, _Move]) -> _Tables:
    layers = []
    for layer in board["layers"]:
        source = Source.COPPER if layer.get("copper") else Source.PREPREG
        layers.append(_moved_permittivity(_shifted(layer, "thickness", moves.get(source)), moves))
    return {**board, "layers": layers}


def _moved_permittivity(layer: _Tables, moves: Mapping[Source, _Move]) -> _Tables:
    move = moves.get(Source.PERMITTIVITY)
    if move is None or "relative_permittivity" not in layer:
        return layer
    return {**layer, "relative_permittivity": move[0].applied(layer["relative_permittivity"], move[1])}


def _moved_stretch(stretch: _Tables, moves: Mapping[Source, _Move]) -> _Tables:
    """A variant or a further stretch of it: only what is written there moves, the rest follows by inheritance."""
    if "loop" not in stretch:
        return stretch
    loop = _shifted(stretch["loop"], "copper_thickness", moves.get(Source.COPPER))
    for key in ("width", "return_width"):
        loop = _shifted(loop, key, moves.get(Source.WIDTH))
        loop = _etched(loop, key, moves, 1)
    loop = _etched(_shifted(loop, "gap", moves.get(Source.GAP)), "gap", moves, -1)
    return {**stretch, "loop": loop}


def _etched(loop: _Tables, key: str, moves: Mapping[Source, _Move], sign: int) -> _Tables:
    """Two edges move outwards: copper becomes wider by twice as much, a gap narrower."""
    move = moves.get(Source.ETCH)
    return loop if move is None else _shifted(loop, key, (move[0], 2 * sign * move[1]))


def _moved_copper(variant: _Tables, moves: Mapping[Source, _Move]) -> _Tables:
    move = moves.get(Source.TEMPERATURE)
    if move is None:
        return variant
    copper = variant.get("copper", {})
    nominal = read_quantity(copper.get("temperature", "20 degC"), Quantity.TEMPERATURE, "temperature")
    return {**variant, "copper": {**copper, "temperature": f"{move[0].applied(nominal, move[1])!r} degC"}}


def _shifted(table: _Tables, key: str, move: _Move | None) -> _Tables:
    """The table with one length moved, if it is there."""
    if move is None or key not in table:
        return table
    nominal = read_quantity(table[key], Quantity.COPPER_THICKNESS, key)
    return {**table, key: f"{move[0].applied(nominal, move[1])!r} m"}
