"""A section projected onto a few vectors: the bordered matrices, and spaces that are orthonormal in their energy."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import scipy.linalg as dense
from numpy.typing import NDArray

from solver.section.fields import FieldSolution, SectionSystem, field_solution
from solver.section.linear_solver import Coefficients

_DEPENDENT = 1e-10
_DEPENDENT_ENERGY = 1e-13


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pencil:
    """The bordered matrices, fields above group voltages; `rate` [rad/s] weighs them in the energy K + rate M."""

    system: SectionSystem
    drive: NDArray[np.float64]
    conductance: NDArray[np.float64]
    rate: float

    @classmethod
    def of(cls, system: SectionSystem, frequency: float) -> Pencil:
        """Of a section; the energy weighs both matrices alike at a frequency [Hz]."""
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
        """K times vectors, (n + g, k)."""
        return np.vstack([self.system.reluctance @ vectors[: self.size], np.zeros_like(vectors[self.size :])])

    def multiply_lossy(self, vectors: Coefficients) -> Coefficients:
        """M times vectors, (n + g, k)."""
        fields, voltages = vectors[: self.size], vectors[self.size :]
        return np.vstack(
            [
                self.system.eddy @ fields - self.drive @ voltages,
                self.conductance[:, None] * voltages - self.drive.T @ fields,
            ]
        )

    def weigh(self, vectors: Coefficients) -> Coefficients:
        """K + rate M times vectors, (n + g, k)."""
        return np.asarray(self.multiply_stiff(vectors) + self.rate * self.multiply_lossy(vectors))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Space:
    """Vectors orthonormal in the pencil's energy, and M between them, (m, m)."""

    pencil: Pencil
    vectors: NDArray[np.float64]
    lossy: NDArray[np.float64]

    @classmethod
    def empty(cls, pencil: Pencil) -> Space:
        """Without vectors."""
        size = pencil.size + len(pencil.conductance)
        return cls(pencil=pencil, vectors=np.zeros((size, 0)), lossy=np.zeros((0, 0)))

    @property
    def fields(self) -> NDArray[np.float64]:
        """The fields of the vectors, coefficients of potential or flux, (n, m)."""
        return np.asarray(self.pencil.system.regular @ self.vectors[: self.pencil.size])

    @property
    def voltages(self) -> NDArray[np.float64]:
        """Their group voltages over s, (g, m)."""
        return np.asarray(self.vectors[self.pencil.size :])

    def solve(self, frequency: float) -> Coefficients:
        """Combination of the vectors that solves the section at a frequency, per ampere of each loop, (m, l)."""
        excess = 2j * math.pi * frequency - self.pencil.rate
        ports = (self.voltages.T @ self.pencil.system.pattern).astype(complex)
        return np.asarray(np.linalg.solve(np.eye(len(self.lossy)) + excess * self.lossy, ports))

    def impedance(self, frequency: float) -> NDArray[np.complex128]:
        """Loop impedance at a frequency, (l, l)."""
        s = 2j * math.pi * frequency
        return np.asarray(s * self.pencil.system.pattern.T @ self.voltages @ self.solve(frequency))

    def solution(self, frequency: float) -> FieldSolution:
        """The field at a frequency.

        Raises
        ------
        SolutionError
            If a current balance is off.
        """
        fields, voltages = np.split(self.vectors @ self.solve(frequency), [self.pencil.size])
        return field_solution(self.pencil.system, frequency, fields, 2j * math.pi * frequency * voltages)

    def extended(self, block: NDArray[np.float64]) -> Space:
        """Add what is new in a block of vectors; twice, as rounding leaves parts of the old in the first result."""
        sizes = np.sqrt(_energies(block, self.pencil.weigh(block)))
        block = block[:, sizes > 0] / sizes[sizes > 0]
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
    energies, mixing = dense.eigh(symmetric(gram))
    kept = energies > _DEPENDENT_ENERGY
    return np.asarray(block @ (mixing[:, kept] / np.sqrt(energies[kept])))


def _energies(block: NDArray[np.float64], weighed: NDArray[np.float64]) -> NDArray[np.float64]:
    energies: NDArray[np.float64] = np.einsum("ij,ij->j", block, weighed)
    return np.maximum(energies, 0.0)


def symmetric(matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """Without the rounding by which a symmetric matrix misses being so."""
    return (matrix + matrix.T) / 2
