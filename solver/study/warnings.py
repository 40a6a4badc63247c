"""Numbered warnings that hold for every variant of a study."""

from __future__ import annotations

from geometries.section.section import View
from geometries.study.scenario import Scenario
from solver.emission.warnings import emission_cautions
from solver.notation.warning import Caution


def study_cautions(scenario: Scenario) -> tuple[Caution, ...]:
    """Warnings that hold for every variant of a study."""
    what_is_left_out = {
        View.SECTION: Caution(
            code="W-2D-ENDS",
            text="loop values are section times length: pads, vias, capacitor, package and the current's turn at both "
            "ends of the loop are not included",
        ),
        View.ROUND: Caution(
            code="W-ROUND",
            text="loop values are those of a round turn over discs: the loop's own outline, pads, vias, capacitor and "
            "package are not included, and a disc carries induced current only, whatever it is tied to",
        ),
    }
    return (
        what_is_left_out[scenario.variants[0].view],
        Caution(
            code="W-ESTIMATE",
            text="an estimate for design, no substitute for a measurement: compliance is decided by an accredited "
            "laboratory and the local rules",
        ),
        Caution(
            code="W-VOLTAGE",
            text="switching nodes and charged input capacitors can hold dangerous voltage; work on them belongs to "
            "qualified people under the local rules",
        ),
        *emission_cautions(scenario),
    )
