"""Emission of all variants of a study: predicted from their solved sections, and set against the reference."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Emission
from geometries.operation.product import Board
from geometries.quantities import MHZ
from solver.emission.cable import DrivingGround
from solver.emission.current import LoopCurrent, RingCircuit
from solver.emission.measures import (
    CABLE_FILTER,
    SLOWER_EDGE,
    SNUBBER_RATIO,
    filtered_cable,
    measures,
    one_change,
    slower_edge,
    usual_snubber,
)
from solver.emission.moment import RadiatedMoment
from solver.emission.prediction import cable_bound, closest_margin, line_frequencies, loop_current, loop_levels
from solver.emission.product import (
    RadiatingBoard,
    board_drive,
    board_sources,
    compare_products,
    ground_below,
    product_lines,
    stray_of,
)
from solver.emission.product_results import Measure, ProductComparison, SourceLine
from solver.emission.quantities import HighestLine, highest_line
from solver.emission.results import CableBound, EmissionComparison, EmissionPrediction, Margin
from solver.emission.sources import BoardSources
from solver.emission.variant_moment import moment_uncertainty, moment_vector, radiated_moment
from solver.switching.circuit import as_built
from solver.variant.edge_circuit import variant_loop
from solver.variant.results import VariantResult

EDGE_TOLERANCE = 1.2
"""Factor within which edges, and the effective capacitance of a switch, are known (common practice). Lines of variants
that ring at different frequencies answer differently to it."""

_SMALLEST_MOMENT = 1e-15


@dataclass(frozen=True, slots=True, kw_only=True)
class _Driven:
    """A variant's moment and current, and the numbers of its lines."""

    result: VariantResult
    moment: RadiatedMoment
    current: LoopCurrent
    harmonics: NDArray[np.int64]

    @property
    def frequencies(self) -> NDArray[np.float64]:
        """Of the lines [Hz]."""
        return np.asarray(self.harmonics * self.current.frequency, dtype=np.float64)

    @property
    def moment_band(self) -> float:
        """What its moment is uncertain by beside what all variants share [dB]."""
        return moment_uncertainty(self.result, self.moment.reported)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case(_Driven):
    """The same with the levels of its loop, its highest line, and where it comes closest to a limit."""

    bound: NDArray[np.float64]
    lines: NDArray[np.float64]
    highest: HighestLine
    closest: Margin


def compare_emission(emission: Emission, results: Sequence[VariantResult], reference: str) -> EmissionComparison:
    """Predict every variant's emission and compare it with the reference.

    Parameters
    ----------
    emission : Emission
        Current, site, cable and limits.
    results, reference : sequence of VariantResult, str
        Solved variants, and the name of the one among them that differences are against.

    Returns
    -------
    EmissionComparison

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import compare_emission, solve_variant
    >>> from solver.variant.needs import Need
    >>> scenario = read_builtin_scenario("garden-lamp")
    >>> result = solve_variant(scenario.variants[0], scenario.analysis, frozenset({Need.WHOLE_LOOP}))
    >>> [each.name for each in compare_emission(scenario.emission, [result], "lamp").predictions]
    ['lamp']
    """
    cases = [_case(emission, result) for result in results]
    base = next(case for case in cases if case.result.variant.name == reference)
    moved = [[_case(each, result) for result in results] for each in _moved_edges(emission)]
    others = [_differences(each, reference) for each in moved]
    drifts = {
        case.result.variant.name: [other[case.result.variant.name] - _difference(case, base) for other in others]
        for case in cases
    }
    predictions = tuple(_predict(emission, case, base, drifts[case.result.variant.name]) for case in cases)
    return EmissionComparison(
        emission=emission,
        reference=reference,
        predictions=predictions,
        sentence=_sentence(emission, predictions, reference),
        product=_product(emission, cases, moved, reference),
    )


def _product(
    emission: Emission, cases: Sequence[_Case], moved: Sequence[Sequence[_Case]], reference: str
) -> ProductComparison | None:
    """All sources together, where the board is described."""
    if emission.board is None:
        return None
    named = [[_radiating(emission, emission.board, case) for case in each] for each in (cases, *moved)]
    found = compare_products(emission, named[0], named[1:], reference)
    least = next(case for case in cases if case.result.variant.name == found.least.name)
    return replace(found, measures=tuple(_measures(emission, emission.board, least, cases)))


