"""Numbered warnings of an emission prediction: what it leaves out, and how far it can be believed."""

from __future__ import annotations

from collections.abc import Iterator

from geometries.operation.emission import Emission
from geometries.quantities import MHZ
from geometries.study.scenario import Scenario, Variant
from solver.constants import SPEED_OF_LIGHT
from solver.errors import NumberedWarning

_SMALL_LOOP = 10
"""A loop is small if it is shorter than this part of a wavelength (common practice)."""

_RECEIVER_BANDWIDTH = 120e3
"""Of a receiver from 30 MHz to 1 GHz [Hz], CISPR 16-1-1 (from memory)."""


def emission_warnings(scenario: Scenario) -> tuple[NumberedWarning, ...]:
    """Warnings that follow from what a scenario says about emission; none if it says nothing."""
    emission = scenario.emission
    return () if emission is None else tuple(_warnings(emission, scenario))


def _warnings(emission: Emission, scenario: Scenario) -> Iterator[NumberedWarning]:
    yield NumberedWarning(
        code="W-EMISSION",
        text=f"levels are those of single lines, within ±{emission.band:g} dB at best: chassis, connectors, filters "
        "and other sources are not included; only a measurement in an accredited laboratory decides",
    )
    yield _cable_warning(emission)
    yield from _node_warning(emission)
    if emission.switching is None:
        yield NumberedWarning(
            code="W-NO-RING",
            text="the loop's current is a trapezoid without ring; near its ring frequency a loop emits 10 to 20 dB "
            "more (common practice): describe the edge in a [switching] table",
        )
    if emission.upright_height * emission.upright_length == 0 and not all(map(_has_bodies, scenario.variants)):
        yield NumberedWarning(
            code="W-NO-BODY",
            text="the bodies of capacitor and switches are left out of the moment; over a close ground layer the area "
            "that they stand on is most of what emits: give upright_height and upright_length",
        )
    yield from _range_warnings(emission, scenario)


def _has_bodies(variant: Variant) -> bool:
    """Whether a variant's own capacitors are solved as bodies that stand on the board."""
    described = variant.placed or variant.laid_out
    return described is not None and described.has_bodies


def _cable_warning(emission: Emission) -> NumberedWarning:
    if emission.cable is None:
        return NumberedWarning(
            code="W-NO-CABLE",
            text="cables are left out, which usually decide below 200 MHz (common practice): give cable.length",
        )
    estimated = (
        "the estimate of all sources together takes the board as a small ground, ±10 dB"
        if emission.board is not None
        else "measured cables come out 10 to 30 dB lower (common practice); give board for an estimate"
    )
    return NumberedWarning(
        code="W-CABLE-BOUND",
        text="a cable's level beside the loop's is an upper bound: the whole voltage along the ground conductor drives "
        f"it, at the worst length up to its own; {estimated}",
    )


def _node_warning(emission: Emission) -> Iterator[NumberedWarning]:
    if emission.board is not None and emission.node is None:
        yield NumberedWarning(
            code="W-NO-NODE",
            text="the switch node is left out of the sum of all sources, also as what drives a cable, which no ground "
            "layer changes: give node with its size",
        )


def _range_warnings(emission: Emission, scenario: Scenario) -> Iterator[NumberedWarning]:
    if emission.frequency < _RECEIVER_BANDWIDTH:
        yield NumberedWarning(
            code="W-RECEIVER",
            text=f"lines lie {emission.frequency / 1e3:.3g} kHz apart, closer than a receiver's 120 kHz: it reads "
            "several of them at once, up to their sum, and more than is shown",
        )
    modelled = scenario.analysis.frequencies[-1]
    if emission.highest_frequency > modelled:
        yield NumberedWarning(
            code="W-EXTRAPOLATED",
            text=f"above {modelled / MHZ:.4g} MHz, the highest frequency of the analysis, the loop's circuit goes on "
            "as it is there, and what ground layers leave of its moment along a straight line over skin depth",
        )
    limit = SPEED_OF_LIGHT / (_SMALL_LOOP * max(map(_size, scenario.variants)))
    if emission.highest_frequency > limit:
        yield NumberedWarning(
            code="W-SMALL-LOOP",
            text=f"above {limit / MHZ:.3g} MHz the largest loop or its ground layer is longer than a tenth of a "
            "wavelength; there it is no small loop any more and its level is off by more than the band",
        )


def _size(variant: Variant) -> float:
    """Largest dimension of a loop with its ground layers [m]."""
    if variant.laid_out is not None:
        return variant.laid_out.size
    left, _, right, _ = variant.own_section.extent
    return max(right - left, variant.whole_length)
