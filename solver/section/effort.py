"""What a mesh will take, known before it is made: unknowns and memory, from the nodes on the conductors' surfaces."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

from geometries.section.outline import Circle, Polygon, Rectangle, Ring
from geometries.section.section import CrossSection, Region, View
from solver.errors import MeshError

FINEST = 0.5e-9
"""Smallest edge, wall and clearance that is meshed [m]: hardly more than the lattice constant of copper, 0.361 nm (CRC
Handbook of Chemistry and Physics, from memory). Checks against sheets without thickness come close to it."""

MOST_CORNERS = 6000
"""Corners of all outlines together; every node of the mesh is measured against each of them."""

MOST_UNKNOWNS = 500_000
"""Of one section."""

BYTES_PER_UNKNOWN = 5500
"""Largest memory of mesh, matrices, factors, bounds and broadband model; measured with 135,000 unknowns of
fourth order."""

ORDERS = {View.SECTION: 4, View.AXISYMMETRIC: 3}
"""Of the elements: in the section view the fourth reaches any tolerance in half to four fifths of the third's time."""

_AIR_TRIANGLES = 8.0
"""Triangles outside the conductors, per node on their surfaces and reciprocal growth; measured 5 to 17."""

_ESTIMATE_ERROR = 3.0
"""An estimate this far above the cap leaves no doubt; what lies between is counted after meshing."""


def require_resolvable(section: CrossSection) -> None:
    """Refuse a section with an edge, wall or clearance that no mesh is made for.

    Raises
    ------
    MeshError
        With the regions and the dimension.
    """
    for region in section.regions:
        size = _finest_edge(region)
        if size < FINEST:
            raise MeshError(
                f"region {region.name!r} has an edge, diameter or wall of {size:.3g} m, which is "
                "smaller than an atom of copper is apart from the next: check the dimension and its unit"
            )
    for one, other in combinations(section.regions, 2):
        clearance = float(one.outline.shape.distance(other.outline.shape))
        if clearance < FINEST:
            raise MeshError(
                f"regions {one.name!r} and {other.name!r} lie {clearance:.3g} m apart, less than one "
                "atom of copper from the next: check the dimension and its unit, or draw joined copper as one polygon"
            )


def _finest_edge(region: Region) -> float:
    """Shortest edge, diameter or wall of a conductor [m]."""
    outline = region.outline
    if isinstance(outline, Circle):
        return 2 * outline.radius
    if isinstance(outline, Ring):
        return outline.outer_radius - outline.inner_radius
    corners = outline.vertices
    return min(math.dist(corner, after) for corner, after in zip(corners, (*corners[1:], corners[0]), strict=True))


def require_few_corners(name: str, sides: Iterable[tuple[Region, int]]) -> None:
    """Refuse outlines of too many corners; `sides` gives the sides of the polygon that stands for a round one.

    Raises
    ------
    MeshError
        With the region that has most of them.
    """
    count = {region.name: max(each, _corner_count(region)) for region, each in sides}
    if sum(count.values()) > MOST_CORNERS:
        most = max(count, key=lambda region: count[region])
        raise MeshError(
            f"section {name!r} takes {sum(count.values())} corners, {count[most]} of them for region {most!r}; at most "
            f"{MOST_CORNERS} are meshed: simplify its outline, or widen the narrowest clearance of a round one"
        )


def _corner_count(region: Region) -> int:
    outline = region.outline
    return len(outline.vertices) if isinstance(outline, Rectangle | Polygon) else 0


def estimated_triangles(layered_triangles: int, surface_nodes: int, growth: float) -> float:
    """Triangles of a section before it is meshed, within a factor of two.

    Parameters
    ----------
    layered_triangles : int
        In the layers of the conductors.
    surface_nodes : int
        Nodes on the conductors' surfaces, and on the axis of an axisymmetric view.
    growth : float
        Growth of element size per distance from the nearest corner [1].
    """
    return layered_triangles + _AIR_TRIANGLES * surface_nodes / growth


def require_affordable(section: CrossSection, triangles: float, *, counted: bool) -> None:
    """Refuse a section that takes more memory than is spent on one.

    Parameters
    ----------
    section : CrossSection
        What is meshed.
    triangles : float
        How many it takes.
    counted : bool
        Whether they were counted, or estimated before meshing.

    Raises
    ------
    MeshError
        With unknowns, memory and what lowers them.
    """
    unknowns = ORDERS[section.view] ** 2 / 2 * triangles
    if unknowns <= MOST_UNKNOWNS * (1.0 if counted else _ESTIMATE_ERROR):
        return
    raise MeshError(
        f"section {section.name!r} takes about {unknowns:.2g} unknowns and {unknowns * BYTES_PER_UNKNOWN / 1e9:.2g} "
        f"GB; at most {MOST_UNKNOWNS} are solved for: ask for a wider tolerance or lower frequencies, or simplify the "
        "outlines"
    )
