"""The magnetic moment of a solved variant: plan view with its ends, over the ground layers as the section has them."""

from __future__ import annotations

import math

import numpy as np

from geometries.operation.emission import Emission
from solver.emission.dipole import DipoleKind, DipoleMoment
from solver.emission.moment import LoopMoment, section_moment
from solver.loop.section_loop import SectionLoop
from solver.loop.terms import WholeLoop
from solver.variant.results import VariantResult

HEIGHT_TOLERANCE = 20 * math.log10(1.1)
"""What 10 % of the dielectric's thickness under a loop (common practice) brings in its moment over a layer [dB]."""

BODY_TOLERANCE = 20 * math.log10(1.5)
"""What is not known of the height at which the current passes a component's body [dB]: 0.1 to 0.3 mm (common practice)
is a factor of 1.7 to both sides of its middle; 1.5 stands for it."""

SHAPE_OF_LAYER = 20 * math.log10(4 / math.pi)
"""What the shape of a ground layer brings in a horizontal loop's moment [dB]: exactly that between a small loop close
over a disc and over an endless strip of the disc's diameter; a rectangular layer is neither."""

PLAN_SOURCE = (
    "plan view with vias and bodies; lying part: times what the section view leaves of it over ground layers with "
    "their edges, slots and cuts, or section view × length where a layer carries the return"
)
"""Where the moment of a loop with a plan comes from. A ground layer takes from what lies on the board, nothing else."""

SWITCH_HEIGHT = 0.1e-3
"""How high the switches' current may pass over the copper where nobody says it [m]: 0 to 0.2 mm (common practice). It
is left out of the moment then, from which it would take, and is in its band."""

_ROOM_FOR_MESH = 0.1
"""Mesh error of a moment [dB]: it is second order in the potential's, and stays below 1 %."""

_SMALLEST_MOMENT = 1e-15


def variant_moment(result: VariantResult, emission: Emission) -> LoopMoment:
    """Magnetic moment of a solved variant per ampere, with the upright part that the scenario adds."""
    planned = result.planned_loop
    if planned is not None:
        return planned_moment(result, planned, emission.upright_height * emission.upright_length)
    return section_moment(
        [(*segment.moment_parts, segment.length) for segment in result.segments],
        upright_height=emission.upright_height,
        upright_length=emission.upright_length,
    )


def planned_moment(result: VariantResult, planned: WholeLoop | SectionLoop, added: float) -> LoopMoment:
    """Moment per ampere of a loop with a plan: its vias and bodies stand, its area lies over the ground layers.

    Parameters
    ----------
    result : VariantResult
        The solved variant.
    planned : WholeLoop or SectionLoop
        Its loop with its ends.
    added : float
        Further upright area [m²].

    Notes
    -----
    The plan view's ground layer is endless and takes all of the lying part. What is left over the layers as they are
    comes from the section, where it does not hang on the loop's ends. A plan view over a meshed plane would not do: its
    moment is good to some tenths of a per cent of the loop's own, and less than one per cent is left.
    """
    flat, standing = _own_moment(planned)
    return LoopMoment(lying=_over_layers(flat, result), upright=standing, added=added, source=PLAN_SOURCE)


def _own_moment(planned: WholeLoop | SectionLoop) -> tuple[float, float]:
    """Of the loop's own currents: what lies on the board and what stands on it [m²]."""
    if isinstance(planned, SectionLoop):
        along, across, upright = np.abs(planned.moment)
        return float(upright), math.hypot(along, across)
    return math.sqrt(max(planned.moment**2 - planned.standing_moment**2, 0.0)), planned.standing_moment


def _over_layers(flat: float, result: VariantResult) -> float:
    """What the ground layers leave of the lying moment of a loop's own copper, over its whole length [m²]."""
    if result.variant.section.ground_carries_return:
        return math.fsum(segment.moment_parts[0] * segment.length for segment in result.segments)
    length = math.fsum(segment.length for segment in result.segments)
    return flat * math.fsum(segment.lying_left * segment.length for segment in result.segments) / length


def moment_uncertainty(result: VariantResult, moment: LoopMoment) -> float:
    """What a moment is uncertain by beside what all variants share, to both sides [dB].

    Site, antenna and current err alike for all variants and drop out of a difference. What is left is the mesh,
    the height of bodies and, over a ground layer, the thickness of the dielectric and the shape of the layer, a strip
    or a disc in the model. Each counts by its part of the moment; they are taken as independent.
    """
    whole = max(moment.total, _SMALLEST_MOMENT) ** 2
    lying = moment.lying**2 / whole
    standing = (moment.upright + moment.added) * moment.upright / whole
    added = (moment.upright + moment.added) * moment.added / whole
    bodies = added + standing if result.whole_loop is not None and result.whole_loop.placed.has_bodies else added
    parts = [_ROOM_FOR_MESH, BODY_TOLERANCE * bodies, _unknown_switches(result, moment)]
    if result.variant.section.ground_layers:
        parts += [HEIGHT_TOLERANCE * (lying + standing), SHAPE_OF_LAYER * lying]
    return math.hypot(*parts)


def _unknown_switches(result: VariantResult, moment: LoopMoment) -> float:
    """What an unknown height of the switches' current brings in the moment of a placement [dB]."""
    if result.whole_loop is None or result.whole_loop.placed.placement.package.height is not None:
        return 0.0
    area = SWITCH_HEIGHT * result.whole_loop.placed.placement.reach_of_switches
    return 20 * math.log10(1 + area / max(moment.total, _SMALLEST_MOMENT))


def moment_vector(moment: LoopMoment, band: float) -> DipoleMoment:
    """The moment in the board's axes; what stands on the board counts across the loop, where most of it is."""
    return DipoleMoment(
        kind=DipoleKind.MAGNETIC,
        across=moment.upright + moment.added,
        along=0.0,
        normal=moment.lying,
        band=band,
        source=moment.source,
    )
