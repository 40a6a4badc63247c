"""Solve a layout: mesh it, assemble it, find the currents that the driven loops set up, read off what they yield."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from geometries.layout.layout import PlanLayout
from solver.errors import SolutionError, memory_failures_reported
from solver.plan.assembly import (
    PlanBasis,
    image_inductances,
    metal_impedances,
    own_inductances,
    plan_basis,
    square_matrices,
)
from solver.plan.meshing import PlanMeshSettings, mesh_layout
from solver.plan.solution import PlanSolution, SheetDensity
from solver.section.linear_solver import one_thread

Numbers = NDArray[np.inexact]

_RESIDUAL_LIMIT = 1e-8

_EXTRAPOLATED, _LEFT_OVER, _FLOOR = 0.7, 0.5, 5e-4
"""Part of the change from the coarser mesh by which the finer one's value is carried on, the part that may be left
over, and the relative error of the sums themselves; measured on converged layouts (docs/method.md)."""


def solve_plan(layout: PlanLayout, frequency: float, settings: PlanMeshSettings | None = None) -> PlanSolution:
    """Inductance, resistance and currents of a layout seen from above.

    Parameters
    ----------
    layout : PlanLayout
        Copper, ports, posts and plane.
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
        If a mirror plane of metal is to carry direct current, or the solution is not to be trusted.
    """
    return solve_plan_over(layout, (frequency,), settings)[0]


def solve_plan_over(
    layout: PlanLayout, frequencies: Sequence[float], settings: PlanMeshSettings | None = None
) -> tuple[PlanSolution, ...]:
    """The same at several frequencies, for which the copper is meshed and its inductances are summed only once."""
    for frequency in frequencies:
        _require_frequency(layout, frequency)
    settings = settings or PlanMeshSettings()
    with one_thread(), memory_failures_reported():
        coarse, fine = (_assemble(layout, choice) for choice in (settings.coarser(), settings))
        return tuple(
            _solution(layout, frequency, _solve(coarse, frequency), _solve(fine, frequency))
            for frequency in frequencies
        )


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
    """Basis and matrices of a layout on one mesh."""

    layout: PlanLayout
    basis: PlanBasis
    own: NDArray[np.float64]
    squares: tuple[NDArray[np.float64], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """Basis, the currents in it per ampere of each loop (n, loops), and the impedance split in two."""

    basis: PlanBasis
    currents: Numbers
    inductance: NDArray[np.float64]
    resistance: NDArray[np.float64]


def _assemble(layout: PlanLayout, settings: PlanMeshSettings) -> _System:
    basis = plan_basis(layout, mesh_layout(layout, settings))
    return _System(layout=layout, basis=basis, own=own_inductances(layout, basis), squares=square_matrices(basis))


def _solve(system: _System, frequency: float) -> _Solved:
    layout, basis = system.layout, system.basis
    inductance: Numbers = system.own
    if layout.plane is not None:
        inductance = inductance - image_inductances(layout.plane, basis, frequency)
    metal = metal_impedances(layout, basis, system.squares, frequency)
    omega = 2 * math.pi * frequency
    governing = {0.0: metal, math.inf: inductance}.get(frequency)
    if governing is None:
        governing = metal + 1j * omega * inductance
    currents = _driven_currents(governing, len(basis.loops))
    lost, stored = currents.T @ metal @ currents, currents.T @ inductance @ currents
    if frequency in (0.0, math.inf):
        return _Solved(basis=basis, currents=currents, inductance=np.real(stored), resistance=np.real(lost))
    impedance = lost + 1j * omega * stored  # the metal stores a little, and a lossy plane loses some
    return _Solved(basis=basis, currents=currents, inductance=impedance.imag / omega, resistance=impedance.real)


def _driven_currents(matrix: Numbers, loops: int) -> Numbers:
    """Currents of the basis per ampere of each of the last `loops` ones, all others being free."""
    free = len(matrix) - loops
    inner, right = matrix[:free, :free], -matrix[:free, free:]
    if not free:
        return np.eye(loops)
    try:
        found = _solve_dense(inner, right)
    except np.linalg.LinAlgError as failure:
        raise SolutionError(f"the currents of the layout cannot be solved for: {failure}") from failure
    residual, scale = np.linalg.norm(inner @ found - right), np.linalg.norm(right)
    if not residual <= _RESIDUAL_LIMIT * scale:
        raise SolutionError(f"relative residual of the plan view is {residual:.1e} of {scale:.1e}")
    return np.vstack([found, np.eye(loops)])


def _solve_dense(matrix: Any, right: Any) -> Any:
    """Solve with a positive definite real or a symmetric complex matrix."""
    kind: Literal["sym", "pos"] = "sym" if np.iscomplexobj(matrix) else "pos"
    return scipy.linalg.solve(matrix, right, assume_a=kind, check_finite=False)


def _solution(layout: PlanLayout, frequency: float, coarse: _Solved, fine: _Solved) -> PlanSolution:
    basis, loops = fine.basis, len(fine.basis.loops)
    change = np.abs(np.diag(fine.inductance - coarse.inductance)) / np.diag(fine.inductance)
    error = _FLOOR + _LEFT_OVER * float(change.max())
    sheets = tuple(_sheet_density(fine, index) for index in range(len(basis.meshes)))
    vias = np.asarray(basis.vias @ fine.currents, dtype=complex)
    moment = _copper_moment(layout, basis, sheets, vias)
    return PlanSolution(
        layout=layout,
        frequency=frequency,
        loops=basis.loops,
        inductance=_carried_on(coarse.inductance, fine.inductance),
        resistance=_carried_on(coarse.resistance, fine.resistance),
        inductance_error=error,
        port_currents=basis.port_currents,
        via_currents=vias,
        sheets=sheets,
        moment=moment if layout.plane is None else moment * np.array([2.0, 2.0, 0.0]),
        copper_moment=moment,
        unknowns=basis.size - loops,
    )


def _carried_on(coarse: NDArray[np.float64], fine: NDArray[np.float64]) -> NDArray[np.float64]:
    return fine + _EXTRAPOLATED * (fine - coarse)


def _sheet_density(solved: _Solved, index: int) -> SheetDensity:
    mesh, components = solved.basis.meshes[index], solved.basis.density[index]
    density = np.stack([np.asarray(part @ solved.currents).T for part in components], axis=-1).astype(complex)
    return SheetDensity(sheet=mesh.sheet, points=mesh.mesh.p.T.copy(), triangles=mesh.mesh.t.T.copy(), density=density)


def _copper_moment(
    layout: PlanLayout, basis: PlanBasis, sheets: tuple[SheetDensity, ...], vias: NDArray[np.complex128]
) -> NDArray[np.complex128]:
    """Half the integral of r × J over the copper, the posts and straight lines through the parts, (loops, 3)."""
    datum = layout.plane.height if layout.plane else 0.0
    moment = np.zeros((len(basis.loops), 3), dtype=complex)
    for sheet, triangles in zip(sheets, basis.triangles, strict=True):
        places = triangles.centroids - [0, 0, datum]
        flows = np.concatenate([sheet.density, np.zeros((*sheet.density.shape[:2], 1))], axis=2)
        moment += np.einsum("t,ltc->lc", triangles.areas, np.cross(places, flows)) / 2
    moment += _under_terminals(layout, basis, sheets, datum)
    for via, current in zip(layout.vias, vias, strict=True):
        bottom, top = layout.ends(via)
        moment += np.outer(current, _segment(layout, (*via.centre, top), (*via.centre, bottom)))
    for port, current in zip(layout.cut_ports, basis.port_currents, strict=True):
        start, end = ((*place.middle, layout.sheet(place.sheet).height) for place in (port.leave, port.entry))
        moment += np.outer(current, _segment(layout, start, end))
    return moment


def _under_terminals(
    layout: PlanLayout, basis: PlanBasis, sheets: tuple[SheetDensity, ...], datum: float
) -> NDArray[np.complex128]:
    """Half r × dr from where the current passes the edge of each terminal to the terminal's middle."""
    moment = np.zeros((len(basis.loops), 3), dtype=complex)
    terminals = layout.terminals()
    for mesh, sheet in zip(basis.meshes, sheets, strict=True):
        level = mesh.sheet.height - datum
        for number, facets in mesh.terminals:
            ends = mesh.mesh.p[:, mesh.mesh.facets[:, facets]]
            triangles = mesh.mesh.f2t[0, facets]
            places, along = ends.mean(axis=1), ends[:, 1] - ends[:, 0]
            normals = np.stack([along[1], -along[0]])
            outward = places - mesh.mesh.p[:, mesh.mesh.t[:, triangles]].mean(axis=1)
            normals = normals * np.sign((normals * outward).sum(axis=0))
            leaving = np.einsum("lfc,cf->lf", sheet.density[:, triangles], normals)
            start = np.column_stack([*places, np.full(len(facets), level)])
            moment += leaving @ np.cross(start, [*terminals[number][1].middle, level]) / 2
    return moment


def _segment(
    layout: PlanLayout, start: tuple[float, float, float], end: tuple[float, float, float]
) -> NDArray[np.float64]:
    """Half r × dr over a straight line, heights counted from the plane."""
    datum = np.array([0.0, 0.0, layout.plane.height if layout.plane else 0.0])
    return np.cross(np.array(start) - datum, np.array(end) - datum) / 2
