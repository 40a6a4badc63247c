"""Emission of all variants of a study: predicted from their solved sections, and set against the reference."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Emission
from geometries.quantities import MHZ
from geometries.section.section import View
from geometries.study.scenario import Variant
from solver.emission.current import LoopCurrent, RingCircuit
from solver.emission.moment import LoopMoment, section_moment
from solver.emission.prediction import cable_bound, closest_margin, line_frequencies, loop_current, loop_levels
from solver.emission.results import CableBound, EmissionComparison, EmissionPrediction, Margin
from solver.switching.circuit import as_built
from solver.variant.edge_circuit import variant_loop
from solver.variant.results import VariantResult

HEIGHT_TOLERANCE = 20 * math.log10(1.1)
"""What 10 % of the dielectric's thickness under a loop (common practice) brings in its moment over a layer [dB]."""

BODY_TOLERANCE = 20 * math.log10(1.5)
"""What is not known of the height at which the current passes a component's body [dB]: 0.1 to 0.3 mm (common practice)
is a factor of 1.7 to both sides of its middle; 1.5 stands for it."""

SHAPE_OF_LAYER = 20 * math.log10(4 / math.pi)
"""What the shape of a ground layer brings in a lying loop's moment [dB]: exactly that between a small loop close over
a disc and over an endless strip of the disc's diameter; a rectangular layer is neither."""

AXISYMMETRIC_SOURCE = (
    "lying part: axisymmetric view, a ring of the loop's area over discs; upright part: section view × length"
)
"""Where a moment comes from if no ground layer carries the return: then the axisymmetric view holds."""

RING_SOURCE = "axisymmetric view: the ring's own moment along its axis"
"""Where the moment of a loop comes from that is axisymmetric itself."""

_ROOM_FOR_MESH = 0.1
"""Mesh error of a moment [dB]: it is second order in the potential's, and stays below 1 %."""

EDGE_TOLERANCE = 1.2
"""Factor within which edges, and the effective capacitance of a switch, are known (common practice). Lines of variants
that ring at different frequencies answer differently to it."""

_SMALLEST_MOMENT = 1e-15


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """A variant's moment and current, and where its level comes closest to a limit."""

    result: VariantResult
    moment: LoopMoment
    current: LoopCurrent
    bound: NDArray[np.float64]
    lines: NDArray[np.float64]
    frequencies: NDArray[np.float64]
    closest: Margin


def compare_emission(emission: Emission, results: Sequence[VariantResult], reference: str) -> EmissionComparison:
    """Predict every variant's emission and compare it with the reference.

    Parameters
    ----------
    emission : Emission
        Current, site, cable and limits.
    results : sequence of VariantResult
        Solved variants, the reference among them.
    reference : str
        Name of the variant that differences are against.

    Returns
    -------
    EmissionComparison
    """
    cases = [_case(emission, result) for result in results]
    base = next(case for case in cases if case.result.variant.name == reference)
    others = [_differences(each, results, reference) for each in _moved_edges(emission)]
    drifts = {
        case.result.variant.name: [moved[case.result.variant.name] - _difference(case, base) for moved in others]
        for case in cases
    }
    predictions = tuple(_predict(emission, case, base, drifts[case.result.variant.name]) for case in cases)
    return EmissionComparison(
        emission=emission,
        reference=reference,
        predictions=predictions,
        sentence=_sentence(emission, predictions, reference),
    )


def _moved_edges(emission: Emission) -> Iterator[Emission]:
    """The same with edges, and with the switch's capacitance, at both ends of their tolerance."""
    for factor in (EDGE_TOLERANCE, 1 / EDGE_TOLERANCE):
        yield replace(emission, rise_time=emission.rise_time * factor, fall_time=emission.fall_time * factor)
        if emission.switching is not None:
            yield replace(emission, switching=emission.switching.with_capacitance(factor))


