"""The errors a description can raise.

::

    GeometryError(ValueError)      valid parts that do not fit together
    └── ScenarioError              a scenario file that cannot be read as meant; names file, key and cure
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from itertools import islice

_MOST_SHOWN = 80
_LONGEST_WORD = 250
_QUOTED = re.compile(r"""(?<![^\s(=])(['"])((?:(?!\1)[^\n]){81,})\1(?=[\s;,:.)]|$)""", re.MULTILINE)
_WORD = re.compile(rf"\S{{{_LONGEST_WORD + 1},}}")


class GeometryError(ValueError):
    """Valid parts do not fit together: overlap, a plane above its loop, a layer that does not exist.

    What the message quotes of a file is cut, and its control characters are spelt.

    Examples
    --------
    >>> from geometries import Circle, GeometryError
    >>> try:
    ...     Circle(centre=(0.0, 0.0), radius=-1e-3)
    ... except GeometryError as error:
    ...     print(type(error).__name__)
    GeometryError
    """

    def __init__(self, message: object = "") -> None:
        super().__init__(brief(str(message)))


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
    return f"did you mean {close[0]!r}?" if close else "known here: " + (", ".join(sorted(known)) or "none")


def shown(value: object) -> str:
    """A value of a file as one short line for a message: text in quotation marks, control characters as escapes.

    Examples
    --------
    >>> shown("1,5 ns"), shown(0.2), shown([1] * 500), shown("x" * 500)[-5:]
    ('"1,5 ns"', '0.2', 'a list of 500', 'xxx…"')
    """
    if isinstance(value, str):
        return f'"{_cut("".join(map(_escaped, islice(value, _MOST_SHOWN + 1))), _MOST_SHOWN - 2)}"'
    if isinstance(value, dict | list | tuple):
        return f"a {'table' if isinstance(value, dict) else 'list'} of {len(value)}"
    if isinstance(value, int) and value.bit_length() > 200:
        return f"an integer of about {value.bit_length() * 0.30103:.0f} digits"
    return _cut(repr(value), _MOST_SHOWN)


def brief(message: str) -> str:
    """A message whose quotations are at most 80 characters long, and which holds nothing that steers a terminal.

    Examples
    --------
    >>> brief("name '" + 100 * "x" + "' is long")[-12:]
    "xx…' is long"
    """
    plain = "".join(sign if sign == "\n" else _escaped(sign) for sign in message)
    shorter = _QUOTED.sub(lambda found: f"{found[1]}{_cut(found[2], _MOST_SHOWN)}{found[1]}", plain)
    return _WORD.sub(lambda found: _cut(found[0], _LONGEST_WORD), shorter)


def _escaped(sign: str) -> str:
    return sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii")


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"
