"""The loop impedance over a whole band from a handful of solutions.

With u = g/s a section reads (K + sM) x = b for the bordered matrices, real, symmetric and positive
semi-definite,

    K = [[K, 0], [0, 0]],   M = [[M, -F], [-F^T, diag(G)]],   b = (0, P),   Z'(s) = s b^T x(s).

Projected onto a few real vectors they stay so, and diagonalising the small pair gives

    Z'(s) = R_0 + s L_inf + sum of s c_i c_i^T / (s + lambda_i),   lambda_i > 0,

which is passive by stackup. The vectors are the two limits, which need no frequency, and at each of a few
frequencies ("shifts") the solution and its first derivatives with respect to s, which cost one factorisation
together.

Two spaces are known beforehand and are split off exactly: voltages without a field, on which K vanishes and which
give R_0, and the field of perfect conductors, on which M vanishes and which gives L_inf.

Shifts are chosen where the residual is expected to be largest. It has one direction and the size

    |phi(s)|,   phi(s) = s prod (s^2 + omega_k^2)^m / prod (s + lambda_i),

zero at the shifts omega_k (m vectors each) and infinite at the model's own corners; its energy, which is the deviation
of Z', follows |phi|^2 sqrt(omega), as the surface impedance of a conductor does. Each new solution first tells by how
much the model without it was off at that worst place. Once that is within the promise, the solution is added and the
model is done.

References
----------
A. Ruhe, "Rational Krylov sequence methods for eigenvalue computation", Linear Algebra and its Applications 58 (1984)
391-405. V. Druskin, V. Simoncini, "Adaptive rational Krylov subspaces for large-scale dynamical systems", Systems &
Control Letters 60 (2011) 546-560, for the choice of shifts. (Both from memory.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import scipy.linalg as dense
from numpy.typing import NDArray

from solver.circuit.rl_network import DEVIATION, RESISTANCE_DEVIATION, BroadbandModel
from solver.errors import SolutionError
from solver.section.fields import FieldSolution, SectionSystem
from solver.section.linear_solver import Coefficients, factorise_on, one_thread

_CANDIDATES_PER_DECADE = 16
_MOST_SHIFTS = 8
_DERIVATIVES = 2
_DEPENDENT = 1e-10
_DEPENDENT_ENERGY = 1e-13
_NEGLIGIBLE = 1e-10


def reduce_section(static: FieldSolution, perfect: FieldSolution, *, lowest: float, highest: float) -> BroadbandModel:
    """Broadband model of a section, within 1e-6 of |Z'| and 1e-5 of R' over the band.

    Parameters
    ----------
    static, perfect : FieldSolution
        The two limits of one section, from :func:`solver.section.fields.solve_at_dc` and
        :func:`solver.section.fields.solve_perfect_conductor`.
    lowest, highest : float
        Band [Hz], 0 < lowest < highest, not above the frequency that the section was meshed for.

    Returns
    -------
    BroadbandModel
        With several loops the deviations are relative to the largest element of the matrix.

    Raises
    ------
    ValueError
        If the band is empty or above the mesh's highest frequency, or the limits are not those of one section.
    SolutionError
        If a solution is not to be trusted, or eight shifts do not keep the promise.
    """
    _require_limits(static, perfect)
    _require_band(lowest, highest, static.system.meshed.highest_frequency)
    with one_thread():
        return _reduce(static, perfect, (lowest, highest))


def _reduce(static: FieldSolution, perfect: FieldSolution, band: tuple[float, float]) -> BroadbandModel:
    space = _Space.of_limits(_Pencil.of(static.system, math.sqrt(band[0] * band[1])), static, perfect)
    model = _diagonalise(space, static, perfect, band)
    candidates = np.geomspace(*band, math.ceil(_CANDIDATES_PER_DECADE * math.log10(band[1] / band[0])) + 1)
    following = band[1]
    while len(model.shifts) < _MOST_SHIFTS:
        vectors, impedance = _solve_with_derivatives(space.pencil, following)
        deviation, resistance_deviation = _deviation(model.impedance(following), impedance)
        space = space.extended(vectors)
        model = replace(
            _diagonalise(space, static, perfect, band),
            shifts=tuple(sorted([*model.shifts, following])),
            residual=deviation,
            resistance_residual=resistance_deviation,
        )
        if deviation <= DEVIATION and resistance_deviation <= RESISTANCE_DEVIATION:
            return model
        following = float(candidates[_expected_excess(model, candidates).argmax()])
    raise SolutionError(
        f"after {_MOST_SHIFTS} frequencies the broadband model is still off by {model.residual:.1e} of Z and "
        f"{model.resistance_residual:.1e} of R at the last of them; ask for a narrower band"
    )


def _require_limits(static: FieldSolution, perfect: FieldSolution) -> None:
    if static.frequency != 0 or not math.isinf(perfect.frequency):
        raise ValueError(
            f"the limits were solved at {static.frequency:g} and {perfect.frequency:g} Hz; they must be the solution "
            "at DC and the one for perfect conductors"
        )
    if static.system is not perfect.system:
        raise ValueError("the two limits belong to different sections or meshes; solve both on one")


def _require_band(lowest: float, highest: float, meshed_for: float) -> None:
    if not 0 < lowest < highest <= meshed_for * (1 + 1e-12):
        raise ValueError(
            f"the band reaches from {lowest:g} to {highest:g} Hz; it must be ascending, above 0 and at most "
            f"{meshed_for:g} Hz, for which the section was meshed"
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pencil:
    """The bordered matrices, fields above group voltages; `rate` [rad/s] weighs them in the energy K + rate M."""

    system: SectionSystem
    drive: NDArray[np.float64]
    conductance: NDArray[np.float64]
    rate: float

    @classmethod
    def of(cls, system: SectionSystem, frequency: float) -> _Pencil:
        return cls(
            system=system,
            drive=system.group_drive,
            conductance=system.group_conductance,
            rate=2 * math.pi * frequency,
        )

    @property
    def size(self) -> int:
        """Number of field unknowns."""
        return len(self.drive)

    def multiply_stiff(self, vectors: Coefficients) -> Coefficients:
        return np.vstack([self.system.reluctance @ vectors[: self.size], np.zeros_like(vectors[self.size :])])

    def multiply_lossy(self, vectors: Coefficients) -> Coefficients:
        fields, voltages = vectors[: self.size], vectors[self.size :]
        return np.vstack(
            [
                self.system.eddy @ fields - self.drive @ voltages,
                self.conductance[:, None] * voltages - self.drive.T @ fields,
            ]
        )

    def weigh(self, vectors: Coefficients) -> Coefficients:
        return np.asarray(self.multiply_stiff(vectors) + self.rate * self.multiply_lossy(vectors))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Space:
    """Vectors orthonormal in the pencil's energy, and M between them; the first `limits` are the two known spaces."""

    pencil: _Pencil
    vectors: NDArray[np.float64]
    lossy: NDArray[np.float64]
    limits: int

    @classmethod
    def of_limits(cls, pencil: _Pencil, static: FieldSolution, perfect: FieldSolution) -> _Space:
        groups, loops = pencil.system.pattern.shape
        empty = cls(pencil=pencil, vectors=np.zeros((pencil.size + groups, 0)), lossy=np.zeros((0, 0)), limits=0)
        voltages = np.vstack([np.zeros((pencil.size, groups)), np.eye(groups)])
        outside = np.vstack([perfect.potential.real, _levels(perfect)])
        known = empty.extended(voltages).extended(outside)
        spread = np.vstack([static.potential.real, np.zeros((groups, loops))])
        return replace(known, limits=known.vectors.shape[1]).extended(spread)

    def extended(self, block: NDArray[np.float64]) -> _Space:
        """Add what is new in a block of vectors; twice, as rounding leaves parts of the old in the first result."""
        block = block / np.sqrt(_energies(block, self.pencil.weigh(block)))
        for _ in range(2):
            block = block - self.vectors @ (self.vectors.T @ self.pencil.weigh(block))
            block = _orthonormal(block, self.pencil.weigh(block))
        vectors = np.hstack([self.vectors, block])
        beside = vectors.T @ self.pencil.multiply_lossy(block)
        across = beside[: len(self.lossy)]
        return replace(self, vectors=vectors, lossy=np.block([[self.lossy, across], [across.T, beside[len(across) :]]]))


