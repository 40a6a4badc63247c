"""The magnetic moment of a solved variant: plan view with its ends, over the ground layers as the section has them."""

from __future__ import annotations

import math

from geometries.operation.emission import Emission
from solver.emission.dipole import DipoleCurve, DipoleKind, DipoleMoment
from solver.emission.moment import LoopMoment, RadiatedMoment
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

REAL_SOURCE = "plan view with vias and bodies; lying part: of the closed loop over ground layers as large as they are"
"""Where the moment of a loop comes from whose ground layers have a length."""

SWITCH_HEIGHT = 0.1e-3
"""How high the switches' current may pass over the copper where nobody says it [m]: 0 to 0.2 mm (common practice). It
is left out of the moment then, from which it would take, and is in its band."""

SECTION_SOURCE = "section view: line moment × length"
"""Where the moment of a loop without a plan comes from."""

_ROOM_FOR_MESH = 0.1
"""Mesh error of a moment [dB]: it is second order in the potential's, and stays below 1 %."""

LAYOUT_SOURCE = "plan view of the layout with its vias, bodies and ground layers as they are described"
"""Where the moment of a loop comes from that its layout describes."""

ENDLESS_SOURCE = f"{LAYOUT_SOURCE}; its endless ground layer leaves nothing of what lies on the board"

_LEAST_LEFT = 0.1
"""Of a moment that a layer of copper has to take away from pads: less is not told apart from nothing."""

_SMALLEST_MOMENT = 1e-15


def variant_moment(result: VariantResult, emission: Emission) -> LoopMoment:
    """Magnetic moment of a solved variant per ampere at the report frequency, with what a scenario adds.

    A loop with a plan: its vias and bodies stand, its area lies over the ground layers. Another one: line moment times
    length, so that ends add to its lying part, and a ground layer that is not much longer than the loop shields it less
    than one without end does.
    """
    parts = result.moment_parts
    return LoopMoment(
        lying=parts.lying,
        upright=parts.standing,
        added=emission.upright_height * emission.upright_length,
        source=_source(result),
    )


def _source(result: VariantResult) -> str:
    if result.layout_loop is not None:
        return LAYOUT_SOURCE if result.layout_loop.laid_out.layout.plane is None else ENDLESS_SOURCE
    if result.real_layers is not None:
        return REAL_SOURCE
    return SECTION_SOURCE if result.planned_loop is None else PLAN_SOURCE


def radiated_moment(result: VariantResult, emission: Emission) -> RadiatedMoment:
    """The same over the frequencies of an emission, for which the variant was solved."""
    return RadiatedMoment(reported=variant_moment(result, emission), curve=result.moments)


def moment_uncertainty(result: VariantResult, moment: LoopMoment) -> float:
    """What a moment is uncertain by beside what all variants share, to both sides [dB].

    Site, antenna and current err alike for all variants and drop out of a difference. What is left is the mesh, what
    lies between the frequencies at which it was solved, the height of bodies and, over a ground layer, the thickness of
    the dielectric and the shape of the layer, a strip or a disc in the model unless it has a length. Each counts by its
    part of the moment; they are taken as independent.
    """
    whole = max(moment.total, _SMALLEST_MOMENT) ** 2
    lying = moment.lying**2 / whole
    standing = (moment.upright + moment.added) * moment.upright / whole
    added = (moment.upright + moment.added) * moment.added / whole
    described = result.variant.placed or result.variant.laid_out
    bodies = added + standing if described is not None and described.has_bodies else added
    missed = 0.0 if result.moments is None else result.moments.missed
    parts = [_ROOM_FOR_MESH, missed, BODY_TOLERANCE * bodies, _unknown_switches(result, moment)]
    if result.layout_loop is not None:
        rest = result.layout_loop.mesh_moment / max(moment.total, _SMALLEST_MOMENT)
        parts += [HEIGHT_TOLERANCE * (lying + standing), 20 * math.log10(1 + rest), _pads(result, moment)]
    elif result.real_layers is not None:
        rest = result.real_layers.lying_error / max(moment.total, _SMALLEST_MOMENT)
        parts += [HEIGHT_TOLERANCE * (lying + standing), 20 * math.log10(1 + rest)]
    elif result.variant.own_section.ground_layers:
        parts += [HEIGHT_TOLERANCE * (lying + standing), SHAPE_OF_LAYER * lying]
    return math.hypot(*parts)


def _pads(result: VariantResult, moment: LoopMoment) -> float:
    """What a layout's moment over layers of copper is uncertain by, for what flows within pads [dB]."""
    loop = result.layout_loop
    if loop is None or not loop.over_layers:
        return 0.0
    left = math.hypot(max(moment.lying - loop.pad_moment, 0.0), moment.upright + moment.added)
    return -20 * math.log10(max(left / max(moment.total, _SMALLEST_MOMENT), _LEAST_LEFT))


def _unknown_switches(result: VariantResult, moment: LoopMoment) -> float:
    """What an unknown height of the switches' current brings in the moment of a placement [dB]."""
    if result.whole_loop is None or result.whole_loop.placed.placement.package.height is not None:
        return 0.0
    area = SWITCH_HEIGHT * result.whole_loop.placed.placement.reach_of_switches
    return 20 * math.log10(1 + area / max(moment.total, _SMALLEST_MOMENT))


def moment_vector(moment: RadiatedMoment, band: float) -> DipoleCurve:
    """The moment in the board's axes; what stands on the board counts across the loop, where most of it is."""
    reported = moment.reported
    return DipoleCurve(
        reported=DipoleMoment(
            kind=DipoleKind.MAGNETIC,
            across=reported.upright + reported.added,
            along=0.0,
            normal=reported.lying,
            band=band,
            source=reported.source,
        ),
        vectors=moment.vectors,
    )
