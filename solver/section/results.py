"""What a solved section yields: frozen values, free of meshes and matrices."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from solver.circuit.rl_network import BroadbandModel


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldScan:
    """Field strength along a horizontal line over or under the board, at the report frequency.

    Parameters
    ----------
    side : str
        "above" or "below".
    distance : float
        Distance from the board's surface [m].
    x : (n,) array
        Positions across the board [m].
    magnitude : (n,) array
        Root of |H_x|² + |H_y|², peak, per ampere of loop current [A/m per A].
    peak_error : float
        What its largest value is uncertain by: the mesh, and the loop's length and ends where it has a length
        [A/m per A].
    """

    side: str
    distance: float
    x: NDArray[np.float64]
    magnitude: NDArray[np.float64]
    peak_error: float = 0.0

    @property
    def peak(self) -> float:
        """Largest value on the line [A/m per A]."""
        return float(self.magnitude.max())

    def of_share(self, share: float) -> FieldScan:
        """Where a part of the current flows here, and the rest elsewhere."""
        return replace(self, magnitude=share * self.magnitude, peak_error=share * self.peak_error)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldMap:
    """The field of the first loop on small triangles, for drawings and files.

    Parameters
    ----------
    points : (n, 2) array
        Positions [m]; points on borders occur once per triangle they belong to.
    triangles : (m, 3) array
        Corners of each triangle, indices into `points`.
    regions : (m,) array
        Index of the region each triangle belongs to, -1 in air.
    potential : (n,) complex array
        Vector potential A_z per ampere [Wb/m/A].
    density : (n,) complex array
        Current density J_z per ampere [A/m² per A]; zero in air.
    """

    points: NDArray[np.float64]
    triangles: NDArray[np.int64]
    regions: NDArray[np.int64]
    potential: NDArray[np.complex128]
    density: NDArray[np.complex128]

    def of_share(self, share: float) -> FieldMap:
        """Where a part of the current flows here, and the rest elsewhere."""
        return replace(self, potential=share * self.potential, density=share * self.density)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentShare:
    """Part of the loop current that a conductor carries at the report frequency, in phase, with sign [A/A]."""

    region: str
    role: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerBenefit:
    """What one more ground layer changes, added from the top, at the report frequency.

    Parameters
    ----------
    layer : str
        The layer that is added.
    inductance_before, inductance_after : float
        Loop inductance per length without and with it [H/m].
    above_db, below_db : float
        Change of the peak field on the nearest line above and below the board [dB]; negative is less field.
    """

    layer: str
    inductance_before: float
    inductance_after: float
    above_db: float
    below_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneInductance:
    """Flux beyond a ground conductor per ampere of loop current and length, whose voltage drives cables.

    Parameters
    ----------
    region : str
        A ground layer, or the return copper.
    value : float
        Net partial inductance, averaged over its width [H/m].
    peak : float
        Largest magnitude anywhere along its underside [H/m].
    """

    region: str
    value: float
    peak: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InductanceBracket:
    """Certified lower and upper bound of every element of a loop matrix, (l, l) arrays [H/m]."""

    lower: NDArray[np.float64]
    upper: NDArray[np.float64]

    @property
    def middle(self) -> NDArray[np.float64]:
        """Best single value [H/m]."""
        return (self.lower + self.upper) / 2

    @property
    def relative_gap(self) -> float:
        """Upper minus lower bound of the first loop, relative to the lower."""
        return float(self.upper[0, 0] / self.lower[0, 0] - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class RefinementStep:
    """One mesh on the way to the tolerance: its unknowns and the relative gaps of the first loop's two brackets."""

    unknowns: int
    dc_gap: float
    perfect_gap: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshStatistics:
    """Size of the computation: triangles, unknowns and time [s]."""

    triangles: int
    unknowns: int
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SegmentResult:
    """One stretch of a loop: its section's values per length, and its length.

    Parameters
    ----------
    name : str
        Name of the stretch.
    length : float
        Its length along the current [m].
    resistance, inductance : (f, l, l) array
        Loop matrices per length at the study's frequencies [ohm/m], [H/m].
    resistance_errors, inductance_errors : (f, l, l) array
        Their estimated discretisation errors [ohm/m], [H/m].
    dc_resistance : (l, l) array
        Resistance at DC [ohm/m].
    dc_bracket, perfect_bracket : InductanceBracket
        Bounds per length at DC and for perfect conductors.
    inductance_error, resistance_error : float
        Estimated relative discretisation error of the first loop's values at the report frequency.
    model : BroadbandModel, optional
        Impedance per length at any frequency up to the highest; none if it was not asked for, and then neither are
        `resistance` and `inductance` nor their errors, which are empty.
    moment_parts : tuple of float
        Line moment per ampere at the report frequency [m]: of the area that lies on the board, and of the area that
        stands on it, zero where go and return are level. Of a whole turn [m²] in the axisymmetric view.
    lying_left : float
        Part of the lying moment of the loop's own copper that ground layers without net current leave, with their
        edges, slots and cuts [1]; one without any, or where a layer carries the return.
    impedance_error : (l, l) array
        Magnitude of the estimated error of every element of the impedance matrix at the report frequency [ohm/m].
    moment_error : float
        Estimated discretisation error of the line moment [m], or of a whole turn's moment [m²].
    """

    name: str
    length: float
    model: BroadbandModel | None
    resistance: NDArray[np.float64]
    inductance: NDArray[np.float64]
    resistance_errors: NDArray[np.float64]
    inductance_errors: NDArray[np.float64]
    dc_resistance: NDArray[np.float64]
    dc_bracket: InductanceBracket
    perfect_bracket: InductanceBracket
    inductance_error: float
    resistance_error: float
    moment_parts: tuple[float, float] = (0.0, 0.0)
    lying_left: float = 1.0
    impedance_error: NDArray[np.float64] = field(default_factory=lambda: np.zeros((1, 1)))
    moment_error: float = 0.0

    @property
    def broadband(self) -> BroadbandModel:
        """The model.

        Raises
        ------
        ValueError
            If it was not asked for.
        """
        if self.model is None:
            raise ValueError(f"segment {self.name!r} was solved without its impedance over frequency; ask for it")
        return self.model


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CapacitanceMatrix:
    """Maxwell's capacitance matrix per length: charge of each group per volt of another, all else at zero.

    Its rows sum to zero; off the diagonal it is negative.

    Parameters
    ----------
    groups : tuple of str
        Conductor groups, in the order of rows and columns.
    lower, upper : (g, g) array
        Certified bounds of every element [F/m].

    Examples
    --------
    >>> from geometries import COPPER, CrossSection, CurrentLoop, Rectangle, Region
    >>> from solver import solve_capacitance
    >>> bars = {"go": 0.2e-3, "return": 0.0}
    >>> outlines = {each: Rectangle(left=0, right=3e-3, bottom=y, top=y + 35e-6) for each, y in bars.items()}
    >>> strips = [Region(name=each, outline=outlines[each], role=each, material=COPPER) for each in bars]
    >>> section = CrossSection(name="strips", regions=tuple(strips), loops=(CurrentLoop(),))
    >>> matrix = solve_capacitance(section)
    >>> matrix.groups, f"{matrix.total('go') * 1e12:.0f} pF/m"
    (('go', 'return'), '179 pF/m')
    """

    groups: tuple[str, ...]
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]

    @property
    def middle(self) -> NDArray[np.float64]:
        """Best single values [F/m]."""
        return (self.lower + self.upper) / 2

    def between(self, first: str, second: str) -> float:
        """Capacitance between two groups [F/m]: minus the element of the matrix."""
        return -float(self.middle[self.groups.index(first), self.groups.index(second)])

    def total(self, group: str) -> float:
        """Capacitance of a group to all others together [F/m]."""
        return float(self.middle[self.groups.index(group), self.groups.index(group)])

    def half_gap(self, first: str, second: str) -> float:
        """Half of the distance between the bounds of one element [F/m]."""
        place = self.groups.index(first), self.groups.index(second)
        return float(self.upper[place] - self.lower[place]) / 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PotentialMap:
    """Potential with the switch node at one volt on small triangles: points (n, 2), corners (m, 3), volts (n,)."""

    points: NDArray[np.float64]
    triangles: NDArray[np.int64]
    potential: NDArray[np.float64]
