"""What the metal of sheets and posts adds to the impedances between the currents of the basis."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from itertools import product
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from geometries.layout.layout import CopperSheet, Faces, PlanLayout
from solver.formulas import diffusion_constant, sheet_impedance_both_sides, sheet_impedance_one_side, sheet_resistance
from solver.plan.basis import FaceCurrents, PlanBasis
from solver.plan.vias import via_impedance

Matrix = sparse.csr_matrix
Squares = tuple[tuple[Matrix, Matrix], ...]
"""For each sheet how many squares currents pass with those on the same face, and with those on the other [1]."""

_THICK = 0.05
"""Half a thickness over the skin depth below which a difference of nearly equal terms is taken by its series."""


def square_matrices(basis: PlanBasis) -> Squares:
    """Integrals of K K' over every sheet for all pairs of currents."""
    sheets = [[face for face in basis.faces if face.sheet == number] for number in range(len(basis.meshes))]
    return tuple((_same_face(faces), _other_face(faces)) for faces in sheets)


def _same_face(faces: Sequence[FaceCurrents]) -> Matrix:
    parts: Any = (part.T @ sparse.diags(face.triangles.areas) @ part for face in faces for part in face.density)
    return Matrix(sum(parts))


def _other_face(faces: Sequence[FaceCurrents]) -> Matrix:
    """Where both faces carry current, one over the other."""
    half: Any = Matrix((faces[0].density[0].shape[1],) * 2)
    for lower, upper in product(*([each for each in faces if each.face == face] for face in (0, 1))):
        _, below, above = np.intersect1d(lower.chosen, upper.chosen, return_indices=True)
        areas = sparse.diags(lower.triangles.areas[below])
        for part, facing in zip(lower.density, upper.density, strict=True):
            half = half + part[below].T @ areas @ facing[above]
    return Matrix(half + half.T)


def metal_impedances(layout: PlanLayout, squares: Squares, frequency: float) -> Matrix:
    """Impedances of the sheets between the currents of the basis [ohm]; zero at infinite frequency."""
    if math.isinf(frequency):
        return Matrix(squares[0][0].shape)
    impedances = [face_impedances(sheet, frequency) for sheet in layout.sheets]
    parts: Any = (own * same + across * other for (own, across), (same, other) in zip(impedances, squares, strict=True))
    return Matrix(sum(parts))


def via_impedances(layout: PlanLayout, frequency: float) -> NDArray[np.inexact]:
    """Impedance of each post's metal [ohm]; zero at infinite frequency."""
    if math.isinf(frequency):
        return np.zeros(len(layout.vias))
    return np.array([via_impedance(layout, via, frequency) for via in layout.vias])


def face_impedances(sheet: CopperSheet, frequency: float) -> tuple[complex, complex]:
    r"""Impedance per square of a face with its own current, and with that of the other face [ohm].

    Of two joined faces with :math:`\gamma = (1 + j)/\delta` the sum and the difference of their fields are

    .. math::
        E_1 + E_2 = \frac\gamma\sigma\coth\frac{\gamma t}2\,(K_1 + K_2), \qquad
        E_1 - E_2 = \frac\gamma\sigma\,\frac{\tanh u}{1 - \tanh u/u}\,(K_1 - K_2), \qquad u = \frac{\gamma t}2

    The first is the plate's. So would the second be with tanh u alone if the currents were those of the magnetic field
    on the faces; but two sheets also have a field between them, :math:`j\omega\mu_0 t\,h = E_1 - E_2` by their vector
    potential, which is not the metal's. The plate's own currents are then :math:`K_1 + h` and :math:`K_2 - h`. DC
    spreads evenly (:math:`2/\sigma t` and :math:`6/\sigma t`) and has its inductance inside the metal, which
    :math:`j\omega\mu_0 t/12` per square adds to that of the sheets; the faces part as the skin gets thin. Of a single
    sheet there is no other.

    Parameters
    ----------
    sheet : CopperSheet
        The copper.
    frequency : float
        Frequency [Hz], finite; at 0 the direct-current resistance.
    """
    conductivity = sheet.material.conductivity
    even = sheet_resistance(sheet.thickness, conductivity)
    if sheet.faces is Faces.JOINED:
        if frequency == 0:
            return 4 * even, -2 * even
        both = sheet_impedance_both_sides(frequency, sheet.thickness, conductivity)
        apart = _difference_impedance(frequency, sheet)
        return both + apart / 2, both - apart / 2
    if frequency == 0:
        return even, 0.0
    formula = sheet_impedance_one_side if sheet.faces is Faces.ONE else sheet_impedance_both_sides
    return formula(frequency, sheet.thickness, conductivity), 0.0


def _difference_impedance(frequency: float, sheet: CopperSheet) -> complex:
    """Difference of the faces' fields over that of their currents [ohm per square]."""
    constant = diffusion_constant(frequency, sheet.material.conductivity)
    half = constant * sheet.thickness / 2
    small = half**2 / 3 * (1 - 2 * half**2 / 5 + 17 * half**4 / 105)
    left = small if abs(half) < _THICK else 1 - cmath.tanh(half) / half
    return constant / sheet.material.conductivity * cmath.tanh(half) / left
