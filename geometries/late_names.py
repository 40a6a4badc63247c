"""Public names of a package that are loaded when they are first used, so that the command line answers at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from importlib import import_module


def names_loaded_late(package: str, homes: Mapping[str, Iterable[str]]) -> Callable[[str], object]:
    """The function `__getattr__` of a package.

    Parameters
    ----------
    package : str
        Its name.
    homes : mapping of str to iterable of str
        Module within the package, and the names that live there; "new: old" where a name is another one there.

    Returns
    -------
    callable
        Gives the value of a name; raises AttributeError for a name that has no home.

    Examples
    --------
    >>> find = names_loaded_late("geometries", {"quantities": ("MM",)})
    >>> find("MM")
    0.001
    >>> find("MILE")
    Traceback (most recent call last):
    AttributeError: module 'geometries' has no attribute 'MILE'
    """
    places = {
        name.partition(": ")[0]: (home, name.rpartition(": ")[2]) for home, names in homes.items() for name in names
    }

    def find(name: str) -> object:
        if name not in places:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        home, own_name = places[name]
        return getattr(import_module(f"{package}.{home}"), own_name)

    return find
