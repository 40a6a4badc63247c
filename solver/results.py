"""What a study yields: frozen values, free of meshes and matrices, from which tables, figures and files are made."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometries.rounds import RoundLoop
from geometries.scenario import Scenario, Variant
from solver.bench_results import BenchResult
from solver.budget_answers import BudgetAnswer
from solver.circuit import BroadbandModel, RLNetwork, in_series, network
from solver.deciding_rows import Deciding
from solver.emission.results import EmissionComparison
from solver.loop_couplings import LoopCouplings
from solver.loop_terms import WholeLoop
from solver.pickup_results import HearingResult
from solver.round_rows import RoundComparison, Shielding
from solver.switching.results import SwitchingComparison


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldLine:
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
    """

    side: str
    distance: float
    x: NDArray[np.float64]
    magnitude: NDArray[np.float64]

    @property
    def peak(self) -> float:
        """Largest value on the line [A/m per A]."""
        return float(self.magnitude.max())


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


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentShare:
    """Part of the loop current that a conductor carries at the report frequency, in phase, with sign [A/A]."""

    region: str
    role: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerWorth:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A numbered warning, for instance W-2D-ENDS, with its sentence."""

    code: str
    text: str


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
    dc_resistance : (l, l) array
        Resistance at direct current [ohm/m].
    dc_bracket, perfect_bracket : InductanceBracket
        Bounds per length at direct current and for perfect conductors.
    inductance_error, resistance_error : float
        Estimated relative discretisation error of the first loop's values at the report frequency.
    model : BroadbandModel
        Impedance per length at any frequency up to the highest.
    moment_parts : tuple of float
        Line moment per ampere at the report frequency [m]: of the area that lies on the board, and of the area that
        stands on it, zero where go and return are level. Of a whole turn [m²] in the round view.
    impedance_error : (l, l) array
        Estimated error of every element of the impedance matrix at the report frequency [ohm/m].
    """

    name: str
    length: float
    model: BroadbandModel
    resistance: NDArray[np.float64]
    inductance: NDArray[np.float64]
    dc_resistance: NDArray[np.float64]
    dc_bracket: InductanceBracket
    perfect_bracket: InductanceBracket
    inductance_error: float
    resistance_error: float
    moment_parts: tuple[float, float] = (0.0, 0.0)
    impedance_error: NDArray[np.float64] = field(default_factory=lambda: np.zeros((1, 1)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoundReading:
    """A ring with its discs, or without them, in the round view.

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
    lines : tuple of FieldLine
        Field along all lines at the report frequency; positions are distances from the axis.
    axis : (n,) array
        Heights on the axis [m].
    axis_field : (n,) complex array
        H_z there per ampere at the report frequency [A/m per A].
    field_map : FieldMap
        At the report frequency; the potential is the flux through the circle round the axis [Wb/A].
    """

    impedance: SegmentResult
    inductance: NDArray[np.float64]
    moment: NDArray[np.complex128]
    above: NDArray[np.float64]
    below: NDArray[np.float64]
    lines: tuple[FieldLine, ...]
    axis: NDArray[np.float64]
    axis_field: NDArray[np.complex128]
    field_map: FieldMap


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoundResult:
    """A loop in the round view, set against the same ring without discs.

    Parameters
    ----------
    loop : RoundLoop
        What was solved, and how it was mapped from a rectangular loop.
    frequencies : (f,) array
        Where shielding was read [Hz].
    report_index : int
        Index of the report frequency among them.
    reading, alone : RoundReading
        With the discs and without.
    corner : float, optional
        Frequency at which the discs take off half of the inductance that they take off at most [Hz]; none without
        discs, or if it lies outside the band.
    refinement : tuple of RefinementStep
        The meshes with the discs that were tried until the tolerance was met.
    """

    loop: RoundLoop
    frequencies: NDArray[np.float64]
    report_index: int
    reading: RoundReading
    alone: RoundReading
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VariantResult:
    """Everything computed for one variant.

    Parameters
    ----------
    variant : Variant
        What was solved.
    frequencies : (f,) array
        Frequencies [Hz].
    segments : tuple of SegmentResult
        The main section first, then further stretches of the loop.
    refinement : tuple of RefinementStep
        The meshes tried until the tolerance was met.
    report_index : int
        Index of the report frequency.
    shares : tuple of CurrentShare
        Every conductor's part of the first loop's current.
    lines : tuple of FieldLine
        Field along the lines, nearest first, above before below.
    moment : float
        Magnitude of the line moment of the first loop per ampere [m]; of the moment along the axis [m²] if the variant
        itself is round.
    planes : tuple of PlaneInductance
        Of the lowest ground layers, and of the return copper if none of them carries the return.
    worth : tuple of LayerWorth
        One per ground layer.
    field_map : FieldMap
        Of the first loop at the report frequency.
    statistics : MeshStatistics
        Size of the computation.
    cautions : tuple of Caution
        Warnings that concern this variant.
    round_view : RoundResult, optional
        The same loop in the round view, where it has one.
    hearing : HearingResult, optional
        What the victims hear, if any are described.
    whole_loop : WholeLoop, optional
        The loop with its ends, capacitors, vias and package, for a placement.
    couplings : LoopCouplings, optional
        Self and mutual inductances of several switched loops.
    """

    variant: Variant
    frequencies: NDArray[np.float64]
    segments: tuple[SegmentResult, ...]
    refinement: tuple[RefinementStep, ...]
    report_index: int
    shares: tuple[CurrentShare, ...]
    lines: tuple[FieldLine, ...]
    moment: float
    planes: tuple[PlaneInductance, ...]
    worth: tuple[LayerWorth, ...]
    field_map: FieldMap
    statistics: MeshStatistics
    cautions: tuple[Caution, ...]
    round_view: RoundResult | None = None
    hearing: HearingResult | None = None
    whole_loop: WholeLoop | None = None
    couplings: LoopCouplings | None = None

    @property
    def inductance_per_length(self) -> float:
        """Of the first loop in the main section at the report frequency [H/m]."""
        return float(self.segments[0].inductance[self.report_index, 0, 0])

    @property
    def circuit(self) -> RLNetwork:
        """The whole loop as resistors, inductors and cells of the two, ends not included."""
        return in_series(network(each.model, length=each.length) for each in self.segments)

    @property
    def loop_inductances(self) -> NDArray[np.float64]:
        """Sum of section times length of the first loop at every frequency, ends not included, (f,) [H]."""
        return np.asarray(sum(each.length * each.inductance[:, 0, 0] for each in self.segments))

    @property
    def loop_resistances(self) -> NDArray[np.float64]:
        """Sum of section times length of the first loop at every frequency, ends not included, (f,) [ohm]."""
        return np.asarray(sum(each.length * each.resistance[:, 0, 0] for each in self.segments))

    @property
    def loop_inductance(self) -> float:
        """Sum of section times length at the report frequency, ends not included [H]."""
        return float(self.loop_inductances[self.report_index])

    @property
    def loop_resistance(self) -> float:
        """Sum of section times length at the report frequency, ends not included [ohm]."""
        return float(self.loop_resistances[self.report_index])

    @property
    def inductance_error(self) -> float:
        """Estimated discretisation error of the loop inductance at the report frequency [H]."""
        index = self.report_index
        return float(sum(each.inductance_error * each.length * each.inductance[index, 0, 0] for each in self.segments))

    @property
    def resistance_error(self) -> float:
        """Estimated discretisation error of the loop resistance at the report frequency [ohm]."""
        index = self.report_index
        return float(sum(each.resistance_error * each.length * each.resistance[index, 0, 0] for each in self.segments))

    @property
    def loop_dc_resistance(self) -> float:
        """Resistance of the first loop at direct current [ohm]."""
        return float(sum(each.length * each.dc_resistance[0, 0] for each in self.segments))

    @property
    def dc_limits(self) -> tuple[float, float]:
        """Lower and upper bound of the loop inductance at direct current [H]."""
        return _summed([(each.length, each.dc_bracket) for each in self.segments])

    @property
    def perfect_limits(self) -> tuple[float, float]:
        """Lower and upper bound of the loop inductance for perfect conductors [H]."""
        return _summed([(each.length, each.perfect_bracket) for each in self.segments])


def _summed(parts: list[tuple[float, InductanceBracket]]) -> tuple[float, float]:
    lower = sum(length * float(bracket.lower[0, 0]) for length, bracket in parts)
    upper = sum(length * float(bracket.upper[0, 0]) for length, bracket in parts)
    return lower, upper


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonRow:
    """One variant beside the reference, at the report frequency.

    Parameters
    ----------
    name : str
        The variant.
    inductance : float
        Section times length, ends not included [H].
    inductance_error : float
        Its estimated discretisation error [H].
    resistance : float
        Section times length [ohm].
    change : float
        Inductance minus that of the reference [H].
    change_fraction : float
        The same as a fraction of the reference [1].
    above_db, below_db : float
        Peak field on the nearest line above and below against the reference [dB].
    moment_db : float
        Line moment against the reference [dB].
    """

    name: str
    inductance: float
    inductance_error: float
    resistance: float
    change: float
    change_fraction: float
    above_db: float
    below_db: float
    moment_db: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StudyResult:
    """A finished, or interrupted, comparison.

    Parameters
    ----------
    scenario : Scenario
        What was asked.
    results : tuple of VariantResult
        Solved variants in the scenario's order; fewer than asked if interrupted.
    rows : tuple of ComparisonRow
        The same against the reference.
    decision : str
        The deciding sentence.
    cautions : tuple of Caution
        Warnings that concern the whole study.
    versions : tuple of (str, str)
        Program and library versions.
    emission : EmissionComparison, optional
        If the scenario asks for it.
    switching : SwitchingComparison, optional
        Likewise.
    budgets : tuple of BudgetAnswer
        By variant, then by budget.
    bench : BenchResult, optional
        What was measured on one of the variants, if it was solved.
    deciding : Deciding, optional
        All of this in one table and one sentence, if anything is known beside the loops.
    round_views : RoundComparison, optional
        The round view of the variants, beside their section view.
    """

    scenario: Scenario
    results: tuple[VariantResult, ...]
    rows: tuple[ComparisonRow, ...]
    decision: str
    cautions: tuple[Caution, ...]
    versions: tuple[tuple[str, str], ...]
    emission: EmissionComparison | None = None
    switching: SwitchingComparison | None = None
    budgets: tuple[BudgetAnswer, ...] = ()
    bench: BenchResult | None = None
    deciding: Deciding | None = None
    round_views: RoundComparison | None = None

    @property
    def complete(self) -> bool:
        """Whether every variant of the scenario was solved."""
        return len(self.results) == len(self.scenario.variants)
