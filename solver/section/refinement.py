"""Refine the mesh where the gap between the two bounds comes from, until it is as small as asked.

The gap is a sum over triangles. What lies round the corners of a conductor is closed by finer corners there, the rest
by slower growth of the elements; both are handed to the mesh generator, which meshes anew, so that layers and grading
stay.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri

from geometries.section.outline import Polygon, Rectangle
from geometries.section.section import CrossSection, Region
from solver.errors import SolutionError
from solver.section.boundary_layers import MeshSettings, smallest_dimension
from solver.section.bounds import BoundedSection, bracket_dc, bracket_perfect
from solver.section.effort import ORDERS
from solver.section.fields import FieldSolution, SectionSystem, assemble_section, solve_at_dc, solve_perfect_conductor
from solver.section.mesh import mesh_section
from solver.section.results import InductanceBracket, RefinementStep

COPPER_ONLY = MeshSettings(growth=1.0, corner_fraction=0.2, layer_growth=1.2)
"""First mesh where the field in the air is read from the currents in the conductors, as in the section view."""

_MOST_STEPS = 10
_CORNER_ZONE = 0.5
_FINER_CORNER = 0.2
_SLOWER_GROWTH = 0.75
_SHARE = 0.15


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RefinedSection:
    """A section meshed to a tolerance.

    Parameters
    ----------
    system : SectionSystem
        Assembled on the last mesh.
    static, perfect : FieldSolution
        The two limits on it.
    dc_bracket, perfect_bracket : InductanceBracket
        Their bounds.
    settings : MeshSettings
        Of the last mesh.
    steps : tuple of RefinementStep
        The way there.
    """

    system: SectionSystem
    static: FieldSolution
    perfect: FieldSolution
    dc_bracket: InductanceBracket
    perfect_bracket: InductanceBracket
    settings: MeshSettings
    steps: tuple[RefinementStep, ...]


def refine_section(
    section: CrossSection, *, highest_frequency: float, tolerance: float, settings: MeshSettings | None = None
) -> RefinedSection:
    """Mesh a section so finely that both brackets of the first loop's inductance are narrower than a tolerance.

    Parameters
    ----------
    section : CrossSection
        What to mesh.
    highest_frequency : float
        Highest frequency that will be solved [Hz].
    tolerance : float
        Largest relative gap between upper and lower bound, at DC and for perfect conductors, 1e-7 to 0.1.
    settings : MeshSettings, optional
        First mesh.

    Returns
    -------
    RefinedSection

    Raises
    ------
    ValueError
        If the tolerance is outside its range.
    SolutionError
        If ten meshes do not reach it.
    """
    if not 1e-7 <= tolerance <= 0.1:
        raise ValueError(f"tolerance is {tolerance:g}; it must lie between 1e-7 and 0.1")
    current = settings or COPPER_ONLY
    steps: list[RefinementStep] = []
    while len(steps) < _MOST_STEPS:
        system = assemble_on(section, highest_frequency, current)
        static, perfect = solve_at_dc(system), solve_perfect_conductor(system)
        dc, ideal = bracket_dc(static), bracket_perfect(perfect)
        gaps = (dc.bracket.relative_gap, ideal.bracket.relative_gap)
        steps.append(RefinementStep(unknowns=int(system.basis.N), dc_gap=gaps[0], perfect_gap=gaps[1]))
        if max(gaps) <= tolerance:
            return RefinedSection(
                system=system,
                static=static,
                perfect=perfect,
                dc_bracket=dc.bracket,
                perfect_bracket=ideal.bracket,
                settings=current,
                steps=tuple(steps),
            )
        current = _refine(current, section, system.meshed.mesh, dc if gaps[0] > gaps[1] else ideal)
    raise SolutionError(
        f"section {section.name!r}: after {_MOST_STEPS} meshes the bounds still differ by {max(gaps):.1e}, more than "
        f"the tolerance of {tolerance:.1e}; ask for a wider tolerance"
    )


def assemble_on(section: CrossSection, highest_frequency: float, settings: MeshSettings) -> SectionSystem:
    """A section meshed as settings say, with elements of the order that is quickest for its view."""
    meshed = mesh_section(section, highest_frequency=highest_frequency, settings=settings)
    return assemble_section(meshed, order=ORDERS[section.view])


def _refine(settings: MeshSettings, section: CrossSection, mesh: MeshTri, bounded: BoundedSection) -> MeshSettings:
    """Finer corners where they hold a share of the gap, slower growth if the rest does."""
    corners = {region.name: _near_corners(region, mesh, bounded.elements) for region in section.regions}
    total = bounded.contributions.sum()
    finer = dict(settings.finer_corners)
    for name, near in corners.items():
        if bounded.contributions[near].sum() > _SHARE * total:
            finer[name] = finer.get(name, 1.0) * _FINER_CORNER
    rest = ~np.any(list(corners.values()), axis=0)
    slower = bounded.contributions[rest].sum() > _SHARE * total
    return replace(
        settings,
        finer_corners=tuple(finer.items()),
        growth=settings.growth * (_SLOWER_GROWTH if slower else 1.0),
    )


def _near_corners(region: Region, mesh: MeshTri, elements: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether each triangle lies within half the conductor's smallest dimension of one of its corners."""
    if not isinstance(region.outline, Rectangle | Polygon):
        return np.zeros(len(elements), dtype=bool)
    centres = mesh.p[:, mesh.t[:, elements]].mean(axis=1).T
    offset = centres[:, None, :] - np.asarray(region.outline.vertices)[None, :, :]
    reach = _CORNER_ZONE * smallest_dimension(region)
    return np.asarray((np.hypot(offset[..., 0], offset[..., 1]) < reach).any(axis=1))
