"""The magnetic moment of a solved variant: plan view for placements, else section or axisymmetric view."""

from __future__ import annotations

import math
from dataclasses import replace

from geometries.operation.emission import Emission
from geometries.section.section import CrossSection, Role, View
from geometries.study.scenario import Variant
from solver.emission.dipole import DipoleKind, DipoleMoment
from solver.emission.moment import LoopMoment, section_moment
from solver.formulas import strip_shielding
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

AXISYMMETRIC_SOURCE = (
    "lying part: axisymmetric view, a ring of the loop's area over discs; upright part: section view × length"
)
"""Where a moment comes from if no ground layer carries the return and all lie under the loop's middle: then the
axisymmetric view holds."""

RING_SOURCE = "axisymmetric view: the ring's own moment along its axis"
"""Where the moment of a loop comes from that is axisymmetric itself."""

PLAN_SOURCE = (
    "plan view with vias and bodies; lying part over a ground layer: times the exact factor of a strip of its width"
)
"""Where the moment of a placement comes from. A ground layer takes from what lies on the board, nothing else."""

_ROOM_FOR_MESH = 0.1
"""Mesh error of a moment [dB]: it is second order in the potential's, and stays below 1 %."""

_CENTRED = 0.02
"""A ground layer lies under the loop's middle if it is off by less than this part of its width: 0.2 % of the moment."""

_SMALLEST_MOMENT = 1e-15


def variant_moment(result: VariantResult, emission: Emission) -> LoopMoment:
    """Magnetic moment of a solved variant per ampere, with the upright part that the scenario adds."""
    if result.whole_loop is not None:
        return placed_moment(result.whole_loop, emission.upright_height * emission.upright_length)
    moment = section_moment(
        [(*segment.moment_parts, segment.length) for segment in result.segments],
        upright_height=emission.upright_height,
        upright_length=emission.upright_length,
    )
    if result.axisymmetric_view is None or not reads_axisymmetric_view(result.variant):
        return moment
    source = RING_SOURCE if result.variant.view is View.AXISYMMETRIC else AXISYMMETRIC_SOURCE
    return replace(moment, lying=result.axisymmetric_view.moment, source=source)


def placed_moment(whole: WholeLoop, added: float) -> LoopMoment:
    """Moment of a placement per ampere: its own vias and bodies stand, its area lies over the uppermost ground layer.

    Parameters
    ----------
    whole : WholeLoop
        The solved loop.
    added : float
        Further upright area [m²].

    Notes
    -----
    The plan view's ground layer is endless and takes all of the lying part. What a layer of its width leaves is exact
    for a small loop over the middle of a long strip.
    """
    flat = math.sqrt(max(whole.moment**2 - whole.standing_moment**2, 0.0))
    return LoopMoment(
        lying=flat * _left_over_layer(whole),
        upright=whole.standing_moment,
        added=added,
        source=PLAN_SOURCE,
    )


def reads_axisymmetric_view(variant: Variant) -> bool:
    """Whether the axisymmetric view holds for a variant's lying moment.

    It holds for rings, and for loops over whole ground layers that carry no return and lie under the loop's middle. Off
    the middle, and over a layer that is cut, the section view has the layer as it is.
    """
    if variant.view is View.AXISYMMETRIC:
        return True
    section = variant.section
    return not section.ground_carries_return and all(_is_whole_and_centred(section, name) for name in _layers(section))


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
    parts = [_ROOM_FOR_MESH, BODY_TOLERANCE * bodies]
    if result.variant.section.ground_layers:
        parts += [HEIGHT_TOLERANCE * (lying + standing), SHAPE_OF_LAYER * lying]
    return math.hypot(*parts)


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


def _left_over_layer(whole: WholeLoop) -> float:
    """Part of the lying moment that the uppermost ground layer leaves, by its width; all of it without a layer."""
    plane, planes = whole.plan.near.plane, whole.placed.site.planes
    if plane is None or not planes:
        return 1.0
    height = whole.plan.near.sheets[0].height - plane.height
    return strip_shielding(height, planes[0].width / 2)


def _layers(section: CrossSection) -> tuple[str, ...]:
    """Names of the groups of floating ground layers, each once."""
    return tuple(dict.fromkeys(section.region(name).group for name in section.ground_layers))


def _is_whole_and_centred(section: CrossSection, group: str) -> bool:
    pieces = [region.outline.bounds for region in section.regions if region.group == group]
    loop = [region.outline.bounds for region in section.regions if region.role in (Role.GO, Role.RETURN)]
    middle = (min(box[0] for box in loop) + max(box[2] for box in loop)) / 2
    left, _, right, _ = pieces[0]
    return len(pieces) == 1 and abs((left + right) / 2 - middle) <= _CENTRED * (right - left)
