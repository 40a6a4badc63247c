"""What the report and the result file say about the whole loops of placements."""

from __future__ import annotations

from typing import Any

from geometries.quantities import NANO
from solver.loop.terms import PairFacts, SectionRule, WholeLoop
from solver.notation import numbers
from solver.study.results import StudyResult

Document = dict[str, Any]


def whole_loop_document(loop: WholeLoop) -> Document:
    """Terms, shares, derivatives and moments of one loop as plain values in SI units."""
    bank = loop.bank
    return {
        "frequency_Hz": loop.frequency,
        "loop_inductance_H": loop.inductance,
        "uncertainty_H": loop.uncertainty,
        "terms": [
            {
                "name": term.name,
                "inductance_H": term.amount,
                "uncertainty_H": term.uncertainty,
                "source": term.source,
            }
            for term in loop.terms
        ],
        "capacitors": [
            {"name": name, "share_real_1": float(share.real), "share_imag_1": float(share.imag)}
            for name, share in zip(bank.names, loop.shares, strict=True)
        ],
        "loop_inductances_H": bank.inductance.tolist(),
        "loop_resistances_ohm": bank.resistance.tolist(),
        "series_resonances_Hz": [each.frequency for each in bank.series_resonances()],
        "anti_resonances_Hz": [each.frequency for each in bank.anti_resonances()],
        "moment_m2": loop.moment,
        "net_moment_m2": loop.net_moment,
        "sensitivities": [
            {
                "dimension": each.dimension,
                "value_m": each.value,
                "derivative_H_per_m": each.derivative,
                "step_m": each.step,
            }
            for each in loop.sensitivities
        ],
        "mirrored_pair": None if loop.pair is None else _pair_document(loop.pair),
        "section_times_length": None
        if loop.rule is None
        else {"section_H": loop.rule.section, "plan_H": loop.rule.plan, "off_1": loop.rule.off},
        "seconds_s": loop.seconds,
    }


def _pair_document(pair: PairFacts) -> Document:
    return {
        "single_inductance_H": pair.single,
        "pair_inductance_H": pair.pair,
        "single_moment_m2": pair.single_moment,
        "pair_moment_m2": pair.pair_moment,
        "moment_at_55_to_45_m2": pair.uneven_moment,
        "upright_moment_m2": pair.upright_moment,
    }


def rule_sentence(rule: SectionRule) -> str:
    """How far section times length is off, in a sentence."""
    side = "low" if rule.off < 0 else "high"
    return (
        f"Section × length gives {numbers.nanohenry(rule.section)} nH for the copper and vias of "
        f"this loop, the plan view "
        f"{numbers.nanohenry(rule.plan)} nH: section × length is {abs(100 * rule.off):.0f} % {side} here."
    )


def pair_sentence(loop: WholeLoop) -> str:
    """Both facts about a mirrored pair, and what is left of the second where the shares are uneven."""
    pair = loop.pair
    if pair is None:
        return ""
    return (
        f"In parallel the two sides have {numbers.nanohenry(pair.pair)} nH, "
        f"one alone {numbers.nanohenry(pair.single)} nH "
        f"({pair.pair / pair.single:.2f} of it): that is paralleling, and any second capacitor beside the first would "
        f"bring much of it. Symmetry does another thing: the magnetic moments of the two sides, as they lie on the "
        f"board, are opposite, and of {_moment(pair.single_moment)} mm² for one side alone "
        f"{_left(pair.pair_moment, pair.single_moment)} at the shares found here and "
        f"{_left(pair.uneven_moment, pair.single_moment)} if the sides share as 55 to 45. The upright part, "
        f"{_moment(pair.upright_moment)} mm² from bodies over their copper, is the same on both sides and stays."
    )


def ranked_loops(study: StudyResult) -> list[tuple[str, WholeLoop]]:
    """Placements and their loops, the smallest first."""
    found = [(each.variant.name, each.whole_loop) for each in study.results if each.whole_loop is not None]
    return sorted(found, key=lambda pair: pair[1].inductance)


def peaks_sentence(loop: WholeLoop) -> str:
    """Where several capacitors exchange charge among themselves."""
    peaks = loop.bank.anti_resonances()
    if not peaks:
        return "none: what the capacitors exchange is damped"
    return ", ".join(
        f"{numbers.frequency(each.frequency)} (Q {numbers.significant(each.quality, 2)})" for each in peaks
    )


def first_change(loop: WholeLoop) -> str:
    """The dimension with the steepest derivative, and what a tenth of a millimetre of it brings."""
    if not loop.sensitivities:
        return "no dimension could be varied"
    steepest = loop.sensitivities[0]
    tenth = abs(steepest.derivative) * 1e-4 / NANO
    way = "less" if steepest.derivative > 0 else "more"
    return f"{steepest.dimension.replace('_', ' ')}: 0.1 mm {way} of it takes off {tenth:.3f} nH"


def _moment(value: float) -> str:
    return numbers.significant(value * 1e6, 3)


def _left(value: float, whole: float) -> str:
    part = value / whole
    return "less than 0.1 % is left" if part < 1e-3 else f"{100 * part:.0f} % is left"
