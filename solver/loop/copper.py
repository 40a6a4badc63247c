"""Inductances between the loops that a placement's capacitors close: near side, passage and far side in series."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.layout.ground_layers import ViaPassage
from geometries.layout.layout import EdgeTerminal, PlanLayout
from geometries.layout.part_bodies import BODY
from geometries.layout.placement_copper import SWITCH, PlacementPlan
from geometries.layout.placements import PlacedLoop
from solver.formulas import ViaField, filaments_partial_mutual, via_field, via_field_plane_matrix
from solver.plan import PlanMeshSettings, PlanSolution, plan_energy, solve_plan
from solver.plan.vias import via_inductances

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CopperLoops:
    """The capacitors' loops, without the capacitors.

    Parameters
    ----------
    placed : PlacedLoop
        The placement.
    plan : PlacementPlan
        Its copper seen from above.
    views : tuple of PlanSolution
        Near side, and far side where a ground layer parts the two.
    inductance : (n, n) array
        Of all copper, bodies and vias [H].
    vias : (n, n) array
        The vias' part of it [H].
    spread : (n, n) array
        How far the mesh lets it be off [H]: each view's own error of its own inductance.
    resistance : (n, n) array
        Of the copper and of bodies as if they were copper [ohm].
    resistance_spread : (n, n) array
        How far mesh and edges let it be off [ohm].
    moments : (n, 3) array
        Magnetic moments per ampere without images [m²].
    """

    placed: PlacedLoop
    plan: PlacementPlan
    views: tuple[PlanSolution, ...]
    inductance: Floats
    vias: Floats
    spread: Floats
    resistance: Floats
    resistance_spread: Floats
    moments: Complexes

    def moved(self, plan: PlacementPlan, placed: PlacedLoop) -> Floats:
        """How the inductances of a slightly changed placement differ from these, at the currents of this one [H].

        Raises
        ------
        MeshError
            If the change is more than a shift of edges.
        """
        pairs = zip(self.views, plan.layouts, strict=True)
        after = _in_series([view.moved(layout) for view, layout in pairs], plan, placed)
        return after - _in_series([view.coarse_inductance for view in self.views], self.plan, self.placed)

    def of_bodies(self, shares: Complexes) -> float:
        """Part of the inductance in the capacitors' bodies and upright ends, at their shares of one ampere [H]."""
        own = (shares if len(view.loops) == len(shares) else np.ones(1) for view in self.views)
        flat = (of_bodies(view, each) for view, each in zip(self.views, own, strict=True) if _bodies(view.layout))
        return math.fsum(sum(each.values()) for each in flat) + energy(_end_caps(self.placed, self.plan), shares)


def solve_copper(plan: PlacementPlan, placed: PlacedLoop, frequency: float, settings: PlanMeshSettings) -> CopperLoops:
    """Solve all views of a placement; a part that all capacitors share adds to every element."""
    size = len(placed.placement.capacitors)
    views = tuple(solve_plan(layout, frequency, settings) for layout in plan.layouts)
    return CopperLoops(
        placed=placed,
        plan=plan,
        views=views,
        inductance=_in_series([view.inductance for view in views], plan, placed),
        vias=_joined([via_energy(view) for view in views], size) + passage_inductance(plan.passage),
        spread=_joined([view.inductance_error * view.inductance for view in views], size),
        resistance=_joined([view.resistance for view in views], size),
        resistance_spread=_joined([view.resistance_error * view.resistance for view in views], size),
        moments=joined_moments([view.copper_moment for view in views], size)
        + _lift_of_switches(views[0], placed)
        + _passage_moment(plan.passage),
    )


def _lift_of_switches(near: PlanSolution, placed: PlacedLoop) -> Complexes:
    """What the height of the switches' current over the copper adds to the moment, (n, 3) [m²].

    Against the capacitor, on the other side of the loop, it flows the other way, and so does its area.
    """
    size, placement = len(placed.placement.capacitors), placed.placement
    moment = np.zeros((size, 3), dtype=complex)
    for port, current in zip(near.layout.cut_ports, near.port_currents, strict=True):
        if port.name.startswith(SWITCH):
            way = np.subtract(port.entry.middle, port.leave.middle)
            across = np.array([-way[1], way[0], 0.0]) * placement.reach_of_switches / np.linalg.norm(way)
            moment += (placement.package.height or 0.0) * np.resize(np.outer(current, across), (size, 3))
    return moment


