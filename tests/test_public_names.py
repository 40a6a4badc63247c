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


@pytest.mark.parametrize("name", [name for name in geometries.__all__ if callable(getattr(geometries, name))])
def test_every_class_and_function_to_describe_with_shows_an_example(name):
    assert "    Examples\n    --------\n    >>> " in getattr(geometries, name).__doc__
