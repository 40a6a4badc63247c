"""The loop impedance and the field over a whole band from a handful of solutions.

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
from solver.section.fields import FieldSolution
from solver.section.linear_solver import factorise_on, one_thread
from solver.section.reduced_space import Pencil, Space, symmetric

_CANDIDATES_PER_DECADE = 16
_MOST_SHIFTS = 8
_DERIVATIVES = 2
_NEGLIGIBLE = 1e-10
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReducedSection:
    """A section over a band: its impedance, and its field at any frequency of it.

    Parameters
    ----------
    model : BroadbandModel
        Its impedance.
    space : Space
        The vectors that it is made of.
    """

    model: BroadbandModel
    space: Space

    def field(self, frequency: float) -> FieldSolution:
        """The field at a frequency of the band, a combination of those that were solved.

        At the model's own shifts it is the direct solution. Elsewhere the energy of its error follows from the model's
        deviation, 1e-6 of Z' at most: a field strength is within 1e-4 of itself, a moment that shielding makes small
        within 1e-2.

        Raises
        ------
        ValueError
            If the frequency is outside the band.
        SolutionError
            If a current balance is off.
        """
        low, high = self.model.band
        if not low * (1 - _ROUNDING) <= frequency <= high * (1 + _ROUNDING):
            raise ValueError(f"frequency is {frequency:g} Hz; the section was reduced for {low:g} to {high:g} Hz")
        return self.space.solution(frequency)


def reduce_section(
    static: FieldSolution, perfect: FieldSolution, *, lowest: float, highest: float, solved_at: float | None = None
) -> ReducedSection:
    """Reduce a section to a few vectors: a broadband model within 1e-6 of |Z'| and 1e-5 of R', and its fields.

    Parameters
    ----------
    static, perfect : FieldSolution
        The two limits of one section, from :func:`solver.section.fields.solve_at_dc` and
        :func:`solver.section.fields.solve_perfect_conductor`.
    lowest, highest : float
        Band [Hz], 0 < lowest < highest, not above the frequency that the section was meshed for.
    solved_at : float, optional
        Frequency of the band at which the field is to be a direct solution [Hz]: one of the shifts.

    Returns
    -------
    ReducedSection
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
        return _reduce(static, perfect, (lowest, highest), solved_at or highest)


def _reduce(
    static: FieldSolution, perfect: FieldSolution, band: tuple[float, float], solved_at: float
) -> ReducedSection:
    pencil = Pencil.of(static.system, math.sqrt(band[0] * band[1]))
    space, known = _space_of_limits(pencil, static, perfect)
    model = _diagonalise(space, known, static, perfect, band)
    candidates = np.geomspace(*band, math.ceil(_CANDIDATES_PER_DECADE * math.log10(band[1] / band[0])) + 1)
    asked = [solved_at, band[1]] if solved_at < band[1] else [band[1]]
    while len(model.shifts) < _MOST_SHIFTS:
        at_worst = not asked
        following = float(candidates[_expected_excess(model, candidates).argmax()]) if at_worst else asked.pop()
        vectors, impedance = _solve_with_derivatives(pencil, following)
        deviation, resistance_deviation = _deviation(model.impedance(following), impedance)
        space = space.extended(vectors)
        model = replace(
            _diagonalise(space, known, static, perfect, band),
            shifts=tuple(sorted([*model.shifts, following])),
            residual=deviation,
            resistance_residual=resistance_deviation,
        )
        if at_worst and deviation <= DEVIATION and resistance_deviation <= RESISTANCE_DEVIATION:
            return ReducedSection(model=model, space=space)
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


def _space_of_limits(pencil: Pencil, static: FieldSolution, perfect: FieldSolution) -> tuple[Space, int]:
    """The two known spaces and the field at DC; and how many vectors the two have together."""
    groups, loops = pencil.system.pattern.shape
    voltages = np.vstack([np.zeros((pencil.size, groups)), np.eye(groups)])
    outside = np.vstack([perfect.potential.real, _levels(perfect)])
    known = Space.empty(pencil).extended(voltages).extended(outside)
    spread = np.vstack([static.potential.real, np.zeros((groups, loops))])
    return known.extended(spread), known.vectors.shape[1]


def _levels(perfect: FieldSolution) -> NDArray[np.float64]:
    """Potential of each group in the perfect-conductor limit, (g, l)."""
    system = perfect.system
    first = [system.meshed.section.regions[int(column.argmax())].name for column in system.membership.T]
    levels: NDArray[np.float64] = perfect.potential[[system.unknowns(name)[0] for name in first]].real
    return levels


def _solve_with_derivatives(pencil: Pencil, frequency: float) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
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
    space: Space, known: int, static: FieldSolution, perfect: FieldSolution, band: tuple[float, float]
) -> BroadbandModel:
    """Split the small pair into cells; the known spaces give R_0 and L_inf as the limits have them."""
    pencil, vectors = space.pencil, space.vectors[:, known:]
    lossy = space.lossy[known:, known:]
    lossiness, modes = dense.eigh(symmetric(lossy))  # K is what the energy leaves, as the vectors are orthonormal
    ports = modes.T @ vectors[pencil.size :].T @ pencil.system.pattern
    rates = (1 - pencil.rate * lossiness) / lossiness
    weights = ports / np.sqrt(lossiness)[:, None]
    order = np.argsort(rates)
    order = order[(weights[order] ** 2).max(axis=1) > _NEGLIGIBLE * static.resistance.max()]
    return BroadbandModel(
        resistance=symmetric(static.resistance),
        inductance=symmetric(perfect.inductance),
        rates=rates[order],
        weights=weights[order],
        band=band,
        shifts=(),
        residual=math.inf,
        resistance_residual=math.inf,
    )


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
