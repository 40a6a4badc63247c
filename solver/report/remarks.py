"""What stands at the head of every circuit file, as comments."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from importlib.metadata import version

from geometries.quantities import MM, NANO
from geometries.section.section import View
from geometries.study.scenario import Scenario, Variant
from solver.circuit.rl_network import DEVIATION, RESISTANCE_DEVIATION, RLNetwork
from solver.notation.labels import wording
from solver.notation.numbers import MILLI
from solver.variant.results import VariantResult

_WIDTH = 100


def circuit_remarks(circuit: RLNetwork, result: VariantResult, scenario: Scenario) -> tuple[str, ...]:
    """Where a circuit comes from, where it is valid, what is in it and what is not, one remark each."""
    variant = result.variant
    boards = ", ".join(stackup.name for stackup in variant.stackups) or "none, it is user-defined"
    return (
        f"Copperfield {version('copperfield')}: one layout's loop as a passive circuit of resistors and inductors",
        f"Scenario: {scenario.title}",
        f"Variant: {variant.name}",
        f"Stackup: {boards}",
        f"Loop of record: {result.basis.value}",
        _extent(variant),
        *_terms(result),
        *_losses(result),
        _validity(circuit, result),
        _left_out(result),
    )


def _validity(circuit: RLNetwork, result: VariantResult) -> str:
    """Over which band a circuit holds, and how well."""
    if result.layout_loop is not None:
        error = 100 * result.layout_loop.resistance_error
        return (
            f"Valid from {circuit.band[0]:.6g} to {circuit.band[1]:.6g} Hz; its inductance at the report frequency is "
            f"that of the plan view, its resistance is within {error:.2g} %."
        )
    return (
        f"Valid from 0 to {circuit.band[1]:.6g} Hz; from {circuit.band[0]:.6g} Hz within {DEVIATION:.0e} of Z and "
        f"{RESISTANCE_DEVIATION:.0e} of R of the section's field solutions, whose own error stands in the report."
    )


def _terms(result: VariantResult) -> tuple[str, ...]:
    """What a whole loop is made of, and which part of the circuit is not solved over frequency."""
    whole = result.whole_loop or result.layout_loop
    if whole is None:
        return ()
    terms = "; ".join(f"{each.name} {each.amount / NANO:.4g} nH ({each.source})" for each in whole.terms)
    report = float(result.frequencies[result.report_index])
    first = f"Inductance of the whole loop at {report:.6g} Hz: {terms}."
    if result.layout_loop is not None:
        return (first, "Capacitor and package are constant inductances.")
    return (first,)


def _losses(result: VariantResult) -> tuple[str, ...]:
    """Where the resistance of a loop with its ends beside its section comes from."""
    if result.planned_loop is None or result.layout_loop is not None:
        return ()
    loop, report = result.loop, float(result.frequencies[result.report_index])
    value, error = loop.resistance / MILLI, loop.resistance_uncertainty / MILLI
    return (
        f"Resistance at {report:.6g} Hz: {value:.4g} mOhm, +-{error:.2g} mOhm, of the copper from the plan view. Over "
        "frequency resistance and inductance change as the section's do, in that proportion; the rest of what the ends "
        "add is a constant inductance that couples with no victim.",
    )


def _left_out(result: VariantResult) -> str:
    if result.basis.holds_package:
        return "Not included: resistance of capacitor and switches, and any capacitance between conductors."
    if result.planned_loop is not None:
        return "Not included: the parts that close the ports, and any capacitance between conductors."
    return f"Not included: {wording(result.variant.view).left_out}."


def _extent(variant: Variant) -> str:
    if variant.view is View.AXISYMMETRIC:
        radius = (
            "" if variant.axisymmetric_loop is None else f", mean radius {variant.axisymmetric_loop.radius / MM:.6g} mm"
        )
        return f"Axisymmetric loop: one whole turn{radius}"
    if variant.laid_out is not None:
        return f"Layout seen from above: {len(variant.laid_out.layout.sheets)} pieces of copper"
    lengths = [
        f"{variant.length / MM:.6g} mm",
        *(f"{each.length / MM:.6g} mm {each.name}" for each in variant.segments),
    ]
    return f"Section times length: {' + '.join(lengths)}"


def commented(remarks: Iterable[str], mark: str) -> list[str]:
    r"""Remarks as comment lines: ASCII, wrapped, each line behind the mark, whatever the remark holds.

    Examples
    --------
    >>> commented(["ring\n.end at 5 µs"], "*")
    ['* ring .end at 5 ?s']
    """
    wrapped = (textwrap.wrap(plain(remark), _WIDTH - len(mark) - 1, subsequent_indent="  ") for remark in remarks)
    return [f"{mark} {line}" for lines in wrapped for line in lines]


def plain(text: str) -> str:
    """Text on one line in printable ASCII; other signs become question marks."""
    single = " ".join(text.split())
    return "".join(sign if sign.isascii() and sign.isprintable() else "?" for sign in single)
