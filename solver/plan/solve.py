"""Solve a layout: mesh it, assemble it, find the currents that the driven loops set up, read off what they yield."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from geometries.layout.layout import Faces, PadTerminal, PlanLayout, Side
from solver.errors import SolutionError, memory_failures_reported
from solver.formulas import MU_0
from solver.plan.basis import FaceCurrents, PlanBasis, plan_basis
from solver.plan.branches import carrying_terminals
from solver.plan.cost import PlanCost, machine_memory, plan_cost, require_memory
from solver.plan.grid import grid_over
from solver.plan.joined import leaving_signs
from solver.plan.krylov import Impedances, driven_currents
from solver.plan.meshing import MeshedTerminal, PlanMeshSettings, SheetMesh, mesh_layout, pad_extent
from solver.plan.metal import Squares, face_impedances, metal_impedances, square_matrices, via_impedances
from solver.plan.moves import MeshedCurrents, Walls, side_walls
from solver.plan.near import Cloud
from solver.plan.operator import (
    Coupling,
    Inductances,
    grid_step,
    image_coupling,
    image_distances,
    inductance_operator,
    joined_triangles,
    plan_inductances,
)
from solver.plan.rims import skins, thin_skin
from solver.plan.solution import PlanSolution, SheetDensity
from solver.section.linear_solver import one_thread

Numbers = NDArray[np.inexact]

_OF_COARSER = 0.3
"""Part of a solution's time that the coarser mesh takes."""

