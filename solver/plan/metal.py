"""What the metal of sheets and posts adds to the impedances between the currents of the basis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from geometries.layout.layout import CopperSheet, Faces, PlanLayout
from solver.formulas import sheet_impedance_both_sides, sheet_impedance_one_side, sheet_resistance
from solver.plan.basis import FaceCurrents, PlanBasis
from solver.plan.vias import via_impedance

Matrix = sparse.csr_matrix
Squares = tuple[tuple[Matrix, Matrix], ...]
"""For each sheet how many squares currents pass with those on the same face, and with those on the other [1]."""


_UNDECIDED = 1e-4
"""At 0 Hz nothing says on which face a plate's current flows; so much of its resistance makes both alike."""


def square_matrices(basis: PlanBasis) -> Squares:
    """Integrals of K K' over every sheet for all pairs of currents."""
    sheets = [[face for face in basis.faces if face.sheet == number] for number in range(len(basis.meshes))]
    return tuple((_same_face(faces), _other_face(faces)) for faces in sheets)


def _same_face(faces: Sequence[FaceCurrents]) -> Matrix:
    parts: Any = (part.T @ sparse.diags(face.triangles.areas) @ part for face in faces for part in face.density)
    return Matrix(sum(parts))


def _other_face(faces: Sequence[FaceCurrents]) -> Matrix:
    """Where both faces carry current, one over the other."""
    if len(faces) == 1:
        return Matrix((faces[0].density[0].shape[1],) * 2)
    _, lower, upper = np.intersect1d(faces[0].chosen, faces[1].chosen, return_indices=True)
    areas = sparse.diags(faces[0].triangles.areas[lower])
    pairs = zip(faces[0].density, faces[1].density, strict=True)
    half: Any = sum(below[lower].T @ areas @ above[upper] for below, above in pairs)
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

    Of two joined faces these are the plate's,

    .. math:: \frac{E_1}{K_1} = Z_c\coth\gamma t, \qquad \frac{E_1}{K_2} = Z_c\,\mathrm{csch}\,\gamma t

    with :math:`\gamma = (1 + j)/\delta` and :math:`Z_c = \gamma/\sigma`: direct current spreads evenly, and the faces
    part as the skin gets thin. Of a single sheet there is no other.

    Parameters
    ----------
    sheet : CopperSheet
        The copper.
    frequency : float
        Frequency [Hz], finite; at 0 the direct-current resistance.
    """
    conductivity = sheet.material.conductivity
    if sheet.faces is Faces.JOINED:
        if frequency == 0:
            even = sheet_resistance(sheet.thickness, conductivity)
            return even * (1 + _UNDECIDED), even * (1 - _UNDECIDED)
        own = sheet_impedance_one_side(frequency, sheet.thickness, conductivity)
        return own, 2 * sheet_impedance_both_sides(frequency, sheet.thickness, conductivity) - own
    if frequency == 0:
        return sheet_resistance(sheet.thickness, conductivity), 0.0
    formula = sheet_impedance_one_side if sheet.faces is Faces.ONE else sheet_impedance_both_sides
    return formula(frequency, sheet.thickness, conductivity), 0.0
