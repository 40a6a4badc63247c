"""Numbered warnings that hold for every variant of a study."""

from __future__ import annotations

from geometries.section.section import View
from geometries.study.scenario import Scenario
from solver.emission.warnings import emission_warnings
from solver.notation.warning import NumberedWarning


def study_warnings(scenario: Scenario) -> tuple[NumberedWarning, ...]:
    """Warnings that hold for every variant of a study."""
    what_is_left_out = {
        View.SECTION: NumberedWarning(
            code="W-2D-ENDS",
            text="loop values are section times length: pads, vias, capacitor, package and the current's turn at both "
            "ends of the loop are not included",
        ),
        View.AXISYMMETRIC: NumberedWarning(
            code="W-ROUND",
            text="loop values are those of a round turn over discs: the loop's own outline, pads, vias, capacitor and "
            "package are not included, and a disc carries induced current only, whatever it is tied to",
        ),
    }
    return (
        what_is_left_out[scenario.variants[0].view],
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
        *emission_warnings(scenario),
    )