_FLOOR = 2e-4
"""Relative error that no mesh takes off: that of the sums, and of curved edges as polygons."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trend:
    """What the change from the coarser mesh tells about the finer one, measured on converged layouts (docs/method.md).

    Parameters
    ----------
    carried : float
        Part of the change by which the finer mesh's value is carried on.
    left_over : float
        Part that may be left over to either side.
    """

    carried: float
    left_over: float

    def beyond(self, coarse: NDArray[np.float64], fine: NDArray[np.float64]) -> NDArray[np.float64]:
        """The value that both lead to."""
        return fine + self.carried * (fine - coarse)


_EDGES = _Trend(carried=0.42, left_over=0.2)
"""Edges alone, of rings and of strips from end to end: 0.27 to 0.6 of the change was missing."""

_PADS = _Trend(carried=0.95, left_over=0.6)
"""With pads or posts, around which more is missing: 0.6 to 1.2 of the change."""

_SINGLE_LOSS = {Faces.JOINED: 0.0, Faces.BOTH: 0.5, Faces.ONE: 0.2}
"""What a thin skin does to a single sheet's own loss, at most, that is not in it: which face carries the current, and
how it crowds at the edges (validation/plan/test_plan_long_strips.py)."""

_PLATE_LOSS = 5e-3
"""What is lacking as the skin comes in: impedances of a plate hold for fields that change little over its thickness."""

_LOSSES = _Trend(carried=1.1, left_over=0.5)
"""Of the resistance, whose error at corners and contacts is of first order: 0.9 to 1.5 of the change at DC."""

_RIM_LOSSES = _Trend(carried=0.42, left_over=0.5)
"""Of that of a thin skin without pads and posts: layers along rims thicker than the skin miss a logarithm of both, 0.2
to 0.7 of the change on strips 3 and 10 mm wide."""


def solve_plan(layout: PlanLayout, frequency: float, settings: PlanMeshSettings | None = None) -> PlanSolution:
    """Inductance, resistance and currents of a layout seen from above.

    Parameters
    ----------
    layout : PlanLayout
        Copper, ports, vias and plane.
    frequency : float
        Frequency [Hz], >= 0. At 0 the currents follow the resistances alone, at ``math.inf`` the inductances alone.
    settings : PlanMeshSettings, optional
        How fine; the default suits 0.5 % in inductance.

    Returns
    -------
    PlanSolution
        Inductances and resistances are extrapolated from two meshes; all else is that of the finer one.

    Raises
    ------
    ValueError
        If the frequency is negative.
    MeshError
        If the copper cannot be meshed.
    SolutionError
        If a mirror plane of metal is to carry direct current, the solution would not fit into memory, or it is not to
        be trusted.

    Examples
    --------
    >>> from geometries import MM, CopperSheet, MirrorPlane, PlanLayout, Rectangle, RingPort
    >>> from solver import PlanMeshSettings, solve_plan
    >>> frame = Rectangle(left=0.0, right=5 * MM, bottom=0.0, top=3 * MM)
    >>> hole = Rectangle(left=1 * MM, right=4 * MM, bottom=1 * MM, top=2 * MM)
    >>> layout = PlanLayout(
    ...     name="ring over a plane",
    ...     sheets=(CopperSheet(name="top", outline=frame, height=0.2 * MM, holes=(hole,)),),
    ...     ports=(RingPort(name="loop", sheet="top", inside=(2 * MM, 1.5 * MM)),),
    ...     plane=MirrorPlane(height=0.0),
    ... )
    >>> coarse = PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0)
    >>> f"{solve_plan(layout, 100e6, coarse).loop_inductance * 1e9:.1f} nH"
    '1.6 nH'
    """
    return solve_plan_over(layout, (frequency,), settings)[0]


Tell = Callable[[float], None]
"""Told the part of the work that is done."""


def _tell_nobody(part: float) -> None:
    """Where nobody waits."""


def solve_plan_over(
    layout: PlanLayout,
    frequencies: Sequence[float],
    settings: PlanMeshSettings | None = None,
    tell: Tell = _tell_nobody,
) -> tuple[PlanSolution, ...]:
    """The same at several frequencies, for which the copper is meshed and its inductances are summed only once."""
    for frequency in frequencies:
        _require_frequency(layout, frequency)
    settings = settings or PlanMeshSettings()
    with one_thread(), memory_failures_reported():
        basis = plan_basis(layout, mesh_layout(layout, settings))
        require_memory(layout.name, basis_cost(basis, len(frequencies)), machine_memory())
        coarse = _solved_over(_coarser_system(layout, settings), frequencies, lambda part: tell(_OF_COARSER * part))
        fine = _solved_over(
            _summed(layout, basis), frequencies, lambda part: tell(_OF_COARSER + (1 - _OF_COARSER) * part)
        )
    return tuple(
        _solution(layout, frequency, rough, exact, _walls(layout, frequency, rough))
        for frequency, rough, exact in zip(frequencies, coarse, fine, strict=True)
    )


def coarser_plan_over(
    layout: PlanLayout, frequencies: Sequence[float], settings: PlanMeshSettings | None = None
) -> tuple[PlanSolution, ...]:
    """A layout at several frequencies on the coarser mesh alone: for how its currents change with frequency.

    Parameters
    ----------
    layout, frequencies, settings
        As for :func:`solve_plan_over`.

    Returns
    -------
    tuple of PlanSolution
        Nothing is carried on from one mesh to another, and what walls add is left out; what is known of
        errors does not hold that of the mesh.

    Examples
    --------
    >>> from geometries import MM, CopperSheet, PlanLayout, Rectangle, RingPort
    >>> from solver.plan import coarser_plan_over
    >>> frame = Rectangle(left=0.0, right=5 * MM, bottom=0.0, top=3 * MM)
    >>> hole = Rectangle(left=1 * MM, right=4 * MM, bottom=1 * MM, top=2 * MM)
    >>> sheet = CopperSheet(name="top", outline=frame, height=0.2 * MM, holes=(hole,))
    >>> port = RingPort(name="loop", sheet="top", inside=(2 * MM, 1.5 * MM))
    >>> layout = PlanLayout(name="ring", sheets=(sheet,), ports=(port,))
    >>> low, high = (abs(each.copper_moment[0, 2]) for each in coarser_plan_over(layout, [1e6, 1e9]))
    >>> f"from {low * 1e6:.1f} mm² to {high * 1e6:.1f} mm²"
    'from 6.9 mm² to 6.5 mm²'
    """
    for frequency in frequencies:
        _require_frequency(layout, frequency)
    with one_thread(), memory_failures_reported():
        solved = _solved_over(_coarser_system(layout, settings or PlanMeshSettings()), frequencies)
        none = np.zeros_like(solved[0].inductance)
        nothing = Walls(inductance=none, doubt=none, resistance=none, spread=none)
        return tuple(_solution(layout, at, each, each, nothing) for at, each in zip(frequencies, solved, strict=True))


def _require_frequency(layout: PlanLayout, frequency: float) -> None:
    if not frequency >= 0:
        raise ValueError(f"frequency is {frequency} Hz; it must be 0 or above")
    if frequency == 0 and layout.plane is not None and layout.plane.material is not None:
        raise SolutionError(
            "a mirror plane of metal has no meaning at 0 Hz, where it is transparent to the field; leave it out, or "
            "describe the plane as a sheet of copper"
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _System:
    """Basis and matrices of a layout on one mesh; `images` by distance and `found` by frequency, as first asked."""

    layout: PlanLayout
    basis: PlanBasis
    inductances: Inductances
    squares: Squares
    images: dict[bytes, Coupling] = field(default_factory=dict)
    found: dict[float, _Solved] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """Basis, the currents in it per ampere of each loop (n, loops), and the impedance split in two.

    `single` is what single sheets may lose more or less (loops,) [ohm].
    """

    basis: PlanBasis
    currents: Numbers
    inductance: NDArray[np.float64]
    resistance: NDArray[np.float64]
    single: NDArray[np.float64]


def plan_estimate(layout: PlanLayout, frequencies: int = 1, settings: PlanMeshSettings | None = None) -> PlanCost:
    """What :func:`solve_plan_over` will take on the finer mesh; the coarser one adds about 40 %.

    Parameters
    ----------
    layout : PlanLayout
        Copper, ports, posts and plane; it is meshed, nothing else.
    frequencies : int
        How many.
    settings : PlanMeshSettings, optional
        How fine.

    Returns
    -------
    PlanCost
        Memory and processor time, to a factor of two.
    """
    return basis_cost(plan_basis(layout, mesh_layout(layout, settings or PlanMeshSettings())), frequencies)


def basis_cost(basis: PlanBasis, frequencies: int) -> PlanCost:
    """The same for a layout that is meshed."""
    cloud = Cloud(triangles=joined_triangles([face.triangles for face in basis.faces]))
    return plan_cost(cloud, grid_over(cloud, grid_step(cloud)).radius, frequencies)


_MOST_KEPT = 4000
"""Unknowns of a mesh, about 100 MB, up to which what was summed on it is kept for the next question."""


def _coarser_system(layout: PlanLayout, settings: PlanMeshSettings) -> _System:
    """On the mesh coarser than that of the settings: asked for by the error estimate, then at other frequencies."""
    system = _kept_system(layout, settings)
    if system.basis.size > _MOST_KEPT:
        _kept_system.cache_clear()
    return system


@lru_cache(maxsize=2)
def _kept_system(layout: PlanLayout, settings: PlanMeshSettings) -> _System:
    return _summed(layout, plan_basis(layout, mesh_layout(layout, settings.coarser())))


def _summed(layout: PlanLayout, basis: PlanBasis) -> _System:
    return _System(
        layout=layout, basis=basis, inductances=plan_inductances(layout, basis), squares=square_matrices(basis)
    )


def _solved_over(system: _System, frequencies: Sequence[float], tell: Tell = _tell_nobody) -> list[_Solved]:
    """One mesh at all frequencies, each of them once."""
    for count, frequency in enumerate(frequencies):
        tell((1 + count / len(frequencies)) / 2)  # the sums are about half of it
        if frequency not in system.found:
            system.found[frequency] = _solve(system, frequency)
    return [system.found[frequency] for frequency in frequencies]


def _solve(system: _System, frequency: float) -> _Solved:
    layout, basis = system.layout, system.basis
    posts = sparse.csr_matrix(basis.vias)
    metal = metal_impedances(layout, system.squares, frequency)
    metal = metal + posts.T @ sparse.diags(via_impedances(layout, frequency)) @ posts
    inductances = inductance_operator(system.inductances, _images(system, frequency))
    acting = Impedances(metal=sparse.csr_matrix(metal), inductances=inductances, frequency=frequency)
    currents = driven_currents(acting, len(basis.loops))
    omega = 2 * math.pi * frequency
    flux = np.column_stack([inductances.times(column) for column in currents.T.copy()])
    lost, stored = (_symmetric(currents.T @ each) for each in (np.asarray(metal @ currents), flux))
    single = _single_losses(system, currents, frequency)
    if frequency in (0.0, math.inf):
        return _Solved(
            basis=basis, currents=currents, inductance=np.real(stored), resistance=np.real(lost), single=single
        )
    impedance = lost + 1j * omega * stored  # the metal stores a little, and a lossy plane loses some
    return _Solved(
        basis=basis, currents=currents, inductance=impedance.imag / omega, resistance=impedance.real, single=single
    )


def _single_losses(system: _System, currents: Numbers, frequency: float) -> NDArray[np.float64]:
    """By how much the losses of single sheets may be off (loops,) [ohm]."""
    found = np.zeros(currents.shape[1])
    for sheet, (same, _) in zip(system.layout.sheets, system.squares, strict=True):
        doubt = _SINGLE_LOSS[sheet.faces] * math.sqrt(thin_skin(sheet, frequency))
        if doubt and math.isfinite(frequency):
            squares = np.einsum("nl,nl->l", currents.conj(), np.asarray(same @ currents)).real
            found += doubt * np.real(face_impedances(sheet, frequency)[0]) * squares
    return found


def _meshed_currents(solved: _Solved) -> MeshedCurrents:
    return MeshedCurrents(
        meshes=solved.basis.meshes,
        fluxes=tuple(np.asarray(each @ solved.currents) for each in solved.basis.fluxes),
        vias=solved.basis.vias @ solved.currents,
    )


def _symmetric(matrix: Numbers) -> Numbers:
    """The operator's single precision leaves 1e-6 of difference between the halves."""
    return np.asarray((matrix + matrix.T) / 2)


