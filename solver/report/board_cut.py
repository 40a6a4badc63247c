"""A board's own cross-section: solved like a variant, and what it says of each ground layer."""

from __future__ import annotations

from typing import Any

from geometries.errors import GeometryError
from geometries.fabrication.board import Board
from geometries.quantities import MM, NANO, Quantity, read_quantity
from geometries.section.analysis import Analysis
from geometries.study.board_cut import Line, section_cut
from solver.board.as_drawn import DrawnLoop
from solver.notation import numbers
from solver.variant.needs import Need
from solver.variant.results import VariantResult
from solver.variant.solve import solve_variant

ACROSS = "across"
_HEIGHT = 3 * MM
"""Over and under the board where its field is looked at."""


def read_line(text: str) -> Line | None:
    """A line from what the command was given: none for the one that is proposed.

    Raises
    ------
    GeometryError
        If it is not four lengths.

    Examples
    --------
    >>> read_line("1 mm, 2 mm, 3 mm, 4 mm")
    ((0.001, 0.002), (0.003, 0.004))
    """
    if text == ACROSS:
        return None
    words = text.split(",")
    if len(words) != 4:
        raise GeometryError(
            f'--cut is {text!r}; write "{ACROSS}", or the ends of a line as "1 mm, 2 mm, 3 mm, 4 mm": x, y, x, y'
        )
    x1, y1, x2, y2 = (read_quantity(word.strip(), Quantity.LENGTH, "--cut") for word in words)
    return (x1, y1), (x2, y2)


def solve_cut(board: Board, drawn: DrawnLoop, line: Line | None, frequency: float) -> VariantResult:
    """The section along a line with the benefit of each ground layer.

    Raises
    ------
    SolverError
        If the line does not cut the loop, or the section cannot be solved.
    """
    analysis = Analysis(
        frequencies=(frequency,),
        report_frequency=frequency,
        heights_above=(_HEIGHT,),
        heights_below=(_HEIGHT,),
        axisymmetric_view=False,
    )
    wanted = frozenset({Need.BENEFIT, Need.FIELD_MAP, Need.BROADBAND})
    return solve_variant(section_cut(board, drawn.ends, drawn.window, line), analysis, wanted)


def cut_lines(result: VariantResult) -> tuple[str, ...]:
    """What the section and each ground layer come to."""
    length = result.variant.length
    per_millimetre = result.section_inductance / length * MM
    first = (
        f"Section across the loop: {numbers.significant(per_millimetre / NANO, 3)} nH/mm at "
        f"{numbers.frequency(float(result.frequencies[result.report_index]))}; {length / MM:.3g} mm lie between "
        "capacitor and switches."
    )
    benefits = (
        f"{one.layer} takes it from {numbers.significant(one.inductance_before * MM / NANO, 3)} to "
        f"{numbers.significant(one.inductance_after * MM / NANO, 3)} nH/mm, the field above by {one.above_db:+.1f} dB, "
        f"below by {one.below_db:+.1f} dB."
        for one in result.benefit
    )
    return first, *benefits


def cut_document(result: VariantResult) -> dict[str, Any]:
    """The section as plain values, inductances per length."""
    return {
        "length": result.variant.length,
        "inductance_per_length": result.section_inductance / result.variant.length,
        "benefit": [
            {"layer": one.layer, "before": one.inductance_before, "after": one.inductance_after}
            for one in result.benefit
        ],
        "shares": {one.region: abs(one.share) for one in result.shares},
    }
