"""Loop, switch node and cable of one board at the antenna, for every way in which the board may stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Cable
from geometries.operation.product import Board
from geometries.operation.sites import BoardAxis, MeasuringSite, Orientation
from solver.emission.board_cable import CABLE_OWN, CABLE_SHARED, estimated_field, ground_voltage, node_voltage_on_board
from solver.emission.cable import DrivingGround
from solver.emission.dipole import DipoleCurve, DipoleKind, DipoleMoment
from solver.emission.prediction import level
from solver.emission.site import free_space_field, site_gain
from solver.emission.total import ChangedSource, SourceLevels, SpreadChange, TotalLevels, add_sources, change_of_total

LOOP, NODE = "loop", "switch node"
CABLE_BY_GROUND, CABLE_BY_NODE = "cable, current-driven", "cable, voltage-driven"
"""By the voltage along the ground, which the loop's current makes, and by the charge of the switch node."""

_GAINS = 80
"""Frequencies at which the site's gain is computed, evenly on a logarithmic axis, straight lines between: 0.1 dB."""

_WAYS_OF_A_CABLE = tuple(
    DipoleMoment(
        kind=DipoleKind.ELECTRIC, across=1 - upright, along=0, normal=upright, band=0.0, source="piece of a cable"
    )
    for upright in (0, 1)
)
"""Along the floor and upright."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drive:
    """What drives the sources of a board, root mean square.

    Parameters
    ----------
    frequencies : (n,) array
        Of the lines [Hz], ascending.
    current : (n,) array
        In the loop [A].
    node_voltage : (n,) array
        Of the switch node [V].
    """

    frequencies: Floats
    current: Floats
    node_voltage: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class AttachedCable:
    """A cable and what couples it to the board.

    Parameters
    ----------
    cable : Cable
        What is attached.
    board : Board
        What it is attached to.
    ground : DrivingGround, optional
        The ground conductor whose voltage drives it; None where nothing does.
    stray_capacitance : float
        Of the switch node past the board to far away [F].
    passed : float
        Part of its current that a filter lets pass where it leaves the board [1].
    """

    cable: Cable
    board: Board
    ground: DrivingGround | None
    stray_capacitance: float
    passed: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSources:
    """What of a board radiates.

    Parameters
    ----------
    loop : DipoleMoment or DipoleCurve
        Magnetic, per ampere.
    node : DipoleMoment, optional
        Electric, per volt; None leaves the switch node out.
    cable : AttachedCable, optional
        None leaves cables out.
    """

    loop: DipoleMoment | DipoleCurve
    node: DipoleMoment | None = None
    cable: AttachedCable | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OrientedTotal:
    """The sum of all sources with one of the board's axes upright.

    Parameters
    ----------
    upright : BoardAxis
        The axis that points up.
    total : TotalLevels
        At the antenna.
    """

    upright: BoardAxis
    total: TotalLevels


def oriented_totals(
    drive: Drive, sources: BoardSources, site: MeasuringSite, orientation: Orientation, band: float
) -> tuple[OrientedTotal, ...]:
    """Levels of all sources and their sum at the antenna, for every way in which the board may stand.

    Parameters
    ----------
    drive : Drive
        Currents and voltages of the lines.
    sources : BoardSources
        What radiates.
    site : MeasuringSite
        Where the antenna stands.
    orientation : Orientation
        How the board may stand.
    band : float
        What a level of loop or switch node is uncertain by for all boards alike, to both sides [dB].

    Returns
    -------
    tuple of OrientedTotal
    """
    cable = [] if sources.cable is None else _cable_levels(drive, sources.cable, site)
    moments: list[tuple[str, DipoleMoment | DipoleCurve, Floats]] = [(LOOP, sources.loop, drive.current)]
    moments += [] if sources.node is None else [(NODE, sources.node, drive.node_voltage)]
    found = []
    for axis in orientation.upright_axes:
        dipoles = [_dipole_levels(drive, *moment, (site, axis), band) for moment in moments]
        found.append(OrientedTotal(upright=axis, total=add_sources(drive.frequencies, [*dipoles, *cable])))
    return tuple(found)


def spread_changes(before: Sequence[OrientedTotal], after: Sequence[OrientedTotal]) -> tuple[SpreadChange, ...]:
    """What a change brings to every source and to the sum, both boards standing alike.

    Raises
    ------
    ValueError
        If both were not computed for the same orientations.
    """
    if [each.upright for each in before] != [each.upright for each in after]:
        raise ValueError("the boards stand in different ways; compare them for the same orientations")
    changes = [change_of_total(then.total, now.total) for then, now in zip(before, after, strict=True)]
    return tuple(_spread(each) for each in zip(*changes, strict=True))


def spread_total(totals: Sequence[OrientedTotal]) -> TotalLevels:
    """One sum over all ways in which the board may stand.

    Parameters
    ----------
    totals : sequence of OrientedTotal
        At least one.

    Returns
    -------
    TotalLevels
        Levels are the middle of the smallest and largest over the ways, with half of their spread in the band; of a
        source the largest spread over frequency. The ceiling is the largest.
    """
    first = totals[0].total
    sources = [_middle_source([each.total.sources[index] for each in totals]) for index in range(len(first.sources))]
    levels, half = _middle(np.stack([each.total.levels for each in totals]))
    return TotalLevels(
        frequencies=first.frequencies,
        sources=tuple(sources),
        levels=levels,
        ceiling=np.max([each.total.ceiling for each in totals], axis=0),
        bands=np.hypot(half, np.max([each.total.bands for each in totals], axis=0)),
    )


def gain_curve(
    site: MeasuringSite, moment: DipoleMoment | DipoleCurve, frequencies: Floats, upright: BoardAxis
) -> Floats:
    """Gain of a site over the field of a moment in free space at many frequencies, (n,) [1]."""
    grid = frequencies
    if len(frequencies) > _GAINS:
        grid = np.geomspace(frequencies[0], frequencies[-1], _GAINS)
    vectors = moment.vectors(grid)
    directions = vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
    gains = [
        _gain(site, moment.kind, tuple(direction.tolist()), float(each), upright)
        for direction, each in zip(directions, grid, strict=True)
    ]
    return np.interp(np.log(frequencies), np.log(grid), gains)


@lru_cache(maxsize=256 * _GAINS)
def _gain(
    site: MeasuringSite, kind: DipoleKind, direction: tuple[complex, ...], frequency: float, upright: BoardAxis
) -> float:
    """The same for all currents in a loop, so kept."""
    return site_gain(site, kind, np.array(direction), frequency, upright)


def _dipole_levels(
    drive: Drive,
    name: str,
    moment: DipoleMoment | DipoleCurve,
    driven: Floats,
    place: tuple[MeasuringSite, BoardAxis],
    band: float,
) -> SourceLevels:
    site, axis = place
    magnitudes = np.linalg.norm(moment.vectors(drive.frequencies), axis=1)
    if not magnitudes.all():
        return SourceLevels(name=name, levels=level(np.zeros_like(driven)), shared=band, own=moment.band)
    gains = gain_curve(site, moment, drive.frequencies, axis)
    free = np.array(_fields_of_unit(moment.kind, site.distance, tuple(drive.frequencies.tolist())))
    field = gains * free * magnitudes * driven
    return SourceLevels(name=name, levels=level(field), shared=band, own=moment.band)


@lru_cache(maxsize=16)
def _fields_of_unit(kind: DipoleKind, distance: float, frequencies: tuple[float, ...]) -> tuple[float, ...]:
    """Field of a unit dipole in free space; the same for all boards, so kept."""
    return tuple(free_space_field(kind, 1.0, each, distance) for each in frequencies)


@lru_cache(maxsize=16)
def _fields_of_volt(cable: Cable, board: Board, distance: float, frequencies: tuple[float, ...]) -> tuple[float, ...]:
    """Field of a cable per volt in free space; the same for all variants, so kept."""
    return tuple(estimated_field(1.0, board, cable, each, distance) for each in frequencies)


def _cable_levels(drive: Drive, attached: AttachedCable, site: MeasuringSite) -> list[SourceLevels]:
    """The cable's estimate by both mechanisms; how it runs is not known: the larger gain of along and across counts."""
    curves = [gain_curve(site, way, drive.frequencies, BoardAxis.NORMAL) for way in _WAYS_OF_A_CABLE]
    board, lines = attached.board, tuple(drive.frequencies.tolist())
    per_volt = np.array(_fields_of_volt(attached.cable, board, site.distance, lines))
    received = np.maximum(*curves) * per_volt * attached.passed
    ground, at = attached.ground, drive.frequencies
    by_ground = 0.0 * at if ground is None else ground_voltage(drive.current, ground.inductances(at), at)
    by_node = node_voltage_on_board(1.0, attached.stray_capacitance, board) * drive.node_voltage
    missed = 0.0 if ground is None else ground.band
    return [
        SourceLevels(name=name, levels=level(received * voltage), shared=CABLE_SHARED, own=math.hypot(CABLE_OWN, band))
        for name, voltage, band in ((CABLE_BY_GROUND, by_ground, missed), (CABLE_BY_NODE, by_node, 0.0))
    ]


def _middle(levels: Floats) -> tuple[Floats, Floats]:
    """Middle of the smallest and largest of levels (ways, n), and half of their spread, (n,)."""
    low, high = levels.min(axis=0), levels.max(axis=0)
    return (low + high) / 2, (high - low) / 2


def _middle_source(ways: Sequence[SourceLevels]) -> SourceLevels:
    levels, half = _middle(np.stack([each.levels for each in ways]))
    return SourceLevels(
        name=ways[0].name,
        levels=levels,
        shared=ways[0].shared,
        own=math.hypot(ways[0].own, float(half.max())),
    )


def _spread(changes: Sequence[ChangedSource]) -> SpreadChange:
    values = [each.change for each in changes]
    half = (max(values) - min(values)) / 2
    return SpreadChange(
        name=changes[0].name,
        change=(max(values) + min(values)) / 2,
        band=math.hypot(half, max(each.band for each in changes)),
    )