def _images(system: _System, frequency: float) -> Coupling | None:
    """Coupling with images in the plane; the same for all frequencies where the plane is perfect."""
    if system.layout.plane is None:
        return None
    distances = image_distances(system.layout.plane, system.inductances.levels, frequency)
    key = distances.tobytes()
    if key not in system.images:
        system.images[key] = image_coupling(system.inductances, distances)
    return system.images[key]


def _walls(layout: PlanLayout, frequency: float, coarse: _Solved) -> Walls:
    return side_walls(layout, _meshed_currents(coarse), frequency, coarse.inductance, coarse.resistance)


def _solution(layout: PlanLayout, frequency: float, coarse: _Solved, fine: _Solved, walls: Walls) -> PlanSolution:
    basis, loops = fine.basis, len(fine.basis.loops)
    trend = _PADS if any(isinstance(end, PadTerminal) for _, end in carrying_terminals(layout)) else _EDGES
    thin = max(thin_skin(sheet, frequency) for sheet in layout.sheets)
    losses = _between(_LOSSES, _LOSSES if trend is _PADS else _RIM_LOSSES, thin)
    resistance = losses.beyond(coarse.resistance, fine.resistance) + walls.resistance
    metal = _PLATE_LOSS * min(max(skins(sheet, frequency) for sheet in layout.sheets), 1.0)
    metal += _largest_part(np.diag(walls.spread) + fine.single, np.diag(resistance))
    sheets = tuple(_sheet_density(fine, index) for index in range(len(basis.meshes)))
    currents = _meshed_currents(coarse)
    moment = _copper_moment(layout, fine)
    unsure = _uncounted(layout, fine) + np.diag(walls.doubt)
    return PlanSolution(
        layout=layout,
        frequency=frequency,
        loops=basis.loops,
        inductance=trend.beyond(coarse.inductance, fine.inductance) + walls.inductance,
        resistance=resistance,
        inductance_error=_FLOOR
        + trend.left_over * _change(coarse.inductance, fine.inductance)
        + _largest_part(unsure, np.diag(fine.inductance)),
        resistance_error=_FLOOR + losses.left_over * _change(coarse.resistance, fine.resistance) + metal,
        port_currents=basis.port_currents,
        via_currents=_via_currents(fine),
        sheets=sheets,
        moment=moment if layout.plane is None else moment * np.array([2.0, 2.0, 0.0]),
        copper_moment=moment,
        unknowns=basis.size - loops,
        coarse=currents,
        coarse_inductance=coarse.inductance + walls.inductance,
    )


