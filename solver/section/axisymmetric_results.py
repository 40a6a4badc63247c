"""What the axisymmetric view of a loop yields."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.section.rings import AxisymmetricLoop
from solver.section.results import FieldMap, FieldScan, RefinementStep, SegmentResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Shielding:
    """What the discs of an axisymmetric loop take off the same ring without them, at the report frequency.

    Parameters
    ----------
    inductance_db, above_db, below_db, moment_db : float
        Inductance, largest field on the nearest line above and below the board, and moment, against the ring
        alone [dB].
    corner : float, optional
        Frequency below which the discs are transparent [Hz].
    """

    inductance_db: float
    above_db: float
    below_db: float
    moment_db: float
    corner: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisymmetricSolution:
    """A ring with its discs, or without them, in the axisymmetric view.

    Parameters
    ----------
    impedance : SegmentResult
        Of the whole turn, at the frequencies of the analysis, with its broadband model.
    inductance : (f,) array
        Inductance at the frequencies of the result it belongs to [H].
    moment : (f,) complex array
        Magnetic moment along the axis per ampere [m²].
    above, below : (f,) array
        Largest field on the nearest line above and below the board [A/m per A].
    lines : tuple of FieldScan
        Field along all lines at the report frequency; positions are distances from the axis.
    axis : (n,) array
        Heights on the axis [m].
    axis_field : (n,) complex array
        H_z there per ampere at the report frequency [A/m per A].
    axis_error : (n,) array
        Its estimated discretisation error [A/m per A]: its change from second-order to third-order elements.
    field_map : FieldMap
        At the report frequency; the potential is the flux through the circle round the axis [Wb/A].
    """

    impedance: SegmentResult
    inductance: NDArray[np.float64]
    moment: NDArray[np.complex128]
    above: NDArray[np.float64]
    below: NDArray[np.float64]
    lines: tuple[FieldScan, ...]
    axis: NDArray[np.float64]
    axis_field: NDArray[np.complex128]
    axis_error: NDArray[np.float64]
    field_map: FieldMap


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisymmetricResult:
    """A loop in the axisymmetric view, set against the same ring without discs.

    Parameters
    ----------
    loop : AxisymmetricLoop
        What was solved, and how it was mapped from a rectangular loop.
    frequencies : (f,) array
        Where shielding was read [Hz].
    report_index : int
        Index of the report frequency among them.
    reading, alone : AxisymmetricSolution
        With the discs and without.
    corner : float, optional
        Frequency at which the discs take off half of the inductance that they take off at most [Hz]; none without
        discs, or if it lies outside the band.
    refinement : tuple of RefinementStep
        The meshes with the discs that were tried until the tolerance was met.

    Examples
    --------
    >>> from geometries import Analysis, read_builtin_scenario
    >>> from solver import solve_variant
    >>> from solver.variant.needs import Need
    >>> ring = read_builtin_scenario("pond-aerator").variants[0]
    >>> analysis = Analysis(frequencies=(1e6,), report_frequency=1e6, heights_above=(5e-3,), heights_below=(5e-3,))
    >>> view = solve_variant(ring, analysis, frozenset({Need.AXISYMMETRIC})).axisymmetric_view
    >>> f"{view.inductance * 1e9:.1f} nH"
    '21.5 nH'
    """

    loop: AxisymmetricLoop
    frequencies: NDArray[np.float64]
    report_index: int
    reading: AxisymmetricSolution
    alone: AxisymmetricSolution
    corner: float | None
    refinement: tuple[RefinementStep, ...]

    @property
    def inductance(self) -> float:
        """Of the whole turn at the report frequency [H]."""
        return float(self.reading.inductance[self.report_index])

    @property
    def inductance_error(self) -> float:
        """Its estimated discretisation error [H]."""
        return self.reading.impedance.inductance_error * self.inductance

    @property
    def inductance_db(self) -> NDArray[np.float64]:
        """Inductance against the ring alone, (f,) [dB]."""
        return _decibels(self.reading.inductance, self.alone.inductance)

    @property
    def above_db(self) -> NDArray[np.float64]:
        """Field on the nearest line above against the ring alone, (f,) [dB]."""
        return _decibels(self.reading.above, self.alone.above)

    @property
    def below_db(self) -> NDArray[np.float64]:
        """Field on the nearest line below against the ring alone, (f,) [dB]."""
        return _decibels(self.reading.below, self.alone.below)

    @property
    def moment_db(self) -> NDArray[np.float64]:
        """Moment against the ring alone, (f,) [dB]: what reaches far."""
        return _decibels(np.abs(self.reading.moment), np.abs(self.alone.moment))

    @property
    def shielding(self) -> Shielding:
        """Against the ring alone at the report frequency."""
        index = self.report_index
        return Shielding(
            inductance_db=float(self.inductance_db[index]),
            above_db=float(self.above_db[index]),
            below_db=float(self.below_db[index]),
            moment_db=float(self.moment_db[index]),
            corner=self.corner,
        )

    @property
    def moment(self) -> float:
        """Magnitude of the moment at the report frequency per ampere [m²]."""
        return float(abs(self.reading.moment[self.report_index]))


def _decibels(values: NDArray[np.float64], references: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(20 * np.log10(values / references))
