"""What a sweep yields: one row of numbers per point, free of meshes and matrices."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.study.sweep import Sweep
from solver.axisymmetric.results import Shielding


@dataclass(frozen=True, slots=True, kw_only=True)
class Pickup:
    """What the first victim hears.

    Parameters
    ----------
    mutual_inductance : float
        Magnitude at the report frequency [H/m].
    node_capacitance : float
        To the switch node [F/m].
    magnetic_peak, electric_peak, peak : float
        At the pin: each part, and both at most [V].
    """

    mutual_inductance: float
    node_capacitance: float
    magnetic_peak: float
    electric_peak: float
    peak: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRow:
    """The numbers of one point, of the variant's first loop; those of the whole loop leave out its ends.

    Parameters
    ----------
    index : int
        Number of the point in the sweep's order.
    values : tuple of float
        Value of every axis in its stored unit.
    frequency : float
        Report frequency [Hz].
    inductance_per_length, resistance_per_length : float
        Of the main section at the report frequency [H/m], [ohm/m].
    loop_inductance, loop_resistance : float
        Sum of section times length at the report frequency [H], [ohm].
    inductance_error, resistance_error : float
        Their estimated discretisation errors [H], [ohm].
    dc_inductance, dc_resistance : float
        Of the whole loop at direct current, the inductance in the middle of its two bounds [H], [ohm].
    perfect_inductance : float
        Of the whole loop in the limit of perfect conductors, in the middle of its two bounds [H].
    peak_above, peak_below : float
        Largest field strength on the nearest line above and below the board, main section, peak, per ampere
        [A/m per A].
    moment : float
        Magnitude of the main section's line moment per ampere [m]; of the moment along the axis [m²] if it is round.
    seconds : float
        Time it took [s].
    cautions : tuple of str
        Codes of the warnings that concern this point.
    shielding : Shielding, optional
        Of a round loop with discs.
    pickup : Pickup, optional
        Of a variant with victims.
    """

    index: int
    values: tuple[float, ...]
    frequency: float
    inductance_per_length: float
    resistance_per_length: float
    loop_inductance: float
    loop_resistance: float
    inductance_error: float
    resistance_error: float
    dc_inductance: float
    dc_resistance: float
    perfect_inductance: float
    peak_above: float
    peak_below: float
    moment: float
    seconds: float
    warnings: tuple[str, ...]
    shielding: Shielding | None = None
    pickup: Pickup | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepFailure:
    """A point that could not be solved, and why."""

    index: int
    values: tuple[float, ...]
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepResult:
    """A finished sweep.

    Parameters
    ----------
    sweep : Sweep
        What was asked.
    rows : tuple of SweepRow
        Solved points in the sweep's order.
    failures : tuple of SweepFailure
        The other points.
    finding : str
        What the sweep shows, in one or two sentences.
    versions : tuple of (str, str)
        Program and library versions.
    """

    sweep: Sweep
    rows: tuple[SweepRow, ...]
    failures: tuple[SweepFailure, ...]
    finding: str
    versions: tuple[tuple[str, str], ...]