def _between(one: _Trend, other: _Trend, part: float) -> _Trend:
    return _Trend(
        carried=(1 - part) * one.carried + part * other.carried,
        left_over=(1 - part) * one.left_over + part * other.left_over,
    )


def _change(coarse: NDArray[np.float64], fine: NDArray[np.float64]) -> float:
    """Largest relative change of a loop's own value; none of resistances that are zero."""
    return _largest_part(np.abs(np.diag(fine - coarse)), np.diag(fine))


def _largest_part(parts: NDArray[np.float64], wholes: NDArray[np.float64]) -> float:
    return float(np.max(parts / np.where(wholes == 0, 1.0, wholes)))


def _sheet_density(solved: _Solved, index: int) -> SheetDensity:
    """Density of a sheet, both faces together."""
    mesh = solved.basis.meshes[index]
    density = np.zeros((len(solved.basis.loops), mesh.mesh.nelements, 2), dtype=complex)
    for face in solved.basis.faces:
        if face.sheet == index:
            density[:, face.chosen] += _face_density(face, solved.currents)
    return SheetDensity(sheet=mesh.sheet, points=mesh.mesh.p.T.copy(), triangles=mesh.mesh.t.T.copy(), density=density)


def _face_density(face: FaceCurrents, currents: Numbers) -> Numbers:
    """Density of each loop in each triangle, (loops, triangles, 2) [A/m]."""
    return np.stack([np.asarray(part @ currents).T for part in face.density], axis=-1)


