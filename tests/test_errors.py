"""The error trees drawn in the docstrings are the ones in the code."""

import inspect
import re

import pytest

import geometries.errors
import solver.errors


@pytest.mark.parametrize("module", [geometries.errors, solver.errors])
def test_the_tree_in_the_docstring_is_the_tree_in_the_code(module):
    drawn = set(re.findall(r"(\w+Error)\b(?=[ (])", module.__doc__)) - {"ValueError", "RuntimeError"}
    defined = {
        name
        for name, item in inspect.getmembers(module, inspect.isclass)
        if issubclass(item, Exception) and item.__module__ == module.__name__
    }
    assert drawn == defined


def test_every_solver_error_has_one_root():
    for name, item in inspect.getmembers(solver.errors, inspect.isclass):
        if issubclass(item, Exception) and name != "SolverError":
            ours = [base for base in item.__bases__ if base.__module__ != "builtins"]
            assert ours == [solver.errors.SolverError]