def _differences(emission: Emission, results: Sequence[VariantResult], reference: str) -> dict[str, float]:
    """Change of every variant's smallest margin against the reference, as emission [dB]."""
    cases = {result.variant.name: _case(emission, result) for result in results}
    return {name: _difference(case, cases[reference]) for name, case in cases.items()}


def _difference(case: _Case, base: _Case) -> float:
    return base.closest.value - case.closest.value


def _case(emission: Emission, result: VariantResult) -> _Case:
    current = loop_current(emission, _ring(emission, result))
    moment = variant_moment(result, emission)
    harmonics = line_frequencies(emission, current)
    bound, lines = loop_levels(emission, current, moment.total, harmonics)
    frequencies = np.asarray(harmonics * current.frequency, dtype=np.float64)
    return _Case(
        result=result,
        moment=moment,
        current=current,
        frequencies=frequencies,
        bound=bound,
        lines=lines,
        closest=closest_margin(frequencies, bound, emission.limits),
    )


def _ring(emission: Emission, result: VariantResult) -> RingCircuit | None:
    switching = emission.switching
    if switching is None:
        return None
    loop = as_built(switching, variant_loop(switching, result))
    return RingCircuit(voltage=switching.input_voltage, loop=loop)


def variant_moment(result: VariantResult, emission: Emission) -> LoopMoment:
    """Magnetic moment of a solved variant per ampere, with the upright part that the scenario adds."""
    moment = section_moment(
        [(*segment.moment_parts, segment.length) for segment in result.segments],
        upright_height=emission.upright_height,
        upright_length=emission.upright_length,
    )
    if result.axisymmetric_view is None or result.variant.section.ground_carries_return:
        return moment
    source = RING_SOURCE if result.variant.view is View.AXISYMMETRIC else AXISYMMETRIC_SOURCE
    return replace(moment, lying=result.axisymmetric_view.moment, source=source)


def margin_of(emission: Emission, result: VariantResult) -> Margin:
    """Where the level of a solved variant's loop alone comes closest to a limit."""
    return _case(emission, result).closest


def needs_axisymmetric_view(variant: Variant, emission: Emission | None) -> bool:
    """Whether a variant's emission is read from its axisymmetric view, so that it has to be solved too."""
    return variant.view is View.AXISYMMETRIC or (emission is not None and not variant.section.ground_carries_return)


def ground_inductance(result: VariantResult) -> tuple[str, float] | None:
    """The ground conductor that drives cables most, with its net partial inductance along the loop [H]."""
    if not result.planes:
        return None
    length = sum(segment.length for segment in result.segments)
    most = max(result.planes, key=lambda plane: plane.peak)
    return most.region, most.peak * length


def _predict(emission: Emission, case: _Case, base: _Case, drifts: Sequence[float]) -> EmissionPrediction:
    cable = _cable(emission, case)
    is_reference = case is base
    return EmissionPrediction(
        name=case.result.variant.name,
        moment=case.moment,
        frequencies=case.frequencies,
        bound=case.bound,
        lines=case.lines,
        closest=case.closest,
        cable=cable,
        moment_db=0.0 if is_reference else _decibels(case.moment.total / max(base.moment.total, _SMALLEST_MOMENT)),
        difference_db=_difference(case, base),
        difference_band=0.0
        if is_reference
        else math.hypot(
            moment_uncertainty(case.result, case.moment),
            moment_uncertainty(base.result, base.moment),
            max(map(abs, drifts)),
        ),
        verdict=verdict(case.closest, emission.band),
    )


def _cable(emission: Emission, case: _Case) -> CableBound | None:
    ground = ground_inductance(case.result)
    if emission.cable is None or ground is None:
        return None
    return cable_bound(emission, emission.cable, case.current, case.frequencies, ground)