def _passage_moment(passage: ViaPassage | None) -> Floats:
    """Area that vias enclose between two ground layers, (3,) [m²]: a layer without net current takes nothing of it."""
    if passage is None:
        return np.zeros(3)
    x, y = _passage_field(passage).currents @ np.array(passage.positions)
    return passage.height * np.array([-y, x, 0.0])


def _in_series(matrices: list[Floats], plan: PlacementPlan, placed: PlacedLoop) -> Floats:
    """The views' inductances, the passage between them, and the ends of bodies."""
    size = len(placed.placement.capacitors)
    return _joined(matrices, size) + passage_inductance(plan.passage) + _end_caps(placed, plan)


def _joined(matrices: list[Floats], size: int) -> Floats:
    """Sum of loops that all capacitors share and of each capacitor's own."""
    return sum(
        (each if len(each) == size else np.full((size, size), each[0, 0]) for each in matrices),
        np.zeros((size, size)),
    )


def joined_moments(views: Sequence[Complexes], size: int) -> Complexes:
    """Of all views, (n, 3) [m²]; a far side was solved upside down: its x and y point the other way when z does."""
    turns = [np.ones(3), *(np.array([-1.0, -1.0, 1.0]) for _ in views[1:])]
    return sum(
        (np.resize(view * turn, (size, 3)) for view, turn in zip(views, turns, strict=True)),
        np.zeros((size, 3), dtype=complex),
    )


def via_energy(view: PlanSolution) -> Floats:
    """The vias' part of the inductances: real part of p^H L p with the current of each via per ampere of each loop."""
    if not view.layout.vias:
        return np.zeros_like(view.inductance)
    currents = view.via_currents
    return np.asarray((currents.conj().T @ via_inductances(view.layout) @ currents).real)


def passage_inductance(passage: ViaPassage | None) -> float:
    """Vias between two ground layers, whose images make them endless [H]."""
    if passage is None or not passage.height > 0:
        return 0.0
    return _passage_field(passage).inductance


def _passage_field(passage: ViaPassage) -> ViaField:
    """Current down and up the vias."""
    return via_field(via_field_plane_matrix(passage.height, passage.radius, passage.positions), passage.senses)


def _end_caps(placed: PlacedLoop, plan: PlacementPlan) -> Floats:
    """Of each capacitor's own loop."""
    caps = end_caps(plan.layouts[-1])
    return np.diag([caps.get(f"C{number}", 0.0) for number in range(1, len(placed.placement.capacitors) + 1)])


def _bodies(layout: PlanLayout) -> list[str]:
    """Parts that are a conductor of a layout, by their ports."""
    return [sheet.name.removeprefix(BODY) for sheet in layout.sheets if sheet.name.startswith(BODY)]


def of_bodies(view: PlanSolution, shares: Floats | Complexes) -> dict[str, float]:
    """Part of a view's inductance in each part that is a flat conductor, by its port, without upright ends [H]."""
    found = plan_energy(view.layout, view.coarse, view.frequency, shares)
    stored = {sheet.name: float(np.real(sheet.stored.sum())) / found.stored for sheet in found.sheets}
    return {name: energy(view.inductance, shares) * stored[BODY + name] for name in _bodies(view.layout)}


def end_caps(layout: PlanLayout) -> dict[str, float]:
    """Inductance of the upright ends of each part that is a conductor of a layout, by its port [H].

    Flat strips of width w count as wires of radius w/4, with their images in a plane.
    """
    found = {}
    for port in layout.cut_ports:
        end = port.leave
        if not (end.sheet == BODY + port.name and isinstance(end, EdgeTerminal)):
            continue
        low, high = sorted((layout.level(port.entry), layout.level(end)))
        width = end.line.length
        radius, apart = width / 4, layout.sheet(end.sheet).shape.area / width
        rises = [0.0] if layout.plane is None else [0.0, low + high - 2 * layout.plane.height]
        found[port.name] = math.fsum(
            2 * (own - across)
            for own, across in (
                [filaments_partial_mutual(high - low, high - low, rise, each) for each in (radius, apart)]
                for rise in rises
            )
        )
    return found


def energy(matrix: Floats, shares: Floats | Complexes) -> float:
    """Inductance that stands for a matrix of them [H] with the loops' shares of one ampere."""
    return float((shares.conj() @ matrix @ shares).real)
