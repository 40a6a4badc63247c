"""What one change of a board brings to the sum of all sources: a tie, a layer, the edge, a snubber, a filter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from geometries.operation.emission import Emission
from geometries.operation.switching import Snubber, Switching
from geometries.section.section import CrossSection, Region, Role
from solver.circuit.series_loop import SeriesLoop
from solver.emission.product import RadiatingBoard
from solver.emission.product_results import Measure
from solver.emission.sources import OrientedTotal, oriented_totals, spread_changes, spread_total
from solver.emission.total import TotalLevels

SLOWER_EDGE = 2.0
"""Factor on the time of the edge."""

SNUBBER_RATIO = 3.0
"""Capacitance of a usual snubber over that of the switch (common practice); its resistor is √(L/C)."""

CABLE_FILTER = 20.0
"""What a filter where the cable leaves the board takes off its current [dB]; 10 to 30 dB (common practice)."""

_SAME_FREQUENCY = 0.05
"""Lines nearer to each other than this part excite the same resonances of a cable."""


def slower_edge(emission: Emission) -> Emission:
    """The same with an edge twice as long."""
    longer = emission.rise_time * SLOWER_EDGE, emission.fall_time * SLOWER_EDGE
    return replace(emission, rise_time=longer[0], fall_time=longer[1])


def usual_snubber(switching: Switching, loop: SeriesLoop) -> Switching:
    """The same with a usual snubber across the switch."""
    capacitance = SNUBBER_RATIO * switching.capacitance_at_input
    return replace(switching, snubber=Snubber(capacitance=capacitance, resistance=loop.characteristic_impedance))


def filtered_cable(board: RadiatingBoard) -> RadiatingBoard:
    """The same board with a filter where its cable leaves: both mechanisms drive so much less through it."""
    cable = board.sources.cable
    if cable is None:
        return board
    return replace(board, sources=replace(board.sources, cable=replace(cable, passed=10 ** (-CABLE_FILTER / 20))))


def one_change(before: CrossSection, after: CrossSection) -> str:
    """What alone differs between two boards with the same loop: "tie", "layers", or nothing of both.

    Examples
    --------
    >>> from geometries import Plane, SameLayerLoop, cross_section, named_stackup
    >>> loop = SameLayerLoop(width=3e-3, gap=1e-3, length=8e-3)
    >>> def board(tie, name="4L-7628"):
    ...     return cross_section("board", named_stackup(name), loop, [Plane(layer="L2", tie=tie, width=0.04)])
    >>> one_change(board("switch end"), board("both ends"))
    'tie'
    >>> one_change(board("both ends", "2L-1.6"), board("both ends"))
    'layers'
    """
    if _bounds(before, ground=False) != _bounds(after, ground=False):
        return ""
    same_layers = _bounds(before, ground=True) == _bounds(after, ground=True)
    same_ties = _ties(before) == _ties(after)
    if same_layers == same_ties:
        return ""
    return "tie" if same_layers else "layers"


def measures(
    emission: Emission, before: RadiatingBoard, changed: Sequence[tuple[str, RadiatingBoard]]
) -> Iterator[Measure]:
    """What single changes of one board bring to the highest line of the sum.

    Parameters
    ----------
    emission : Emission
        Site, orientation and band.
    before : RadiatingBoard
        As it is.
    changed : sequence of (str, RadiatingBoard)
        The same board with one thing changed, and what that is.
    """
    then = _totals(emission, before)
    for name, board in changed:
        now = _totals(emission, board)
        alike = _same_line(spread_total(then), spread_total(now))
        pair = [[_as_one_board(each) for each in totals] if alike else totals for totals in (then, now)]
        change = spread_changes(*pair)[-1]
        yield Measure(name=name, change=change.change, band=change.band)


def _totals(emission: Emission, board: RadiatingBoard) -> tuple[OrientedTotal, ...]:
    return oriented_totals(board.drive, board.sources, emission.measuring_site, emission.orientation, emission.band)


def _same_line(before: TotalLevels, after: TotalLevels) -> bool:
    first, last = (float(each.frequencies[each.levels.argmax()]) for each in (before, after))
    return abs(first - last) <= _SAME_FREQUENCY * first


def _as_one_board(each: OrientedTotal) -> OrientedTotal:
    """What a board's sources are uncertain by on their own is the same before and after, as long as its line stays."""
    sources = [replace(source, shared=source.band, own=0.0) for source in each.total.sources]
    return replace(each, total=replace(each.total, sources=tuple(sources)))


def _ground(section: CrossSection) -> list[Region]:
    return [section.region(name) for name in section.ground_layers]


def _bounds(section: CrossSection, *, ground: bool) -> set[tuple[float, ...]]:
    names = section.ground_layers
    return {each.outline.bounds for each in section.regions if (each.name in names) == ground}


def _ties(section: CrossSection) -> set[tuple[Role, str]]:
    return {(each.role, each.tie.value) for each in _ground(section)}
