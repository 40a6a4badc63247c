"""Everything computed for one variant."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.section.section import View
from geometries.study.scenario import Variant
from solver.circuit.rl_network import RLNetwork, in_series, network, scaled, with_more_inductance
from solver.errors import NumberedWarning
from solver.loop.layout_loop import LayoutLoop
from solver.loop.section_loop import SectionLoop
from solver.loop.terms import COPPER, VIAS, RealLayers, SectionRule, WholeLoop
from solver.pickup.results import PickupResult
from solver.section.axisymmetric_results import AxisymmetricResult
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
from solver.variant.couplings import LoopCouplings
from solver.variant.loop_of_record import Basis, LoopOfRecord
from solver.variant.moments import MomentParts, parts_of_loop, parts_on_layout
from solver.variant.skin_curves import SkinCurve


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsolvedVariant:
    """A variant that could not be solved, and why."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VariantResult:
    """What was solved of one variant, as far as it was asked for.

    Parameters
    ----------
    variant : Variant
        What was solved.
    frequencies : (f,) array
        Frequencies [Hz].
    report_index : int
        Index of the report frequency.
    statistics : MeshStatistics
        Size of the computation.
    warnings : tuple of NumberedWarning
        Warnings that concern this variant.
    segments : tuple of SegmentResult
        The main section first, then further segments of the loop; this and what follows up to `field_map` is what the
        section yields, empty for a loop that its layout describes.
    refinement : tuple of RefinementStep
        The meshes tried until the tolerance was met.
    shares : tuple of CurrentShare
        Every conductor's part of the first loop's current.
    lines : tuple of FieldScan
        Field along the scan lines, nearest first, above before below.
    moment : float
        Magnitude of the line moment of the first loop per ampere [m]; of the moment along the axis [m²] if the variant
        itself is axisymmetric; NaN without a section.
    planes : tuple of PlaneInductance
        Of the lowest ground layers, and of the return copper if none of them carries the return.
    benefit : tuple of LayerBenefit
        One per ground layer.
    field_map : FieldMap, optional
        Of the first loop at the report frequency.
    axisymmetric_view : AxisymmetricResult, optional
        The same loop in the axisymmetric view, where it has one.
    pickup : PickupResult, optional
        What the victims pick up, if any are described.
    whole_loop : WholeLoop, optional
        The loop with its ends, capacitors, vias and package, for a placement.
    section_loop : SectionLoop, optional
        The loop of copper with its ends, for a bare section that has a plan.
    moments : SkinCurve, optional
        What lies and what stands of the first loop's moment [m²], over the frequencies of an emission, if asked for.
    ground_inductances : SkinCurve, optional
        Of the ground that drives cables [H], over the same frequencies.
    layout_loop : LayoutLoop, optional
        The loop on its layout, for a variant that its layout describes.
    couplings : LoopCouplings, optional
        Self and mutual inductances of several switched loops.
    measured : LoopOfRecord, optional
        The loop as it was measured, in place of what was solved of it.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import solve_variant
    >>> scenario = read_builtin_scenario("garden-lamp")
    >>> result = solve_variant(scenario.variants[0], scenario.analysis, frozenset())
    >>> [share.region for share in result.shares], f"{result.moment * 1e3:.2f} mm"
    (['go', 'return', 'L2'], '0.19 mm')
    """

    variant: Variant
    frequencies: NDArray[np.float64]
    report_index: int
    statistics: MeshStatistics
    warnings: tuple[NumberedWarning, ...]
    segments: tuple[SegmentResult, ...] = ()
    refinement: tuple[RefinementStep, ...] = ()
    shares: tuple[CurrentShare, ...] = ()
    lines: tuple[FieldScan, ...] = ()
    moment: float = math.nan
    planes: tuple[PlaneInductance, ...] = ()
    benefit: tuple[LayerBenefit, ...] = ()
    field_map: FieldMap | None = None
    axisymmetric_view: AxisymmetricResult | None = None
    pickup: PickupResult | None = None
    whole_loop: WholeLoop | None = None
    section_loop: SectionLoop | None = None
    layout_loop: LayoutLoop | None = None
    couplings: LoopCouplings | None = None
    moments: SkinCurve | None = None
    ground_inductances: SkinCurve | None = None
    measured: LoopOfRecord | None = None

    @property
    def basis(self) -> Basis:
        """What the loop of record stands for; decided here, once."""
        if self.measured is not None:
            return self.measured.basis
        if self.whole_loop is not None or (self.layout_loop is not None and self.layout_loop.laid_out.parts):
            return Basis.WHOLE_LOOP
        if self.section_loop is not None or self.layout_loop is not None:
            return Basis.COPPER_LOOP
        return Basis.TURN if self.variant.view is View.AXISYMMETRIC else Basis.SECTION

    @property
    def loop(self) -> LoopOfRecord:
        """The loop that every consequence uses."""
        if self.measured is not None:
            return self.measured
        whole, circuit = self.planned_loop, self.circuit
        return LoopOfRecord(
            basis=self.basis,
            inductance=self.section_inductance if whole is None else whole.inductance,
            inductance_uncertainty=self.section_inductance_error if whole is None else whole.uncertainty,
            resistance=self.loop_resistance,
            resistance_uncertainty=self._resistance_uncertainty,
            circuit=circuit,
        )

    @property
    def circuit(self) -> RLNetwork:
        """Of the loop of record where nothing was measured."""
        if self.layout_loop is not None:
            return self.layout_loop.circuit
        if self.planned_loop is None:
            return self.section_circuit
        return with_more_inductance(scaled(self.section_circuit, self._lossier), self._beside_section)

    @property
    def planned_loop(self) -> WholeLoop | SectionLoop | LayoutLoop | None:
        """The loop with its ends, where the plan view was asked for and there is one."""
        return self.whole_loop or self.section_loop or self.layout_loop

    @property
    def ground(self) -> tuple[str, float] | None:
        """The ground conductor that drives cables most, with its net partial inductance along the loop [H]."""
        if self.layout_loop is not None:
            ground = self.layout_loop.ground
            return None if ground is None else (ground.copper, ground.inductance)
        if not self.planes:
            return None
        most = max(self.planes, key=lambda plane: plane.peak)
        return most.region, most.peak * self.length

    @property
    def length(self) -> float:
        """Of all stretches of a section [m]."""
        return math.fsum(segment.length for segment in self.segments)

    @property
    def moment_parts(self) -> MomentParts:
        """What of the first loop's moment lies and what stands, at the report frequency [m²]."""
        if self.layout_loop is not None:
            return parts_on_layout(self.layout_loop, self.layout_loop.moment_vector)
        stretches = [
            (each.length, MomentParts(lying=each.moment_parts[0], standing=each.moment_parts[1], left=each.lying_left))
            for each in self.segments
        ]
        own = None if self.planned_loop is None else self.planned_loop.moment_vector
        return self.over_real_layers(parts_of_loop(own, stretches, self.variant.own_section.ground_carries_return))

    def over_real_layers(self, parts: MomentParts) -> MomentParts:
        """With what lies on the board over ground layers as large as they are, where that was solved."""
        real = self.real_layers
        return parts if real is None else replace(parts, lying=real.lying)

    @property
    def real_layers(self) -> RealLayers | None:
        """What ground layers change that have a length, where the loop with its ends was solved."""
        return None if self._with_ends is None else self._with_ends.real_layers

    @property
    def section_circuit(self) -> RLNetwork:
        """Section times length as resistors, inductors and cells of the two, ends not included."""
        return in_series(network(each.broadband, length=each.length) for each in self.segments)

    @property
    def section_inductance(self) -> float:
        """Section times length of the first loop at the report frequency, ends not included [H]."""
        return float(self.section_inductances[self.report_index])

    @property
    def section_resistances(self) -> NDArray[np.float64]:
        """The same of the resistance, (f,) [ohm]."""
        return np.asarray(sum(each.length * each.resistance[:, 0, 0] for each in self.segments))

    @property
    def section_resistance(self) -> float:
        """Section times length of the first loop's resistance at the report frequency, ends not included [ohm]."""
        return float(self.section_resistances[self.report_index])

    @property
    def section_inductance_error(self) -> float:
        """Estimated discretisation error of section times length at the report frequency [H]."""
        at = self.report_index
        return float(sum(each.inductance_error * each.length * each.inductance[at, 0, 0] for each in self.segments))

    @property
    def section_resistance_error(self) -> float:
        """The same of the resistance [ohm]."""
        at = self.report_index
        return float(sum(each.resistance_error * each.length * each.resistance[at, 0, 0] for each in self.segments))

    @property
    def loop_inductances(self) -> NDArray[np.float64]:
        """Of the loop of record at every frequency, (f,) [H]."""
        if self.layout_loop is not None:
            return self._circuit_impedances.imag / (2 * math.pi * self.frequencies)
        return self._lossier * self.section_inductances + self._beside_section

    @property
    def loop_resistances(self) -> NDArray[np.float64]:
        """Of the loop of record at every frequency, (f,) [ohm].

        That of section times length in the proportion in which the copper with its ends has more at the report
        frequency, or its layout's.
        """
        if self.layout_loop is not None:
            return self._circuit_impedances.real
        return self._lossier * self.section_resistances

    @property
    def loop_inductance(self) -> float:
        """Of the loop of record at the report frequency [H]."""
        return float(self.loop_inductances[self.report_index])

    @property
    def loop_resistance(self) -> float:
        """Of the loop of record at the report frequency [ohm]."""
        return float(self.loop_resistances[self.report_index])

    @property
    def section_dc_resistance(self) -> float:
        """Resistance of the first loop at DC, section times length [ohm]; NaN without a section."""
        return (
            float(sum(each.length * each.dc_resistance[0, 0] for each in self.segments)) if self.segments else math.nan
        )

    @property
    def dc_limits(self) -> tuple[float, float]:
        """Lower and upper bound of the inductance at DC, section times length [H]."""
        return _summed([(each.length, each.dc_bracket) for each in self.segments])

    @property
    def perfect_limits(self) -> tuple[float, float]:
        """Lower and upper bound of the inductance for perfect conductors, section times length [H]."""
        return _summed([(each.length, each.perfect_bracket) for each in self.segments])

    @property
    def section_check(self) -> SectionRule | None:
        """How far section times length is off the copper and vias of a loop with its ends; none without one."""
        if self.whole_loop is None:
            return None if self.section_loop is None else self._rule(self.section_loop.inductance)
        return self._rule(self.whole_loop.term(COPPER).amount + self.whole_loop.term(VIAS).amount)

    def _rule(self, plan: float) -> SectionRule:
        return SectionRule(section=self.section_inductance, plan=plan)

    @property
    def sampled_field(self) -> FieldMap:
        """The field map.

        Raises
        ------
        ValueError
            If it was not asked for.
        """
        if self.field_map is None:
            raise ValueError(f"variant {self.variant.name!r} was solved without its field map; ask for it")
        return self.field_map

    @property
    def section_inductances(self) -> NDArray[np.float64]:
        """Section times length of the first loop at every frequency, (f,) [H]; NaN without a section."""
        if not self.segments:
            return np.full(len(self.frequencies), math.nan)
        return np.asarray(sum(each.length * each.inductance[:, 0, 0] for each in self.segments))

    @property
    def _circuit_impedances(self) -> NDArray[np.complex128]:
        return np.array([self.circuit.impedance(float(each))[0, 0] for each in self.frequencies])

    @property
    def _with_ends(self) -> WholeLoop | SectionLoop | None:
        """The loop with its ends beside its section."""
        return self.whole_loop or self.section_loop

    @property
    def _lossier(self) -> float:
        """Resistance of the loop with its ends over that of section times length [1]."""
        return 1.0 if self._with_ends is None else self._with_ends.resistance / self.section_resistance

    @property
    def _beside_section(self) -> float:
        """Inductance of the loop with its ends beyond that of a section so much longer [H]; less, if negative."""
        whole = self._with_ends
        return 0.0 if whole is None else whole.inductance - self._lossier * self.section_inductance

    @property
    def _resistance_uncertainty(self) -> float:
        if self.layout_loop is not None:
            return self.layout_loop.resistance_error * self.loop_resistance
        return self.section_resistance_error if self._with_ends is None else self._with_ends.resistance_uncertainty


def _summed(parts: list[tuple[float, InductanceBracket]]) -> tuple[float, float]:
    if not parts:
        return math.nan, math.nan
    lower = sum(length * float(bracket.lower[0, 0]) for length, bracket in parts)
    upper = sum(length * float(bracket.upper[0, 0]) for length, bracket in parts)
    return lower, upper
