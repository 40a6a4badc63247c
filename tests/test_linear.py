import numpy as np
import pytest
import scipy.sparse as sparse
from skfem import ElementTriP2, ElementTriP3, ElementTriP4, MeshTri

from solver.errors import SolutionError
from solver.section.elements import TriangleBasis
from solver.section.forms import mass_matrix, stiffness_matrix
from solver.section.linear_solver import solve_on

MESH = MeshTri().refined(3)


def problem(element, dtype):
    basis = TriangleBasis(MESH, element)
    everywhere = np.ones(basis.nelems)
    factor = 0.3j if dtype is complex else 0.3
    matrix = stiffness_matrix(basis, everywhere) + factor * mass_matrix(basis, everywhere)
    right = np.random.default_rng(3).normal(size=(basis.N, 2)).astype(dtype)
    free = basis.complement_dofs(basis.get_dofs())
    return basis, matrix, right, free


@pytest.mark.parametrize("dtype", [float, complex])
@pytest.mark.parametrize("element", [ElementTriP2(), ElementTriP3(), ElementTriP4()], ids=["P2", "P3", "P4"])
def test_eliminating_the_inside_of_the_triangles_first_leaves_the_solution_the_same(element, dtype):
    basis, matrix, right, free = problem(element, dtype)
    direct = solve_on(matrix, right, free)
    condensed = solve_on(matrix, right, free, inner=basis.interior_dofs)
    assert np.abs(condensed - direct).max() < 1e-11 * np.abs(direct).max()
    assert not condensed[np.setdiff1d(np.arange(basis.N), free)].any()


def test_one_right_hand_side_may_be_a_vector():
    basis, matrix, right, free = problem(ElementTriP3(), float)
    alone = solve_on(matrix, right[:, 0], free, inner=basis.interior_dofs)
    assert alone == pytest.approx(solve_on(matrix, right, free)[:, 0], rel=1e-9, abs=1e-12)


def test_triangles_whose_inside_is_not_free_are_left_alone():
    basis, matrix, right, _ = problem(ElementTriP3(), float)
    some = np.unique(basis.element_dofs[:, :40])
    solution = solve_on(matrix, right, some, inner=basis.interior_dofs)
    assert (matrix @ solution)[some] == pytest.approx(right[some], rel=1e-9, abs=1e-9)
    assert not np.delete(solution, some, axis=0).any()


def test_inner_unknowns_that_couple_to_each_other_are_refused():
    matrix = sparse.diags([-np.ones(9), np.full(10, 2.0), -np.ones(9)], offsets=[-1, 0, 1]).tocsr()
    with pytest.raises(SolutionError, match="relative residual"):
        solve_on(matrix, np.ones(10), np.arange(10), inner=np.arange(3, 6)[None, :])
