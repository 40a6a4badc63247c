"""The product as a whole: loop, switch node and cable of every variant, added up, and set against the reference."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Emission
from geometries.operation.product import Board
from geometries.operation.sites import BoardAxis
from geometries.section.loops import dielectric_bands
from geometries.section.section import Role
from geometries.study.scenario import Variant
from solver.emission.cable import DrivingGround
from solver.emission.current import LoopCurrent, root_mean_square
from solver.emission.dipole import DipoleCurve, DipoleMoment
from solver.emission.node import GroundBelow, node_moment, stray_capacitance
from solver.emission.prediction import closest_margin
from solver.emission.product_results import SUM, ProductComparison, ProductPrediction, SourceLine
from solver.emission.quantities import highest_line
from solver.emission.sources import (
    AttachedCable,
    BoardSources,
    Drive,
    OrientedTotal,
    gain_curve,
    oriented_totals,
    spread_changes,
    spread_total,
)
from solver.emission.total import SpreadChange, leader_at, leaders

_CONTACT = 1e-9
"""Copper lies on a dielectric if it is closer than this [m]."""

SUMMED_LINES = 600
"""Lines of a sum over frequency; a ring of Q 40 is known within 0.3 dB between them."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RadiatingBoard:
    """One variant's sources and what drives them; a `study` if one of its ground layers is tied nowhere."""

    name: str
    study: bool
    sources: BoardSources
    drive: Drive


def board_drive(current: LoopCurrent, frequencies: NDArray[np.float64]) -> Drive:
    """Largest lines of current and node voltage for any duty, root mean square.

    Parameters
    ----------
    current : LoopCurrent
        In the loop, with the ring if that is known; without it nothing is known of the switch node's voltage.
    frequencies : (n,) array
        Of the lines [Hz].
    """
    return Drive(
        frequencies=frequencies,
        current=root_mean_square(current.bounds(frequencies)),
        node_voltage=root_mean_square(current.node_voltage_bounds(frequencies)),
    )


def product_lines(frequencies: NDArray[np.float64], emission: Emission) -> NDArray[np.float64]:
    """Those of a spectrum's lines at which the sum is looked at: evenly on a logarithmic axis, and beside every limit.

    Parameters
    ----------
    frequencies : (n,) array
        Of the lines [Hz], ascending.
    emission : Emission
        Its limits step at their breakpoints.

    Returns
    -------
    (m,) array
        At most 600 and two for every step; what is looked at is the bound for any duty, which is smooth between lines.
    """
    grid = np.geomspace(frequencies[0], frequencies[-1], SUMMED_LINES)
    steps = [edge for line in emission.limits for edge in line.breakpoints]
    after = np.searchsorted(frequencies, [*grid, *steps])
    beside = np.searchsorted(frequencies, steps, side="right") - 1
    chosen = np.unique(np.clip([*after, *beside], 0, len(frequencies) - 1))
    return np.asarray(frequencies[chosen])


def board_sources(
    emission: Emission,
    board: Board,
    loop: DipoleMoment | DipoleCurve,
    ground: GroundBelow,
    driver: DrivingGround | None,
) -> BoardSources:
    """What of a variant radiates.

    Parameters
    ----------
    emission : Emission
        Node and cable.
    board : Board
        On which all stands.
    loop : DipoleMoment or DipoleCurve
        The loop's moment per ampere.
    ground : GroundBelow
        The nearest ground layer.
    driver : DrivingGround, optional
        Ground conductor that drives cables.
    """
    node, stray = emission.node, stray_of(emission, ground)
    attached = None
    if emission.cable is not None:
        attached = AttachedCable(cable=emission.cable, board=board, ground=driver, stray_capacitance=stray)
    return BoardSources(loop=loop, node=None if node is None else node_moment(node, board, ground), cable=attached)


def stray_of(emission: Emission, ground: GroundBelow) -> float:
    """Capacitance of the switch node past the board: as stated, else of its copper and body; zero without both [F]."""
    if emission.stray_capacitance > 0 or emission.node is None or emission.board is None:
        return emission.stray_capacitance
    return stray_capacitance(emission.node, emission.board, ground)


