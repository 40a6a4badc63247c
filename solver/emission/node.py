"""The switch node as an electric dipole: its copper over the nearest ground layer, and the inductor's body."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometries.operation.product import Board, SwitchNode
from solver.emission.dipole import DipoleKind, DipoleMoment, added_moments
from solver.formulas import (
    EPSILON_0,
    patch_dipole_area,
    patch_level_dipole_area,
    patch_stray_capacitance,
)

COPPER_BAND = 1.0
"""What the copper's part is uncertain by [dB]: outline and fringe, 12 % (common practice)."""

BODY_BAND = 6.0
"""What the inductor's part is uncertain by [dB]: which end of the winding is outside decides, a factor of 2."""

BODY_AREA = 2.75
"""Area by which an inductor's body counts, over its footprint: 2.5 to 3 for bodies half as high as wide (estimate)."""

BODY_POTENTIAL = 0.5
"""Mean potential of the inductor's winding over the switch node's [1]; its other end is quiet."""

_WIDEST = 100.0
_NARROWEST = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundBelow:
    """The ground layer under the switch node.

    Parameters
    ----------
    depth : float
        Below the node's copper [m]; infinite where there is none.
    relative_permittivity : float
        Of the dielectric between.
    """

    depth: float
    relative_permittivity: float


def copper_area(node: SwitchNode, ground: GroundBelow) -> float:
    """Area by which the node's copper is an electric dipole [m²], with its fringes where they are known.

    Notes
    -----
    Fringes are left out where a side is longer than 100 depths (they add less than 4 %) or shorter than 4 (there the
    edge of the plane and the parts around decide), and without a ground layer, whose depth is infinite then.
    """
    sides = (node.width, node.length)
    area = node.width * node.length
    if not _NARROWEST * ground.depth < min(sides) <= max(sides) <= _WIDEST * ground.depth:
        return area
    return patch_dipole_area(node.length, node.width, ground.depth, ground.relative_permittivity)


def node_moment(node: SwitchNode, board: Board, ground: GroundBelow) -> DipoleMoment:
    """Electric dipole of the switch node per volt.

    Parameters
    ----------
    node : SwitchNode
        Copper and inductor.
    board : Board
        Over whose ground they stand; it decides the part along the board.
    ground : GroundBelow
        The nearest ground layer.

    Returns
    -------
    DipoleMoment
        Per volt of the switch node [C m/V].

    Notes
    -----
    No ground layer changes it: over a near plane it depends on neither height nor permittivity. The part along the
    board is that of a node off the middle of a disc of the board's area, by the charge that it draws there.

    Examples
    --------
    >>> node = SwitchNode(width=10e-3, length=10e-3)
    >>> below = GroundBelow(depth=0.2e-3, relative_permittivity=4.4)
    >>> moment = node_moment(node, Board(width=80e-3, length=60e-3), below)
    >>> f"{moment.magnitude / EPSILON_0 * 1e6:.0f} mm²"
    '107 mm²'
    """
    copper = _dipole(copper_area(node, ground), node, board, COPPER_BAND, "switch node's copper")
    if node.inductor_footprint == 0:
        return copper
    area = BODY_AREA * BODY_POTENTIAL * node.inductor_footprint
    body = _dipole(area, node, board, BODY_BAND, "inductor's body")
    return added_moments([copper, body], "switch node's copper and the inductor's body")


def stray_capacitance(node: SwitchNode, board: Board, ground: GroundBelow) -> float:
    """Capacitance of switch node and inductor past the board to far away, per volt of the node [F].

    Examples
    --------
    >>> node = SwitchNode(width=10e-3, length=10e-3)
    >>> below = GroundBelow(depth=0.2e-3, relative_permittivity=4.4)
    >>> found = stray_capacitance(node, Board(width=80e-3, length=60e-3), below)
    >>> f"{found * 1e15:.1f} fF"
    '15.4 fF'
    """
    area = copper_area(node, ground) + BODY_AREA * BODY_POTENTIAL * node.inductor_footprint
    return patch_stray_capacitance(area, node.offset, board.radius)


def _dipole(area: float, node: SwitchNode, board: Board, band: float, source: str) -> DipoleMoment:
    """A patch of an effective area at the node's place."""
    level = EPSILON_0 * patch_level_dipole_area(area, node.offset, board.radius)
    turn = math.atan2(node.offset_along, node.offset_across)
    return DipoleMoment(
        kind=DipoleKind.ELECTRIC,
        across=level * math.cos(turn),
        along=level * math.sin(turn),
        normal=EPSILON_0 * area,
        band=band,
        source=source,
    )
