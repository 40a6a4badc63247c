"""Everything computed for one variant."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.study.scenario import Variant
from solver.axisymmetric.results import AxisymmetricResult
from solver.circuit.rl_network import RLNetwork, in_series, network
from solver.loop.couplings import LoopCouplings
from solver.loop.terms import WholeLoop
from solver.notation.warning import NumberedWarning
from solver.pickup.results import PickupResult
from solver.section.results import (
    CurrentShare,
    FieldMap,
    FieldScan,
    InductanceBracket,
    LayerBenefit,
    MeshStatistics,
    PlaneInductance,
    RefinementStep,
    SegmentResult,
)


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
    lines: tuple[FieldScan, ...]
    moment: float
    planes: tuple[PlaneInductance, ...]
    benefit: tuple[LayerBenefit, ...]
    field_map: FieldMap
    statistics: MeshStatistics
    warnings: tuple[NumberedWarning, ...]
    axisymmetric_view: AxisymmetricResult | None = None
    pickup: PickupResult | None = None
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
