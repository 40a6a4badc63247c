"""What the plan view yields."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.layout.layout import CopperSheet, PlanLayout
from solver.plan.moves import MeshedCurrents, moved_inductances

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetDensity:
    """Current density on one sheet.

    Parameters
    ----------
    sheet : CopperSheet
        The copper.
    points : (n, 2) array
        Corners of its triangles [m].
    triangles : (m, 3) array
        Indices into `points`.
    density : (loops, m, 2) array
        Surface current density in each triangle per ampere of each loop [A/m], peak phasors.
    """

    sheet: CopperSheet
    points: Floats
    triangles: NDArray[np.int64]
    density: Complexes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanSolution:
    """Impedance and currents of a layout at one frequency or in one limit.

    Parameters
    ----------
    layout : PlanLayout
        What was solved.
    frequency : float
        Frequency [Hz]; 0 is DC, infinite the limit of perfect conductors.
    loops : tuple of str
        Each driven loop by the name of its port: the ring, the port that alone carries its current, or, where several
        parts lead the current of the first port on, one loop per such part.
    inductance : (loops, loops) array
        Between the loops [H], symmetric. Parts that close the ports count as nothing.
    resistance : (loops, loops) array
        Between the loops [ohm]; zero for perfect conductors.
    inductance_error : float
        Estimated relative error of the inductances from the mesh, and from current that crosses vias' footprints [1].
    resistance_error : float
        The same of the resistances, with what a thin skin may lose otherwise at edges and on single sheets [1].
    port_currents : (ports with a cut, loops) array
        Current through each port per ampere of each loop [1].
    via_currents : (vias, loops) array
        Current down each via per ampere of each loop [1].
    sheets : tuple of SheetDensity
        Where the current flows.
    moment : (loops, 3) array
        Net magnetic moment with all images and eddy currents per ampere [m²].
    copper_moment : (loops, 3) array
        The same of the described copper alone, without images [m²].
    unknowns : int
        Number of currents solved for.
    coarse : MeshedCurrents
        The currents on the coarser mesh, from which derivatives are taken.
    coarse_inductance : (loops, loops) array
        The inductances on it [H].

    Examples
    --------
    >>> from geometries import MM, CopperSheet, PlanLayout, Rectangle, RingPort
    >>> from solver import PlanMeshSettings, solve_plan
    >>> outer = Rectangle(left=0.0, right=4 * MM, bottom=0.0, top=4 * MM)
    >>> inner = Rectangle(left=1 * MM, right=3 * MM, bottom=1 * MM, top=3 * MM)
    >>> copper = CopperSheet(name="top", outline=outer, height=0.0, holes=(inner,))
    >>> port = RingPort(name="loop", sheet="top", inside=(2 * MM, 2 * MM))
    >>> coarse = PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0)
    >>> solution = solve_plan(PlanLayout(name="free ring", sheets=(copper,), ports=(port,)), 100e6, coarse)
    >>> solution.loops, solution.inductance.shape
    (('loop',), (1, 1))
    """

    layout: PlanLayout
    frequency: float
    loops: tuple[str, ...]
    inductance: Floats
    resistance: Floats
    inductance_error: float
    resistance_error: float
    port_currents: Floats
    via_currents: Complexes
    sheets: tuple[SheetDensity, ...]
    moment: Complexes
    copper_moment: Complexes
    unknowns: int
    coarse: MeshedCurrents
    coarse_inductance: Floats

    @property
    def impedance(self) -> Complexes:
        """R + j omega L [ohm]; the resistance alone at 0 Hz. Not defined for perfect conductors."""
        if math.isinf(self.frequency):
            raise ValueError("perfect conductors have an inductance, but no impedance at an infinite frequency")
        return self.resistance + 2j * math.pi * self.frequency * self.inductance

    def moved(self, layout: PlanLayout) -> Floats:
        """Inductances between the loops of a slightly changed layout, at the currents of this one.

        Parameters
        ----------
        layout : PlanLayout
            The same copper, terminals and posts at other coordinates.

        Returns
        -------
        (loops, loops) array
            On the coarser mesh [H]: for the difference from `coarse_inductance`, which is right to first order.

        Raises
        ------
        MeshError
            If the change is more than a shift of edges, or too large for the mesh.
        """
        return moved_inductances(self.layout, layout, self.coarse, self.frequency)

    @property
    def loop_inductance(self) -> float:
        """Inductance of the only loop, or of all loops in parallel by their inductances alone [H]."""
        return float(1 / np.linalg.inv(self.inductance).sum())
