r"""The voltage along a layout's ground, which drives cables: net partial inductance from edge to edge.

On a conductor :math:`E = -\nabla\varphi - j\omega A` is next to nothing, so that the voltage between two of its places
is :math:`j\omega\int A\,\mathrm{d}l` between them, whatever the way. A is summed over all currents of the layout, with
their images in an endless plane.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString

from geometries.layout.layout import MIRROR, CopperSheet, PlanLayout, Terminal
from geometries.layout.part_bodies import BODY, FAR_END
from solver.plan import PlanSolution
from solver.plan.vector_potential import fine_currents, vector_potential

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_POINTS = 24
"""Of Gauss's rule on the straight line between the ends."""

LEAST_CARRIED = 0.05
"""A sheet to which vias bring less of the loop's current does not carry the return [1]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundDrop:
    """Which copper drives cables, between which two places on it (2, 2) [m], and its net partial inductance [H]."""

    copper: str
    ends: Floats
    inductance: float


def ground_drop(driven: PlanSolution) -> GroundDrop | None:
    """Net partial inductance of a layout's ground along the line from the switches to the capacitors.

    Parameters
    ----------
    driven : PlanSolution
        For one ampere through all loops of a layout together.

    Returns
    -------
    GroundDrop, optional
        Of the lowest copper that carries the return. None where the layout has no switches and capacitors (a ring), or
        its ground is tied to an endless plane, along which there is no voltage.

    Notes
    -----
    Ground is that copper of the switches which has the larger area with all that vias join to it; of two as large, the
    one at which the current leaves. Vertical currents and open ports are left out.
    """
    layout = driven.layout
    parts = list(dict.fromkeys(port.name.removesuffix(FAR_END) for port in layout.cut_ports))
    nets = [_net(layout, end.sheet) for end in reversed(_ends(layout, parts[0]))] if parts else []
    if len(parts) < 2 or MIRROR in set().union(*nets):
        return None
    net = max(nets, key=lambda names: sum(layout.sheet(name).shape.area for name in names))
    switches, *others = ([end for end in _ends(layout, name) if end.sheet in net] for name in parts)
    if not switches or not all(others):
        return None
    start, stop = _middle(switches), np.mean([_middle(each) for each in others], axis=0)
    carrying = [*(layout.sheet(each.sheet) for each in switches), *_carrying(layout, driven.via_currents[:, 0], net)]
    copper = min(carrying, key=lambda sheet: sheet.height)
    ends = np.array(_across(copper, start, stop))
    return GroundDrop(copper=copper.name, ends=ends, inductance=inductance_along(driven, copper.name, ends))


def inductance_along(driven: PlanSolution, copper: str, ends: Floats) -> float:
    """Net partial inductance between two places on a layout's copper (2, 2) [m], at these currents [H]."""
    return abs(_flux(driven, driven.layout.sheet(copper).mid_height, *ends))


def _ends(layout: PlanLayout, part: str) -> list[Terminal]:
    """Where a part meets copper: where current comes in, and where it leaves."""
    names = {part, part + FAR_END}
    ends = [(port.entry, port.leave) for port in layout.cut_ports if port.name in names]
    found = [end for pair in zip(*ends, strict=True) for end in pair]
    return [end for end in found if not end.sheet.startswith(BODY)]


def _net(layout: PlanLayout, sheet: str) -> set[str]:
    """All copper that vias join to a sheet, the endless plane among it."""
    net, before = {sheet}, 0
    while len(net) > before:
        before = len(net)
        for via in layout.vias:
            if {via.upper, via.lower} & net - {MIRROR}:
                net |= {via.upper, via.lower}
    return net


def _carrying(layout: PlanLayout, currents: Complexes, net: set[str]) -> list[CopperSheet]:
    """Sheets of a net to which vias bring some of the loop's current."""
    brought = dict.fromkeys(net, 0.0)
    for via, current in zip(layout.vias, currents, strict=True):
        for name in {via.upper, via.lower} & net:
            brought[name] += abs(complex(current))
    return [layout.sheet(name) for name, current in brought.items() if current > LEAST_CARRIED]


def _middle(ends: Sequence[Terminal]) -> Floats:
    return np.asarray(np.mean([end.middle for end in ends], axis=0))


def _across(sheet: CopperSheet, start: Floats, stop: Floats) -> tuple[Floats, Floats]:
    """Where the straight line through two places comes on a sheet, and where it leaves it for good [m]."""
    way = (stop - start) / max(float(np.linalg.norm(stop - start)), 1e-9)
    far = sheet.shape.length * way
    crossed = shapely.get_coordinates(sheet.shape.intersection(LineString([start - far, stop + far])))
    places = crossed[np.argsort(crossed @ way)] if len(crossed) > 1 else np.array([start, stop])
    return places[0], places[-1]


def _flux(driven: PlanSolution, height: float, start: Floats, stop: Floats) -> complex:
    """Integral of the vector potential per ampere over a straight line [H]."""
    nodes, weights = np.polynomial.legendre.leggauss(_POINTS)
    points = (start + stop) / 2 + nodes[:, None] * (stop - start) / 2
    layers, plane = list(fine_currents(driven, np.ones(1))), driven.layout.plane
    images = [] if plane is None else [layer.mirrored(plane.height) for layer in layers]
    potential = vector_potential([*layers, *images], np.column_stack([points, np.full(_POINTS, height)]))
    return complex(weights @ potential @ (stop - start) / 2)
