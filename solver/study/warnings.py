"""Numbered warnings that hold for every variant of a study."""

from __future__ import annotations

from collections.abc import Iterable

from geometries.study.scenario import Scenario
from solver.errors import NumberedWarning
from solver.variant.analysis import SolvedStudy
from solver.variant.loop_of_record import Basis
from solver.variant.results import UnsolvedVariant

_LEFT_OUT = {
    Basis.SECTION: NumberedWarning(
        code="W-2D-ENDS",
        text="loop values are section times length: pads, vias, capacitor, package and the current's turn at both "
        "ends of the loop are not included",
    ),
    Basis.TURN: NumberedWarning(
        code="W-ROUND",
        text="loop values are those of a whole turn over discs: the loop's own outline, pads, vias, capacitor and "
        "package are not included, and a disc carries induced current only, whatever it is tied to",
    ),
    Basis.COPPER_LOOP: NumberedWarning(
        code="W-PORTS",
        text="the inductance is that of the copper with its ends; what bridges it there, capacitor and package, is not "
        "included; field and shares are those of its section, and so is how resistance and inductance change with "
        "frequency, in the proportion of the plan view's resistance at the report frequency",
    ),
    Basis.WHOLE_LOOP: NumberedWarning(
        code="W-SECTION-LOSS",
        text="inductance and resistance are those of the whole loop, the resistance without the parts' own; field and "
        "shares are those of its section, and so is how the copper's resistance and inductance change with frequency",
    ),
}

_OF_LAYOUTS = NumberedWarning(
    code="W-LAYOUT",
    text="a loop that its layout describes comes from the plan view alone: field along scan lines, line moment and "
    "pick-up are not known of it, and ports without a part count as nothing",
)


def study_warnings(study: SolvedStudy) -> tuple[NumberedWarning, ...]:
    """Warnings that hold whatever was asked for."""
    missing = dict.fromkeys(
        _LEFT_OUT[each.basis] if each.layout_loop is None else _OF_LAYOUTS for each in study.results
    )
    return (*missing, *unusual_warnings(study.scenario), *always())


def unsolved_warnings(unsolved: Iterable[UnsolvedVariant]) -> tuple[NumberedWarning, ...]:
    """Variants that could not be solved, one by one."""
    return tuple(NumberedWarning(code="W-NOT-SOLVED", text=f"not solved: {each.reason}") for each in unsolved)


def unusual_warnings(scenario: Scenario) -> tuple[NumberedWarning, ...]:
    """Values outside the range where they usually lie."""
    return tuple(NumberedWarning(code="W-UNUSUAL", text=text) for text in scenario.unusual)


def always() -> tuple[NumberedWarning, ...]:
    """What is said with every result."""
    return (
        NumberedWarning(
            code="W-ESTIMATE",
            text="an estimate for design, no substitute for a measurement: compliance is decided by an accredited "
            "laboratory and the local rules",
        ),
        NumberedWarning(
            code="W-VOLTAGE",
            text="switching nodes and charged input capacitors can hold dangerous voltage; work on them belongs to "
            "qualified people under the local rules",
        ),
    )