def ground_below(variant: Variant) -> GroundBelow:
    """The ground next below the uppermost copper of a variant's layout or main section."""
    loop = variant.laid_out
    if loop is None:
        section = variant.own_section
        bottom = max(each.outline.bounds[1] for each in section.regions if each.role is Role.GO)
        tops = [section.region(name).outline.bounds[3] for name in section.ground_layers]
        layers = [(each.bottom, each.top, each.relative_permittivity) for each in section.bands]
        outlines = [(each.outline.bounds, each.relative_permittivity) for each in section.dielectrics]
        layers += [(bounds[1], bounds[3], permittivity) for bounds, permittivity in outlines]
    else:
        bottom, plane = max(sheet.height for sheet in loop.copper), loop.layout.plane
        tops = [sheet.levels[-1] for sheet in loop.copper] + ([] if plane is None else [plane.height])
        bands = [band for stackup in variant.stackups for band in dielectric_bands(stackup)]
        layers = [(each.bottom, each.top, each.relative_permittivity) for each in bands]
    depths = [bottom - top for top in tops if top < bottom]
    inside = (permittivity for lower, upper, permittivity in layers if lower < bottom <= upper + _CONTACT)
    return GroundBelow(depth=min(depths, default=math.inf), relative_permittivity=next(inside, 1.0))


def compare_products(
    emission: Emission, boards: Sequence[RadiatingBoard], moved: Sequence[Sequence[RadiatingBoard]], reference: str
) -> ProductComparison:
    """Add up every variant's sources and compare the sums with the reference.

    Parameters
    ----------
    emission : Emission
        Site, orientation, limits and band.
    boards : sequence of RadiatingBoard
        The reference among them.
    moved : sequence of sequence of RadiatingBoard
        The same boards with one input at an end of its tolerance each.
    reference : str
        Name of the variant that changes are against.

    Returns
    -------
    ProductComparison
    """
    totals = _totals(emission, boards)
    drifted = [_totals(emission, each) for each in moved]
    found = []
    for board in boards:
        name = board.name
        changes = spread_changes(totals[reference], totals[name])
        drifts = [spread_changes(each[reference], each[name]) for each in drifted]
        known = _no_band(changes) if name == reference else with_drifts(changes, drifts)
        found.append(_prediction(emission, board, totals[name], known))
    return ProductComparison(reference=reference, predictions=tuple(found))


def with_drifts(nominal: Sequence[SpreadChange], moved: Sequence[Sequence[SpreadChange]]) -> tuple[SpreadChange, ...]:
    """Changes whose bands hold how far they move when an input that both boards share is off.

    Parameters
    ----------
    nominal : sequence of SpreadChange
        As described.
    moved : sequence of sequence of SpreadChange
        The same with one input at an end of its tolerance each, sources in the same order.

    Returns
    -------
    tuple of SpreadChange
        The largest drift of each counts with its band as the root of their squares.

    Examples
    --------
    >>> known = [SpreadChange(name="sum", change=-6.0, band=3.0)]
    >>> slower = [SpreadChange(name="sum", change=-10.0, band=3.0)]
    >>> with_drifts(known, [slower])[0].band
    5.0
    """
    drifts = [
        max((abs(one[index].change - each.change) for one in moved), default=0.0) for index, each in enumerate(nominal)
    ]
    return tuple(replace(each, band=math.hypot(each.band, drift)) for each, drift in zip(nominal, drifts, strict=True))


def _totals(emission: Emission, boards: Sequence[RadiatingBoard]) -> dict[str, tuple[OrientedTotal, ...]]:
    site, orientation = emission.measuring_site, emission.orientation
    return {each.name: oriented_totals(each.drive, each.sources, site, orientation, emission.band) for each in boards}


def _no_band(changes: Sequence[SpreadChange]) -> tuple[SpreadChange, ...]:
    """The reference differs from itself by nothing, and surely."""
    return tuple(replace(each, band=0.0) for each in changes)


def _prediction(
    emission: Emission, board: RadiatingBoard, totals: Sequence[OrientedTotal], changes: tuple[SpreadChange, ...]
) -> ProductPrediction:
    total = spread_total(totals)
    highest = highest_line(total.frequencies, total.levels)
    lines = [
        SourceLine(name=each.name, highest=highest_line(total.frequencies, each.levels), band=each.band)
        for each in total.sources
    ]
    lines.append(SourceLine(name=SUM, highest=highest, band=float(total.bands[total.nearest(highest.frequency)])))
    return ProductPrediction(
        name=board.name,
        total=total,
        lines=tuple(lines),
        ceiling=float(total.ceiling.max()),
        margin=closest_margin(total.frequencies, total.levels, emission.limits),
        leader=leader_at(total, highest.frequency),
        leaders=leaders(total),
        gains=_gains(emission, board.sources.loop, highest.frequency),
        changes=changes,
        study=board.study,
    )


def _gains(
    emission: Emission, loop: DipoleMoment | DipoleCurve, frequency: float
) -> tuple[tuple[BoardAxis, float], ...]:
    at, site = np.array([frequency]), emission.measuring_site
    if not loop.vectors(at).any():
        return ()
    return tuple(
        (axis, 20 * math.log10(float(gain_curve(site, loop, at, axis)[0])))
        for axis in emission.orientation.upright_axes
    )
