"""The quick matrices are the ones that the weak forms define."""

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementTriP2, ElementTriP3, LinearForm, MeshTri, MeshTri2
from skfem.helpers import dot, grad

from solver.section.elements import CurvedTriangles, TriangleBasis, Triangles
from solver.section.forms import load_vector, mass_matrix, stiffness_matrix

SQUARE = MeshTri().refined(2)
SHEARED = MeshTri(np.array([SQUARE.p[0] + 0.7 * SQUARE.p[1], 1e-3 * (SQUARE.p[1] - 0.3 * SQUARE.p[0] ** 2)]), SQUARE.t)
PART = np.arange(3, 20)


@pytest.fixture(params=[ElementTriP2, ElementTriP3], ids=["second order", "third order"])
def element(request):
    return request.param()


@pytest.fixture(params=[None, PART], ids=["all triangles", "some triangles"])
def basis(request, element):
    return TriangleBasis(SHEARED, element, elements=request.param)


def weights(basis):
    return np.linspace(1.0, 3.0, basis.nelems)


def at_points(basis):
    return np.repeat(weights(basis)[:, None], len(basis.W), axis=1)


def assert_same(found, expected):
    assert abs(found - expected).max() < 1e-13 * abs(expected).max()


def test_the_stiffness_is_that_of_the_weak_form(basis):
    form = BilinearForm(lambda u, v, w: w.weight * dot(grad(u), grad(v)))
    assert_same(stiffness_matrix(basis, weights(basis)), form.assemble(basis, weight=at_points(basis)))


def test_the_mass_is_that_of_the_weak_form(basis):
    form = BilinearForm(lambda u, v, w: w.weight * u * v)
    assert_same(mass_matrix(basis, weights(basis)), form.assemble(basis, weight=at_points(basis)))


def test_the_load_is_that_of_the_weak_form(basis):
    form = LinearForm(lambda v, w: w.weight * v)
    assert_same(load_vector(basis, weights(basis)), form.assemble(basis, weight=at_points(basis)))


def test_the_mass_of_one_is_the_area(element):
    basis = TriangleBasis(SHEARED, element)
    ones = np.ones(basis.N)
    first, second = (SHEARED.p[:, SHEARED.t[k]] - SHEARED.p[:, SHEARED.t[0]] for k in (1, 2))
    area = np.abs(first[0] * second[1] - first[1] * second[0]).sum() / 2
    assert ones @ mass_matrix(basis, np.ones(basis.nelems)) @ ones == pytest.approx(area, rel=1e-12, abs=0)


def curved(kind):
    mesh = MeshTri2.from_mesh(SQUARE)
    return kind(mesh.doflocs + 0.01 * np.sin(5 * mesh.doflocs[::-1]), mesh.t)


def test_edges_are_those_of_the_library_in_its_order():
    ours, theirs = Triangles(SHEARED.p, SHEARED.t), MeshTri(SHEARED.p, SHEARED.t)
    assert (ours.facets == theirs.facets).all()
    assert (ours.t2f == theirs.t2f).all()


@pytest.mark.parametrize("elements", [None, PART], ids=["all triangles", "some triangles"])
def test_a_function_and_its_gradient_in_curved_triangles_are_those_of_the_library(element, elements):
    ours = TriangleBasis(curved(CurvedTriangles), element, elements=elements)
    theirs = Basis(curved(MeshTri2), element, elements=elements)
    coefficients = np.random.default_rng(5).normal(size=(ours.N, 2)) @ [1, 1j]
    found, expected = ours.interpolate(coefficients), theirs.interpolate(coefficients)
    assert_same(np.asarray(found), np.asarray(expected))
    assert_same(found.grad, expected.grad)
    assert_same(ours.dx, theirs.dx)
    assert_same(ours.doflocs, theirs.doflocs)


def test_the_stiffness_of_straight_and_curved_triangles_is_that_of_the_weak_form(element):
    mesh = curved(CurvedTriangles)
    straight = CurvedTriangles.from_mesh(SQUARE).doflocs
    mesh.doflocs[:, :-40] = straight[:, :-40]  # the last 40 nodes are middles of edges
    basis = TriangleBasis(mesh, element, intorder=8)
    form = BilinearForm(lambda u, v, w: dot(grad(u), grad(v)))
    assert_same(stiffness_matrix(basis, np.ones(basis.nelems)), form.assemble(basis))