def _measures(emission: Emission, board: Board, least: _Case, cases: Sequence[_Case]) -> Iterator[Measure]:
    """What tie and layers have brought to the least emitting board, and what further changes would bring."""
    own = _radiating(emission, board, least)
    for case in cases:
        one, other = case.result.variant.section, least.result.variant.section
        kind = one_change(one, other) if one is not None and other is not None else ""
        if kind:
            name = f"{kind}, from “{case.result.variant.name}”"
            yield from measures(emission, _radiating(emission, board, case), [(name, own)])
    further = [
        (f"edge {SLOWER_EDGE:g} times as long", slower_edge(emission)),
        *((f"snubber of {SNUBBER_RATIO:g} times the switch's capacitance", each) for each in _snubbed(emission, least)),
    ]
    changed = [(name, _radiating(each, board, _driven(each, least.result))) for name, each in further]
    if emission.cable is not None:
        changed.append((f"filter of {CABLE_FILTER:g} dB at the cable", filtered_cable(own)))
    yield from measures(emission, own, changed)


def _snubbed(emission: Emission, case: _Case) -> Iterator[Emission]:
    """With a snubber, where the edge is known and has none."""
    switching = emission.switching
    if switching is not None and switching.snubber is None:
        loop = as_built(switching, variant_loop(switching, case.result))
        yield replace(emission, switching=usual_snubber(switching, loop))


def variant_sources(emission: Emission, board: Board, result: VariantResult) -> BoardSources:
    """What of a solved variant radiates on its board."""
    moment = radiated_moment(result, emission)
    vector = moment_vector(moment, moment_uncertainty(result, moment.reported))
    return board_sources(emission, board, vector, ground_below(result.variant), driving_ground(result))


def _radiating(emission: Emission, board: Board, case: _Driven) -> RadiatingBoard:
    return RadiatingBoard(
        name=case.result.variant.name,
        study=bool(case.result.variant.untied_layers),
        sources=variant_sources(emission, board, case.result),
        drive=board_drive(case.current, product_lines(case.frequencies, emission)),
    )


def _moved_edges(emission: Emission) -> Iterator[Emission]:
    """The same with edges, the switch's capacitance, and the damping of the ring, at both ends of their spans."""
    for factor in (EDGE_TOLERANCE, 1 / EDGE_TOLERANCE):
        yield replace(emission, rise_time=emission.rise_time * factor, fall_time=emission.fall_time * factor)
        if emission.switching is not None:
            yield replace(emission, switching=emission.switching.with_capacitance(factor))
    yield from _moved_damping(emission)


def _moved_damping(emission: Emission) -> Iterator[Emission]:
    """With the least and the most that the ring's quality factor may be, where it has a span."""
    switching = emission.switching
    ringing = None if switching is None else switching.damping
    if switching is None or ringing is None or ringing.least == ringing.most:
        return
    for quality in (ringing.least, ringing.most):
        yield replace(emission, switching=replace(switching, ringing=replace(ringing, quality=quality)))


def _differences(cases: Sequence[_Case], reference: str) -> dict[str, float]:
    """Change of every variant's highest line against the reference [dB]."""
    named = {case.result.variant.name: case for case in cases}
    return {name: _difference(case, named[reference]) for name, case in named.items()}


def _difference(case: _Case, base: _Case) -> float:
    return case.highest.change_from(base.highest)


def _driven(emission: Emission, result: VariantResult) -> _Driven:
    current = loop_current(emission, _ring(emission, result))
    return _Driven(
        result=result,
        moment=radiated_moment(result, emission),
        current=current,
        harmonics=line_frequencies(emission, current),
    )


def _case(emission: Emission, result: VariantResult) -> _Case:
    driven = _driven(emission, result)
    bound, lines = loop_levels(emission, driven.current, driven.moment.totals(driven.frequencies), driven.harmonics)
    return _Case(
        result=result,
        moment=driven.moment,
        current=driven.current,
        harmonics=driven.harmonics,
        bound=bound,
        lines=lines,
        highest=highest_line(driven.frequencies, bound),
        closest=closest_margin(driven.frequencies, bound, emission.limits),
    )