def _via_currents(solved: _Solved) -> NDArray[np.complex128]:
    """Down each via per ampere of each loop, (vias, loops) [1]."""
    return np.asarray(solved.basis.vias @ solved.currents, dtype=complex)


def _copper_moment(layout: PlanLayout, solved: _Solved) -> NDArray[np.complex128]:
    """Half the integral of r × J over the copper, the posts and straight lines through the parts, (loops, 3)."""
    basis, datum = solved.basis, layout.plane.height if layout.plane else 0.0
    moment = np.zeros((len(basis.loops), 3), dtype=complex)
    for face in basis.faces:
        places, density = face.triangles.centroids - [0, 0, datum], _face_density(face, solved.currents)
        flows = np.concatenate([density, np.zeros((*density.shape[:2], 1))], axis=2)
        moment += np.einsum("t,ltc->lc", face.triangles.areas, np.cross(places, flows)) / 2
    moment += _under_terminals(layout, solved, datum)
    for via, current in zip(layout.vias, _via_currents(solved), strict=True):
        bottom, top = layout.ends(via)
        moment += np.outer(current, _segment(layout, (*via.centre, top), (*via.centre, bottom)))
    for port, current in zip(layout.cut_ports, basis.port_currents, strict=True):
        start, end = ((*place.middle, layout.level(place)) for place in (port.leave, port.entry))
        moment += np.outer(current, _segment(layout, start, end))
    return moment


def _uncounted(layout: PlanLayout, solved: _Solved) -> NDArray[np.float64]:
    r"""At most what current lacks that enters vias on one side of their barrels and leaves on another, (loops,) [H].

    .. math:: L = \tfrac15 \mu_0 d\,X^2

    with X the current per ampere across a footprint of diameter d, measured on idle ties in strips 2 mm wide; over a
    plane it is less, half of it at 0.1 mm.
    """
    missing, terminals = np.zeros(len(solved.basis.loops)), layout.terminals()
    for sheet, fluxes in zip(solved.basis.meshes, solved.basis.fluxes, strict=True):
        flux = np.asarray(fluxes @ solved.currents)
        for terminal in sheet.terminals:
            end = terminals[terminal.number][1]
            if isinstance(end, PadTerminal) and end.side is Side.THROUGH:
                leaving = np.sum([_leaving(sheet, flux, terminal, face) for face in terminal.faces], axis=0)
                across = (np.abs(leaving).sum(axis=0) - np.abs(leaving.sum(axis=0))) / 2
                missing += MU_0 * pad_extent(end) / 5 * across**2
    return missing


def _leaving(sheet: SheetMesh, fluxes: Numbers, terminal: MeshedTerminal, surface: int) -> Numbers:
    """Current out of a surface through each facet of a terminal (facets, loops) [A]."""
    outward = leaving_signs(sheet, terminal, surface)
    return np.asarray(outward[:, None] * fluxes[sheet.rows(surface)][terminal.facets])


def _under_terminals(layout: PlanLayout, solved: _Solved, datum: float) -> NDArray[np.complex128]:
    """Half r × dr from where the current passes the edge of each terminal to the terminal's middle."""
    moment = np.zeros((len(solved.basis.loops), 3), dtype=complex)
    terminals = layout.terminals()
    for sheet, fluxes in zip(solved.basis.meshes, solved.basis.fluxes, strict=True):
        flux = np.asarray(fluxes @ solved.currents)
        for terminal in sheet.terminals:
            places = sheet.mesh.p[:, sheet.mesh.facets[:, terminal.facets]].mean(axis=1)
            ending = [number for number, each in enumerate(sheet.surfaces) if each.face in terminal.faces]
            for surface in ending:
                level = sheet.sheet.levels[sheet.surfaces[surface].face] - datum
                leaving = _leaving(sheet, flux, terminal, surface)
                start = np.column_stack([*places, np.full(len(terminal.facets), level)])
                moment += leaving.T @ np.cross(start, [*terminals[terminal.number][1].middle, level]) / 2
    return moment


def _segment(
    layout: PlanLayout, start: tuple[float, float, float], end: tuple[float, float, float]
) -> NDArray[np.float64]:
    """Half r × dr over a straight line, heights counted from the plane."""
    datum = np.array([0.0, 0.0, layout.plane.height if layout.plane else 0.0])
    return np.cross(np.array(start) - datum, np.array(end) - datum) / 2
