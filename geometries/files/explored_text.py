"""The text of a scenario file for one state of a what-if study: today's board and the explored one."""

from __future__ import annotations

import tomllib
from typing import Any

import tomli_w

from geometries.files.defaults import inherit_defaults
from geometries.files.stackups import stackup_tables
from geometries.study.described_variant import VariantTable
from geometries.study.explore import Exploration, ExploredVariant
from geometries.study.keys import key_names
from geometries.tables import keys_of

EXPLORED = "explored"
"""Name of the variant that holds the state."""

_LEFT_OUT = ("variant", "explore", "sweep", "tolerance", "measurement", "budgets")
_BOARD = "explored board"
_LABELS = ("name", "case", "copper", "dielectric")
"""Keys by which an entry of a list is named."""


def placeholder(number: int) -> str:
    """What stands in the text for the value of an axis.

    Examples
    --------
    >>> placeholder(0)
    '@0@'
    """
    return f"@{number}@"


def explored_text(asked: Exploration, variant: ExploredVariant) -> str:
    """A scenario file with :func:`placeholder` for every value.

    Parameters
    ----------
    asked : Exploration
        Read from a file.
    variant : ExploredVariant
        The one that is explored.

    Returns
    -------
    str
        TOML. Today's reference and the explored variant are its variants; keys of tables of the whole file hold for
        both. Budgets are left out: whoever has the values has these.

    Examples
    --------
    >>> from geometries.files.explore_reading import parse_exploration
    >>> from geometries.files.reading import builtin_text
    >>> asked = parse_exploration(builtin_text("irrigation-controller"))
    >>> [line for line in explored_text(asked, asked.variants[0]).splitlines() if "@0@" in line]
    ['width = "@0@"']
    """
    document = inherit_defaults(tomllib.loads(asked.scenario.text))
    written = {each.get("name", document.get("title")): each for each in document["variant"]}
    today = written[asked.scenario.reference]
    explored = {**_copy(written[variant.name]), "name": EXPLORED}
    whole = _copy({key: value for key, value in document.items() if key not in _LEFT_OUT})
    for number, axis in enumerate(asked.axes):
        names = key_names(axis.key)
        if names[0] == "stackup" and isinstance(explored.get("stackup"), str) and len(names) > 1:
            whole.setdefault("stackups", {})[_BOARD] = _board(explored["stackup"], whole)
            explored["stackup"] = _BOARD
        if names[0] == "stackup" and len(names) > 1:
            _set(whole["stackups"][_BOARD]["layers"], names[1:], placeholder(number))
        else:
            _set(explored if names[0] in keys_of(VariantTable) else whole, names, placeholder(number))
    return tomli_w.dumps({**whole, "reference": today["name"], "variant": [today, explored]})


def _board(name: str, document: dict[str, Any]) -> dict[str, Any]:
    """A stackup as it is written, to change one of its layers."""
    board: dict[str, Any] = _copy(document.get("stackups", {}).get(name) or stackup_tables()[name])
    return board


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copy(each) for key, each in value.items()}
    return [_copy(each) for each in value] if isinstance(value, list) else value


def _set(node: Any, names: list[str], value: str) -> None:
    """Write a value where names lead to, by keys, and by the names or numbers of the entries of lists."""
    for name in names[:-1]:
        node = node[_entry(node, name)] if isinstance(node, list) else node.setdefault(name, {})
    node[_entry(node, names[-1]) if isinstance(node, list) else names[-1]] = value


def _entry(entries: list[Any], name: str) -> int:
    named = [number for number, each in enumerate(entries) if name in map(each.get, _LABELS)]
    return named[0] if named else int(name)