def _orthonormal(block: NDArray[np.float64], weighed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Orthonormal combinations of the vectors of a block; dependent ones are dropped."""
    sizes = np.sqrt(_energies(block, weighed))
    new = sizes > _DEPENDENT
    block, weighed = block[:, new] / sizes[new], weighed[:, new] / sizes[new]
    gram = block.T @ weighed
    energies, mixing = dense.eigh(_symmetric(gram))
    kept = energies > _DEPENDENT_ENERGY
    return np.asarray(block @ (mixing[:, kept] / np.sqrt(energies[kept])))


def _energies(block: NDArray[np.float64], weighed: NDArray[np.float64]) -> NDArray[np.float64]:
    energies: NDArray[np.float64] = np.einsum("ij,ij->j", block, weighed)
    return np.maximum(energies, 0.0)


def _levels(perfect: FieldSolution) -> NDArray[np.float64]:
    """Potential of each group in the perfect-conductor limit, (g, l)."""
    system = perfect.system
    first = [system.meshed.section.regions[int(column.argmax())].name for column in system.membership.T]
    levels: NDArray[np.float64] = perfect.potential[[system.unknowns(name)[0] for name in first]].real
    return levels


def _solve_with_derivatives(pencil: _Pencil, frequency: float) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
    """Real and imaginary parts of the solution and its derivatives at a frequency, and the impedance there."""
    system, s = pencil.system, 2j * math.pi * frequency
    factors = factorise_on(system.reluctance + s * system.eddy, system.free, inner=system.inner)
    response = factors.solve(pencil.drive.astype(complex))
    admittance = np.diag(pencil.conductance) - s * pencil.drive.T @ response
    voltages = np.linalg.solve(s * admittance, system.pattern.astype(complex))
    blocks = [np.vstack([s * response @ voltages, voltages])]
    impedance = s * system.pattern.T @ voltages
    for _ in range(_DERIVATIVES):
        right = -pencil.multiply_lossy(blocks[-1])  # without the factor 1/k!, which does not change the space
        fields = factors.solve(right[: pencil.size])
        voltages = np.linalg.solve(s * admittance, right[pencil.size :] + s * pencil.drive.T @ fields)
        blocks.append(np.vstack([fields + s * response @ voltages, voltages]))
    whole = np.hstack(blocks)
    return np.hstack([whole.real, whole.imag]), impedance


def _diagonalise(
    space: _Space, static: FieldSolution, perfect: FieldSolution, band: tuple[float, float]
) -> BroadbandModel:
    """Split the small pair into cells; the known spaces give R_0 and L_inf as the limits have them."""
    pencil, vectors = space.pencil, space.vectors[:, space.limits :]
    lossy = space.lossy[space.limits :, space.limits :]
    lossiness, modes = dense.eigh(_symmetric(lossy))  # K is what the energy leaves, as the vectors are orthonormal
    ports = modes.T @ vectors[pencil.size :].T @ pencil.system.pattern
    rates = (1 - pencil.rate * lossiness) / lossiness
    weights = ports / np.sqrt(lossiness)[:, None]
    order = np.argsort(rates)
    order = order[(weights[order] ** 2).max(axis=1) > _NEGLIGIBLE * static.resistance.max()]
    return BroadbandModel(
        resistance=_symmetric(static.resistance),
        inductance=_symmetric(perfect.inductance),
        rates=rates[order],
        weights=weights[order],
        band=band,
        shifts=(),
        residual=math.inf,
        resistance_residual=math.inf,
    )


def _symmetric(matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """Without the rounding by which a symmetric matrix misses being so."""
    return (matrix + matrix.T) / 2


def _deviation(found: NDArray[np.complex128], exact: NDArray[np.complex128]) -> tuple[float, float]:
    """Largest deviation of Z and of R, relative to their largest elements."""
    difference = found - exact
    return (
        float(np.abs(difference).max() / np.abs(exact).max()),
        float(np.abs(difference.real).max() / np.abs(exact.real).max()),
    )


def _expected_excess(model: BroadbandModel, frequencies: NDArray[np.float64]) -> NDArray[np.float64]:
    """Logarithm of the expected deviation over the promised one, up to a constant, (f,)."""
    omega, tiny = 2 * math.pi * frequencies[:, None], np.finfo(float).tiny
    zeros = np.abs((2 * math.pi * np.array(model.shifts)) ** 2 - omega**2)
    size = np.log(omega[:, 0])
    size += (1 + _DERIVATIVES) * np.log(np.maximum(zeros, tiny)).sum(axis=1)
    degree = 1 + 2 * (1 + _DERIVATIVES) * len(model.shifts)  # with several loops, every zero has as many poles
    size -= degree * np.log(np.hypot(omega, model.rates)).mean(axis=1)
    impedance = np.array([model.impedance(frequency) for frequency in frequencies])
    promised = np.minimum(
        DEVIATION * np.abs(impedance).max(axis=(1, 2)), RESISTANCE_DEVIATION * np.abs(impedance.real).max(axis=(1, 2))
    )
    return np.asarray(2 * size + np.log(omega[:, 0]) / 2 - np.log(promised))
