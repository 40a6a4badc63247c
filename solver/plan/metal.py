"""What the metal of sheets and posts adds to the impedances between the currents of the basis."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from geometries.layout.layout import CopperSheet, Faces, PlanLayout
from solver.formulas import sheet_impedance_both_sides, sheet_impedance_one_side, sheet_resistance
from solver.plan.basis import PlanBasis
from solver.plan.vias import via_impedance

Squares = tuple[sparse.csr_matrix, ...]


def square_matrices(basis: PlanBasis) -> Squares:
    """For each sheet, the integral of K K' over it for all pairs of currents: how many squares they pass [1]."""
    return tuple(
        sparse.csr_matrix(sum(part.T @ sparse.diags(triangles.areas) @ part for part in components))
        for triangles, components in zip(basis.triangles, basis.density, strict=True)
    )


def metal_impedances(layout: PlanLayout, squares: Squares, frequency: float) -> sparse.csr_matrix:
    """Impedances of the sheets between the currents of the basis [ohm]; zero at infinite frequency."""
    if math.isinf(frequency):
        return sparse.csr_matrix(squares[0].shape)
    parts: Any = (
        sheet_impedance(sheet, frequency) * count for sheet, count in zip(layout.sheets, squares, strict=True)
    )
    return sparse.csr_matrix(sum(parts))


def via_impedances(layout: PlanLayout, frequency: float) -> NDArray[np.inexact]:
    """Impedance of each post's metal [ohm]; zero at infinite frequency."""
    if math.isinf(frequency):
        return np.zeros(len(layout.vias))
    return np.array([via_impedance(layout, via, frequency) for via in layout.vias])


def sheet_impedance(sheet: CopperSheet, frequency: float) -> complex:
    """Impedance per square of a sheet's copper [ohm]; its direct-current resistance at 0 Hz."""
    if frequency == 0:
        return sheet_resistance(sheet.thickness, sheet.material.conductivity)
    formula = sheet_impedance_one_side if sheet.faces is Faces.ONE else sheet_impedance_both_sides
    return formula(frequency, sheet.thickness, sheet.material.conductivity)
