"""Public names of a package that are loaded when they are first used, so that the command line answers at once."""

from __future__ import annotations

import ast
from collections.abc import Callable
from importlib import import_module


def names_loaded_late(package: str, source: str) -> tuple[list[str], Callable[[str], object]]:
    r"""`__all__` and the function `__getattr__` of a package whose imports stand under `if TYPE_CHECKING`.

    Parameters
    ----------
    package : str
        Its name.
    source : str
        Its own text; what is imported under a condition is what it offers.

    Returns
    -------
    list of str
        The names.
    callable
        Gives the value of a name; raises AttributeError for one that is not offered.

    Examples
    --------
    >>> offered, find = names_loaded_late(
    ...     "geometries", "if TYPE_CHECKING:\n    from geometries.quantities import MM as MILLIMETRE"
    ... )
    >>> offered, find("MILLIMETRE")
    (['MILLIMETRE'], 0.001)
    >>> find("MILE")
    Traceback (most recent call last):
    AttributeError: module 'geometries' has no attribute 'MILE'
    """
    conditions = (each for each in ast.parse(source).body if isinstance(each, ast.If))
    imports = (each for condition in conditions for each in condition.body if isinstance(each, ast.ImportFrom))
    homes = {alias.asname or alias.name: (str(each.module), alias.name) for each in imports for alias in each.names}

    def find(name: str) -> object:
        if name not in homes:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        module, own_name = homes[name]
        return getattr(import_module(module), own_name)

    return sorted(homes), find
