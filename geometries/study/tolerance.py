"""Tolerances: what is asked of `copperfield tolerance`, and the variants with their values moved."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import product

from geometries.board.stackup import CopperLayer, DielectricLayer
from geometries.errors import GeometryError, ScenarioError
from geometries.quantities import Quantity
from geometries.study.build import build_scenario
from geometries.study.described_variant import Steps
from geometries.study.description import Description
from geometries.study.fingerprint import computed_from
from geometries.study.keys import find_key, of_variant, replaced, value_at
from geometries.study.scenario import Scenario, only_variant
from geometries.study.spread import Distribution, Source, Spread, read_spread

_CLASHING = (Source.WIDTH, Source.ETCH, Source.GAP)
"""What can make conductors meet; every combination of these is built beforehand."""

_DIFFERENCES = {Quantity.TEMPERATURE: Quantity.TEMPERATURE_DIFFERENCE}

Targets = Iterator[tuple[Steps, float]]
"""Ways to values, and by how many times the tolerance each of them moves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """What `copperfield tolerance` is asked.

    Parameters
    ----------
    scenario : Scenario
        The whole file as read.
    spreads : tuple of Spread
        What varies, at least one, each source once.
    samples : int
        How many random samples are taken.
    seed : int
        Of the random numbers: the same seed gives the same samples.
    distribution : Distribution
        Uniform between the limits, or normal with the limits at three standard deviations and nothing beyond.
    variants : tuple of str
        Names of the variants looked at.
    figures : tuple of str
        Keys of the figures that are wanted, not judged here; empty if the file names none.
    descriptions : tuple of Description
        Of each variant all that its numbers are computed from.

    Examples
    --------
    >>> from geometries.files.tolerance_reading import parse_tolerance
    >>> tolerance = parse_tolerance(
    ...     '''
    ... title = "two layers"
    ... stackup = "2L-1.6"
    ... loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
    ... tolerance = { etch = "20 um", keys = { "loop.length" = "2 %" } }
    ... '''
    ... )
    >>> [str(spread) for spread in tolerance.spreads]
    ['etch ±20 µm', 'loop.length ±2 %']
    """

    scenario: Scenario
    spreads: tuple[Spread, ...]
    samples: int
    seed: int
    distribution: Distribution
    variants: tuple[str, ...]
    figures: tuple[str, ...]
    descriptions: tuple[Description, ...]


def build_tolerance(scenario: Scenario, description: Description, variant: str = "") -> Tolerance:
    """Build the tolerances that a file describes, and every corner at which conductors can meet.

    Parameters
    ----------
    scenario : Scenario
        The whole file.
    description : Description
        With its `[tolerance]` table.
    variant : str
        Look at this one alone; at those that the table names, or at all, if not given.

    Returns
    -------
    Tolerance

    Raises
    ------
    ScenarioError
        If there is no such table, a key does not exist or has no effect, or a corner is an impossible geometry.
    """
    table = description.tolerance
    if table is None:
        raise ScenarioError(
            'there is no [tolerance] table; add one, for example [tolerance] prepreg = "10 %", etch = "20 um"'
        )
    wanted = [variant] if variant else table.variants or [each.name for each in scenario.variants]
    names = tuple(only_variant(scenario, name).reference for name in wanted)
    if len(set(names)) < len(names):
        raise ScenarioError("tolerance: a variant is named twice; name each once")
    descriptions = tuple(of_variant(description, name) for name in names)
    keyed = tuple(_spread_of_key(key, value, descriptions) for key, value in table.keys.items())
    tolerance = Tolerance(
        scenario=scenario,
        spreads=(*table.spreads, *keyed),
        samples=table.samples,
        seed=table.seed,
        distribution=table.distribution,
        variants=names,
        figures=table.figures,
        descriptions=descriptions,
    )
    _require_copper(tolerance)
    _try_every_corner(tolerance)
    return tolerance


def tolerance_scenario(tolerance: Tolerance, name: str, offsets: tuple[float, ...]) -> Scenario:
    """One variant with its values moved within their tolerances.

    Parameters
    ----------
    tolerance : Tolerance
        What varies.
    name : str
        The variant.
    offsets : tuple of float
        Of every spread, from -1 to 1; 0 is nominal.

    Returns
    -------
    Scenario
        The variant alone, without steps, with all tables that analyses ask for.

    Raises
    ------
    ScenarioError
        If that makes an impossible geometry; the message names the offsets.

    Examples
    --------
    >>> from geometries import read_builtin_scenario, tolerance_scenario
    >>> from geometries.files.tolerance_reading import parse_tolerance
    >>> tolerance = parse_tolerance(read_builtin_scenario("garden-lamp").text)  # gap 1 mm ±0.1 mm
    >>> wider = tolerance_scenario(tolerance, "lamp", (1.0,)).variants[0].section
    >>> round(wider.region("return").outline.left * 1e3, 3)  # mm from the middle of the gap
    0.55
    """
    description = tolerance.descriptions[tolerance.variants.index(name)]
    moves = list(zip(tolerance.spreads, offsets, strict=True))
    try:
        scenario = build_scenario(replaced(description, moved_values(description, moves)))
    except GeometryError as error:
        place = ", ".join(f"{spread.source} at {offset:+.3g}" for spread, offset in moves)
        raise ScenarioError(f"tolerance: {name!r} with {place} of its tolerance: {error}") from error
    return replace(scenario, variants=(replace(scenario.variants[0], steps=()),))


