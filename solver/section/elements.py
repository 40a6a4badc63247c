"""Triangles and the functions on them: those of scikit-fem, evaluated no sooner than asked for and all at once.

A basis of scikit-fem holds every shape function and its slope at every quadrature point of every triangle from the
start. Matrices are assembled without them (:mod:`solver.section.forms`), and a field is one product of its
coefficients with the shape functions of the reference triangle.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, DiscreteField, Element, MeshTri, MeshTri2
from skfem.assembly.basis.abstract_basis import AbstractBasis


class Triangles(MeshTri):
    """Straight triangles, whose edges are told apart by one number each instead of by their two ends."""

    @staticmethod
    def build_entities(
        t: NDArray[np.int32], indices: list[list[int]], sort: bool = True
    ) -> tuple[NDArray[np.int32], NDArray[np.int64]]:
        """Edges between given two of the corners `t` (3, e): their ends (2, n), and which ones each triangle has.

        Edges are numbered, and their ends sorted, as scikit-fem does it.
        """
        low, high = np.sort(np.hstack([t[corners] for corners in indices]), axis=0).astype(np.int64)
        count = t.max(initial=0) + 1
        edges, of_triangles = np.unique(low * count + high, return_inverse=True)
        return np.stack(np.divmod(edges, count)).astype(np.int32), of_triangles.reshape(len(indices), -1)


class CurvedTriangles(MeshTri2):
    """Triangles with edges that are arcs of parabolas."""

    build_entities = staticmethod(Triangles.build_entities)


class TriangleBasis(Basis):
    """Functions of an element on all triangles of a mesh, or on some; the arguments are those of scikit-fem's basis."""

    def __init__(
        self,
        mesh: MeshTri,
        elem: Element,
        *,
        elements: NDArray[np.int64] | None = None,
        **how: Any,
    ) -> None:
        AbstractBasis.__init__(self, mesh, elem, refdom=mesh.refdom, disable_doflocs=True, **how)
        self.tind: NDArray[np.int64] | None = elements
        self.nelems: int = mesh.nelements if elements is None else len(elements)

    @cached_property
    def basis(self) -> list[tuple[DiscreteField]]:
        """Shape functions one by one, for forms of scikit-fem."""
        return [self.elem.gbasis(self.mapping, self.X, index, tind=self.tind) for index in range(self.Nbfun)]

    @cached_property
    def shapes(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Shape functions (i, q) and their slopes (2, i, q) at the quadrature points of the reference triangle."""
        shapes = [self.elem.lbasis(self.X, index) for index in range(self.Nbfun)]
        return np.array([value for value, _ in shapes]), np.array([slope for _, slope in shapes]).swapaxes(0, 1)

    @cached_property
    def tangents(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Derivatives of position along the reference triangle's two axes, (2, e, q), and the area they span, (e, q).

        In straight triangles they are the edges from the first corner, and q is 1.
        """
        places = self.X[:, :1] if self.mesh.affine else self.X
        first, second = self.mapping.DF(places, tind=self.tind).swapaxes(0, 1)
        return first, second, first[0] * second[1] - first[1] * second[0]

    @cached_property
    def dx(self) -> NDArray[np.float64]:
        """Area that each quadrature point stands for, (e, q)."""
        return np.asarray(np.abs(self.tangents[2]) * self.W)

    @cached_property
    def doflocs(self) -> NDArray[np.float64]:
        """Places of all unknowns, (2, n)."""
        places = np.zeros((2, self.N))
        places[:, self.dofs.element_dofs] = self.mapping.F(self.elem.doflocs.T).swapaxes(1, 2)
        return places

    def interpolate(self, w: NDArray[Any]) -> DiscreteField:
        """The function with coefficients `w` (n,) and its gradient at the quadrature points, (e, q) and (2, e, q)."""
        values, slopes = self.shapes
        own = w[self.element_dofs].T
        return DiscreteField(own @ values, self.outward(own @ slopes))

    def outward(self, slopes: NDArray[Any]) -> NDArray[Any]:
        """Gradients with given components along the reference triangle's axes, (..., 2, e, q) both."""
        first, second, span = self.tangents
        along, across = slopes[..., 0, :, :] / span, slopes[..., 1, :, :] / span
        return np.stack(
            [second[1] * along - first[1] * across, first[0] * across - second[0] * along],
            axis=-3,
        )
