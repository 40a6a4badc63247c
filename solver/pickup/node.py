"""Capacitance of the switch node's copper: to everything around it, and of its whole area."""

from __future__ import annotations

from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from geometries.section.section import CrossSection, Region
from geometries.section.victims import VictimSetup
from solver.constants import EPSILON_0
from solver.pickup.results import NodeReading
from solver.section.results import CapacitanceMatrix


def read_node(pickup: VictimSetup, capacitance: CapacitanceMatrix) -> NodeReading | None:
    """Read the switch node's capacitances off the matrix.

    Its area holds the plate over the nearest copper that lies under or over all of its width, and a fringe along all
    four edges like that of the section's two. Without such copper the total per length counts for its length alone.

    Parameters
    ----------
    pickup : VictimSetup
        The section and what is called the switch node in it.
    capacitance : CapacitanceMatrix
        Of the section.

    Returns
    -------
    NodeReading or None
        None without a switch node.
    """
    node = pickup.switch_node
    if node is None:
        return None
    section = pickup.section
    regions = [region for region in section.regions if region.group == node.conductor]
    plate = sum(_plate(section, region) for region in regions)
    width = sum(region.outline.bounds[2] - region.outline.bounds[0] for region in regions)
    total = capacitance.total(node.conductor)
    edges = node.length + (width if plate > 0 else 0.0)
    others = [group for group in capacitance.groups if group != node.conductor]
    return NodeReading(
        shares=tuple((group, capacitance.between(node.conductor, group)) for group in others),
        total=total,
        plate=plate,
        width=width,
        length=node.length,
        area_total=plate * node.length + (total - plate) / 2 * 2 * edges,
    )


def _plate(section: CrossSection, region: Region) -> float:
    """Capacitance per length of a plate as wide as a conductor over the nearest copper that spans it [F/m]."""
    left, bottom, right, top = region.outline.bounds
    gaps = []
    for other in section.regions:
        there = other.outline.bounds
        if other.group != region.group and there[0] <= left and right <= there[2]:
            gaps += [(there[3], bottom)] if there[3] <= bottom else [(top, there[1])] if there[1] >= top else []
    if not gaps:
        return 0.0
    start, stop = min(gaps, key=lambda gap: gap[1] - gap[0])
    return EPSILON_0 * (right - left) / _electric_thickness(section, (left + right) / 2, start, stop)


def _electric_thickness(section: CrossSection, x: float, start: float, stop: float) -> float:
    """Sum of thickness over permittivity along an upright line [m]."""
    line, taken = LineString([(x, start), (x, stop)]), Polygon()
    total, covered = 0.0, 0.0
    visible: BaseGeometry = taken
    for dielectric in section.dielectrics:
        length = line.intersection(dielectric.outline.shape.difference(visible)).length
        total += length / dielectric.relative_permittivity
        covered += length
        visible = visible.union(dielectric.outline.shape)
    return total + max(stop - start - covered, 0.0)