def moved_values(description: Description, moves: list[tuple[Spread, float]]) -> dict[Steps, float]:
    """New values of all that some spreads move; what two of them move is moved by one after the other."""
    values: dict[Steps, float] = {}
    for spread, offset in sorted(moves, key=lambda move: move[0].source == Source.ETCH):
        for steps, times in _targets(description, spread.source):
            nominal = values.get(steps, value_at(description, steps))
            if nominal is not None:
                values[steps] = float(f"{spread.applied(nominal, times * offset):.15g}")
    return values


def _spread_of_key(key: str, value: object, descriptions: tuple[Description, ...]) -> Spread:
    """The spread of one key, which every variant must have."""
    quantity = next(find_key(each, key).quantity for each in descriptions)
    return read_spread(value, key, _DIFFERENCES.get(quantity, quantity))


def _require_copper(tolerance: Tolerance) -> None:
    """Named tolerances move the values of a loop or of a placement on a board."""
    named = any(each.source in set(Source) for each in tolerance.spreads)
    for name, description in zip(tolerance.variants, tolerance.descriptions, strict=True):
        if named and description.variant[0].region:
            raise ScenarioError(
                f"tolerance: variant {name!r} is user-defined, region by region; tolerances move the values of a "
                "[loop] or of a placement on a stackup: name the variants that have one, variants = [...], or the keys "
                "themselves, [tolerance.keys]"
            )


def _try_every_corner(tolerance: Tolerance) -> None:
    for name in tolerance.variants:
        for corner in _corners(tolerance.spreads):
            tolerance_scenario(tolerance, name, corner)
    for number, spread in enumerate(tolerance.spreads):
        if spread.source not in set(Source) and not any(_moves(tolerance, name, number) for name in tolerance.variants):
            raise ScenarioError(
                f"tolerance: {spread.source} changes nothing that is computed; name a key that shapes a conductor, or "
                "one of a table that is asked for"
            )


def _moves(tolerance: Tolerance, name: str, number: int) -> bool:
    """Whether one spread alone changes what the numbers of a variant depend on."""
    offsets = [tuple(end if index == number else 0.0 for index in range(len(tolerance.spreads))) for end in (0.0, 1.0)]
    nominal, moved = (computed_from(tolerance_scenario(tolerance, name, each)) for each in offsets)
    return nominal != moved


def _corners(spreads: tuple[Spread, ...]) -> Iterator[tuple[float, ...]]:
    """Every combination of what can clash, with all else at its one end and at its other."""
    clashing = [each.source for each in spreads if each.source in _CLASHING]
    for signs, rest in product(product((-1.0, 1.0), repeat=len(clashing)), (-1.0, 1.0)):
        placed = dict(zip(clashing, signs, strict=True))
        yield tuple(placed.get(each.source, rest) for each in spreads)


def _targets(description: Description, source: str) -> Targets:
    """What a source moves in a description of one variant."""
    if source in _NAMED:
        return _NAMED[source](description)
    return iter([(find_key(description, source).steps, 1.0)])


def _dielectrics(description: Description) -> Targets:
    return _layers(description, DielectricLayer, "thickness")


def _permittivities(description: Description) -> Targets:
    return _layers(description, DielectricLayer, "relative_permittivity")


def _copper(description: Description) -> Targets:
    yield from _layers(description, CopperLayer, "thickness")
    yield from _of_loops(description, ("copper_thickness",))


def _layers(description: Description, kind: type, key: str) -> Targets:
    for name, board in description.stackups.items():
        for index, layer in enumerate(board.layers):
            if isinstance(layer, kind):
                yield ("stackups", name, "layers", index, key), 1.0


def _widths(description: Description) -> Targets:
    return _of_loops(description, ("width", "return_width"), ("copper_width",))


def _gaps(description: Description) -> Targets:
    return _of_loops(description, ("gap",), ("gap",))


def _edges(description: Description) -> Targets:
    """Two edges move outwards: copper becomes wider by twice as much, a gap narrower."""
    yield from ((steps, 2.0) for steps, _ in _widths(description))
    yield from ((steps, -2.0) for steps, _ in _gaps(description))


def _temperatures(description: Description) -> Targets:
    yield ("variant", 0, "copper", "temperature"), 1.0
    for index, _ in enumerate(description.variant[0].segment):
        yield ("variant", 0, "segment", index, "copper", "temperature"), 1.0


def _of_loops(description: Description, keys: tuple[str, ...], of_switch: tuple[str, ...] = ()) -> Targets:
    """Keys of the loops of a variant and of its segments, or of the copper at the pins of a placement."""
    variant = description.variant[0]
    stretches = [((), variant), *((("segment", index), each) for index, each in enumerate(variant.segment))]
    for way, each in stretches:
        if each.loop is not None:
            yield from ((("variant", 0, *way, "loop", key), 1.0) for key in keys if hasattr(each.loop, key))
    if variant.placement is not None:
        yield from ((("variant", 0, "switch", key), 1.0) for key in of_switch)


_NAMED: dict[str, Callable[[Description], Targets]] = {
    Source.PREPREG: _dielectrics,
    Source.WIDTH: _widths,
    Source.ETCH: _edges,
    Source.GAP: _gaps,
    Source.COPPER: _copper,
    Source.PERMITTIVITY: _permittivities,
    Source.TEMPERATURE: _temperatures,
}
