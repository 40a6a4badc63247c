"""Circles and rings in a mesh: arcs of parabolas between nodes on the circle, which enclose its area.

A triangle with an edge on a circle is curved: its points are quadratic functions of those of a straight triangle, and
the middle of that edge lies on the circle through its ends. With 2a the angle between two nodes at radius R, such an
arc has the radius R (1 - (1 - cos a)² t² (1 - t²) / 2), t from -1 to 1: it departs from a circle by no more than
(1 - cos a)²/8 of R, 2e-6 of it with 32 arcs. R is taken so that the arcs together enclose the circle's area; hence the
resistance at DC is exact, and what the outline's departures do to the inductance is of second order in them.

Within a conductor all edges between two neighbouring rays from the centre are moved in one and the same direction.
A triangle's area then varies linearly over it, so that the bounds carry an even current density exactly
(:mod:`solver.section.bounds`).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri

from geometries.section.outline import Circle, Ring
from geometries.section.section import CrossSection
from solver.section.element_size import Points
from solver.section.elements import CurvedTriangles


def circle_nodes(centre: tuple[float, float], radius: float, sides: int) -> Points:
    """Nodes between which parabolic arcs enclose the area of a circle, (n, 2) [m]."""
    half = math.pi / sides
    triangle = math.sin(half) * math.cos(half)
    segment = 4 / 3 * math.sin(half) * (1 - math.cos(half))
    scaled = radius * math.sqrt(half / (triangle + segment))
    turns = 2 * half * np.arange(sides)
    return np.column_stack([centre[0] + scaled * np.cos(turns), centre[1] + scaled * np.sin(turns)])


def with_round_outlines(section: CrossSection, mesh: MeshTri) -> MeshTri:
    """Curve the triangles in and along circles and rings; a mesh without any stays as it is.

    Parameters
    ----------
    section : CrossSection
        What was meshed.
    mesh : MeshTri
        Its triangles, straight, with every region a subdomain; nodes on circles as :func:`circle_nodes` has them.

    Returns
    -------
    MeshTri
        The same triangles, subdomains and borders.
    """
    outlines = {each.name: each.outline for each in section.regions if isinstance(each.outline, Circle | Ring)}
    if not outlines:
        return mesh
    curved = CurvedTriangles.from_mesh(mesh)
    places = curved.doflocs.copy()
    for name, outline in outlines.items():
        edges = np.unique(mesh.t2f[:, mesh.subdomains[name]])
        places[:, curved.dofs.facet_dofs[0, edges]] += _bulge(outline, mesh.p[:, mesh.facets[:, edges]])
    moved = replace(curved, doflocs=places)
    return moved.with_subdomains(mesh.subdomains).with_boundaries(mesh.boundaries)


def _bulge(outline: Circle | Ring, ends: NDArray[np.float64]) -> NDArray[np.float64]:
    """By how much the middles of edges with given ends, (2, 2, m), are moved outwards, (2, m) [m].

    Everywhere in a ring by the rise of the arc through both ends; in a circle less and less down to half its radius.
    """
    offset = ends - np.array(outline.centre)[:, None, None]
    radius = np.linalg.norm(offset, axis=0)
    middle = (offset / np.maximum(radius, np.finfo(float).tiny)).sum(axis=1) / 2
    cosine = np.linalg.norm(middle, axis=0)  # of half the angle between the ends
    part = 1.0 if isinstance(outline, Ring) else np.clip(2 * radius / radius.max() - 1, 0, 1)
    rise = (part * radius).mean(axis=0) * (1 - cosine)
    return np.asarray(middle / np.maximum(cosine, np.finfo(float).tiny) * rise)