def _ring(emission: Emission, result: VariantResult) -> RingCircuit | None:
    switching = emission.switching
    if switching is None:
        return None
    loop = as_built(switching, variant_loop(switching, result))
    return RingCircuit(voltage=switching.input_voltage, loop=loop)


def margin_of(emission: Emission, result: VariantResult) -> Margin:
    """Where the level of a solved variant's loop alone comes closest to a limit."""
    return _case(emission, result).closest


def product_of(emission: Emission, result: VariantResult) -> SourceLine | None:
    """Highest line of all sources of a solved variant together; None where the board is not described."""
    if emission.board is None:
        return None
    board = _radiating(emission, emission.board, _driven(emission, result))
    return compare_products(emission, [board], [], board.name).predictions[0].sum_line


def driving_ground(result: VariantResult) -> DrivingGround | None:
    """The ground conductor of a solved variant that drives cables most."""
    if result.ground is None:
        return None
    copper, inductance = result.ground
    return DrivingGround(copper=copper, reported=inductance, curve=result.ground_inductances)


def _predict(emission: Emission, case: _Case, base: _Case, drifts: Sequence[float]) -> EmissionPrediction:
    cable = _cable(emission, case)
    is_reference = case is base
    return EmissionPrediction(
        name=case.result.variant.name,
        study=bool(case.result.variant.untied_layers),
        moment=case.moment.reported,
        frequencies=case.frequencies,
        moments=case.moment.totals(case.frequencies),
        bound=case.bound,
        lines=case.lines,
        highest=case.highest,
        closest=case.closest,
        cable=cable,
        moment_db=0.0 if is_reference else _moment_change(case, base),
        difference_db=_difference(case, base),
        difference_band=0.0
        if is_reference
        else math.hypot(
            case.moment_band,
            base.moment_band,
            max(map(abs, drifts)),
        ),
        verdict=verdict(case.closest, emission.band),
    )


def _cable(emission: Emission, case: _Case) -> CableBound | None:
    ground = driving_ground(case.result)
    if emission.cable is None or ground is None:
        return None
    stray = stray_of(emission, ground_below(case.result.variant))
    known = replace(emission, stray_capacitance=stray)
    return cable_bound(known, emission.cable, case.current, case.frequencies, ground)


def verdict(closest: Margin, band: float) -> str:
    """What a margin means, and what settles it."""
    place = f"{closest.frequency / MHZ:.0f} MHz to {closest.limit}"
    if closest.value > band:
        return (
            f"the loop alone lies {closest.value:.0f} dB below the limit at {place}, more than the band: cables decide"
        )
    if closest.value >= -band:
        return f"the loop alone comes within the band of the limit at {place}: a measurement decides"
    return f"the loop alone lies {-closest.value:.0f} dB above the limit at {place}: loop, edge or snubber first"


def _sentence(emission: Emission, predictions: Sequence[EmissionPrediction], reference: str) -> str:
    """The least emission against the reference, its margin, and what the cables are allowed."""
    best = min(predictions, key=lambda each: (each.study, each.highest.level))
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
        and each.highest.change_from(best.highest) <= math.hypot(best.difference_band, each.difference_band)
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
    gain = _bound_change(cable, driven[reference]) if reference in driven else 0.0
    less = f", its highest line {-gain:.0f} dB below that of “{reference}”" if gain <= -1 else ""
    return (
        f"Cables: “{name}” drives them least; its upper bound, from the voltage along “{cable.ground}”, lies "
        f"{reach}{less}. A cable of {emission.cable.length:g} m reaches the tightest limit with "
        f"{cable.allowed_current * 1e6:.2g} µA of common-mode current, at {cable.allowed_frequency / MHZ:.0f} MHz."
    )


def _bound_change(cable: CableBound, base: CableBound) -> float:
    """Highest line of a cable's bound against that of another [dB]."""
    return float(cable.levels.max() - base.levels.max())


def _moment_change(case: _Case, base: _Case) -> float:
    """Of the magnitude at the report frequency [dB]."""
    ratio = case.moment.reported.total / max(base.moment.reported.total, _SMALLEST_MOMENT)
    return 20 * math.log10(max(ratio, _SMALLEST_MOMENT))
