"""The errors a description can raise.

::

    GeometryError(ValueError)      valid parts that do not fit together
    └── ScenarioError              a scenario file that cannot be read as meant; names file, key and cure
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable


class GeometryError(ValueError):
    """Valid parts do not fit together: overlap, a plane above its loop, a layer that does not exist.

    Examples
    --------
    >>> from geometries import Circle, GeometryError
    >>> try:
    ...     Circle(centre=(0.0, 0.0), radius=-1e-3)
    ... except GeometryError as error:
    ...     print(type(error).__name__)
    GeometryError
    """


class ScenarioError(GeometryError):
    """A scenario file cannot be read as it was meant.

    The message says what is wrong, where (file and key) and how to fix it.

    Examples
    --------
    >>> from geometries import ScenarioError, read_scenario
    >>> try:
    ...     read_scenario('titel = "misspelt"')
    ... except ScenarioError as error:
    ...     print("titel" in str(error))
    True
    """


def require_unique(kind: str, names: Iterable[str]) -> None:
    """Refuse names that occur twice.

    Raises
    ------
    GeometryError
        With the kind of thing that is named, the name, and how often it occurs.
    """
    every = list(names)
    for name in every:
        if every.count(name) > 1:
            raise GeometryError(f"{kind} name {name!r} occurs {every.count(name)} times; names must be unique")


def nearest(word: str, known: list[str]) -> str:
    """Name the nearest match, or everything that is known."""
    close = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return f"did you mean {close[0]!r}?" if close else "known here: " + ", ".join(sorted(known))
