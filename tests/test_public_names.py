import inspect
import re
import subprocess
import sys
from dataclasses import fields, is_dataclass

import pytest

import geometries
import solver


@pytest.mark.parametrize("package", [geometries, solver])
def test_every_public_name_is_there_and_documented(package):
    for name in package.__all__:
        item = getattr(package, name)
        assert not callable(item) or item.__doc__, name


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="has no attribute 'solve_everything'"):
        solver.solve_everything  # noqa: B018 - the access is the test


PUBLIC = [
    (package, name) for package in (geometries, solver) for name in package.__all__ if callable(getattr(package, name))
]


@pytest.mark.parametrize(("package", "name"), PUBLIC)
def test_every_public_function_and_class_shows_an_example(package, name):
    assert "Examples\n--------\n>>> " in inspect.getdoc(getattr(package, name))


def parameters(function):
    return [name for name in inspect.signature(function).parameters if not name.startswith("_")]


@pytest.mark.parametrize("name", [name for name in solver.__all__ if inspect.isfunction(getattr(solver, name))])
def test_every_public_function_of_the_solver_describes_all_it_takes_and_gives(name):
    function = getattr(solver, name)
    told = inspect.getdoc(function)
    described = told.partition("Parameters\n----------\n")[2].partition("\n\n")[0]
    for parameter in parameters(function):
        assert re.search(rf"^(\w+, )*{parameter}(, \w+)* : ", described, re.MULTILINE), parameter
    assert "Returns\n-------\n" in told


@pytest.mark.parametrize("name", [name for name in solver.__all__ if is_dataclass(getattr(solver, name))])
def test_every_public_result_describes_all_its_fields(name):
    described = inspect.getdoc(getattr(solver, name)).partition("Parameters\n----------\n")[2].partition("\n\n")[0]
    for field in fields(getattr(solver, name)):
        assert re.search(rf"^(\w+, )*{field.name}(, \w+)* : ", described, re.MULTILINE), field.name


@pytest.mark.parametrize("library", ["gmsh", "matplotlib", "skfem"])
def test_importing_the_solver_does_not_load(library):
    program = f"import sys, solver\nsys.exit({library!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