def moment_uncertainty(result: VariantResult, moment: LoopMoment) -> float:
    """What a moment is uncertain by beside what all variants share, to both sides [dB].

    Site, antenna and current err alike for all variants and drop out of a difference. What is left is the mesh,
    the height of the added upright part and, over a ground layer, the thickness of the dielectric and the shape of the
    layer, a strip or a disc in the model. Each counts by its part of the moment; they are taken as independent.
    """
    whole = max(moment.total, _SMALLEST_MOMENT) ** 2
    lying = moment.lying**2 / whole
    standing = (moment.upright + moment.added) * moment.upright / whole
    added = (moment.upright + moment.added) * moment.added / whole
    parts = [_ROOM_FOR_MESH, BODY_TOLERANCE * added]
    if result.variant.section.ground_layers:
        parts += [HEIGHT_TOLERANCE * (lying + standing), SHAPE_OF_LAYER * lying]
    return math.hypot(*parts)


def verdict(closest: Margin, band: float) -> str:
    """What a margin means and the summary it."""
    place = f"{closest.frequency / MHZ:.0f} MHz to {closest.limit}"
    if closest.value > band:
        return f"the loop alone keeps {closest.value:.0f} dB margin at {place}, more than the band: cables decide"
    if closest.value >= -band:
        return f"the loop alone comes within the band of the limit at {place}: a measurement decides"
    return f"the loop alone lies {-closest.value:.0f} dB above the limit at {place}: loop, edge or snubber first"


def _sentence(emission: Emission, predictions: Sequence[EmissionPrediction], reference: str) -> str:
    """The least emission against the reference, its margin, and what the cables are allowed."""
    best = max(predictions, key=lambda each: each.closest.value)
    at = f"{emission.distance:g} m, {emission.site.value}"
    first = f"“{best.name}”: {best.verdict} ({at}; ±{emission.band:g} dB)."
    if best.name != reference:
        change = f"{abs(best.difference_db):.0f} dB {'less' if best.difference_db < 0 else 'more'}"
        first = (
            f"By its loop alone “{best.name}” emits {change} than “{reference}” (±{best.difference_band:.1f} dB): "
            f"{best.verdict} ({at}; ±{emission.band:g} dB)."
        )
    return " ".join(
        filter(None, (first, _equals(best, predictions), _cable_sentence(emission, predictions, reference)))
    )


def _equals(best: EmissionPrediction, predictions: Sequence[EmissionPrediction]) -> str:
    """Variants that the model cannot tell from the best one."""
    same = [
        f"“{each.name}”"
        for each in predictions
        if each is not best
        and best.closest.value - each.closest.value <= math.hypot(best.difference_band, each.difference_band)
    ]
    if not same:
        return ""
    return f"Within the uncertainty of a difference {' and '.join(same)} {'is' if len(same) == 1 else 'are'} as good."


def _cable_sentence(emission: Emission, predictions: Sequence[EmissionPrediction], reference: str) -> str:
    """Which variant drives a cable least, and the current that a cable is allowed."""
    driven = {each.name: each.cable for each in predictions if each.cable is not None}
    if emission.cable is None or not driven:
        return ""
    name, cable = max(driven.items(), key=lambda item: item[1].closest.value)
    bound = cable.closest
    reach = f"{abs(bound.value):.0f} dB {'below' if bound.value >= 0 else 'above'} {bound.limit}"
    gain = bound.value - driven[reference].closest.value if reference in driven else 0.0
    less = f", {gain:.0f} dB less than that of “{reference}”" if gain >= 1 else ""
    return (
        f"Cables: “{name}” drives them least; its upper bound, from the voltage along “{cable.ground}”, lies "
        f"{reach}{less}. A cable of {emission.cable.length:g} m reaches the tightest limit with "
        f"{cable.allowed_current * 1e6:.2g} µA of common-mode current, at {cable.allowed_frequency / MHZ:.0f} MHz."
    )


def _decibels(ratio: float) -> float:
    return 20 * math.log10(max(ratio, _SMALLEST_MOMENT))
