"""The text of a scenario file for one state of a what-if study: today's board and the explored one."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import tomli_w

from geometries.errors import ScenarioError, nearest
from geometries.files.defaults import inherit_defaults
from geometries.files.stackups import stackup_tables
from geometries.study.described_variant import VariantTable
from geometries.study.description import Description
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
    today = _written(document, asked.scenario.reference)
    explored = {**_copy(_written(document, variant.base)), "name": EXPLORED}
    whole = _copy({key: value for key, value in document.items() if key not in _LEFT_OUT})
    for choice, number in zip(asked.choices, variant.picked, strict=True):
        _set_key(whole, explored, choice.key, choice.values[number])
    for number, axis in enumerate(asked.axes):
        names = key_names(axis.key)
        if names[0] == "stackup" and isinstance(explored.get("stackup"), str) and len(names) > 1:
            whole.setdefault("stackups", {})[_BOARD] = _board(explored["stackup"], whole)
            explored["stackup"] = _BOARD
        if names[0] == "stackup" and len(names) > 1:
            _set(whole["stackups"][_BOARD]["layers"], names[1:], placeholder(number))
        else:
            _set_key(whole, explored, axis.key, placeholder(number))
    return tomli_w.dumps({**whole, "reference": today["name"], "variant": [today, explored]})


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenFile:
    """The text of a scenario file, in which keys are looked up and replaced.

    Parameters
    ----------
    text : str
        TOML.
    read : callable
        From its tables to their description.
    """

    text: str
    read: Callable[[dict[str, Any]], Description]

    def stated(self, variant: str, key: str) -> Any:
        """What a variant has for a key; None if nothing is written."""
        document = inherit_defaults(tomllib.loads(self.text))
        names = key_names(key)
        node: Any = _written(document, variant) if names[0] in keys_of(VariantTable) else document
        for name in names:
            if isinstance(node, list):
                node = node[_entry(node, name)]
            elif isinstance(node, dict) and name in node:
                node = node[name]
            else:
                return None
        return node

    def changed(self, variant: str, changes: Mapping[str, Any]) -> Description:
        """The file with other values for keys of a variant, or of the whole file."""
        document = _copy(inherit_defaults(tomllib.loads(self.text)))
        for key, value in changes.items():
            _set_key(document, _written(document, variant), key, value)
        return self.read(document)


def _written(document: dict[str, Any], name: str) -> dict[str, Any]:
    """A variant as it is written; the only one may go by the title."""
    own: dict[str, Any] = next(each for each in document["variant"] if each.get("name", document.get("title")) == name)
    return own


def _set_key(whole: dict[str, Any], variant: dict[str, Any], key: str, value: Any) -> None:
    names = key_names(key)
    _set(variant if names[0] in keys_of(VariantTable) else whole, names, value)


def _board(name: str, document: dict[str, Any]) -> dict[str, Any]:
    """A stackup as it is written, to change one of its layers."""
    board: dict[str, Any] = _copy(document.get("stackups", {}).get(name) or stackup_tables()[name])
    return board


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copy(each) for key, each in value.items()}
    return [_copy(each) for each in value] if isinstance(value, list) else value


def _set(node: Any, names: list[str], value: Any) -> None:
    """Write a value where names lead to, by keys, and by the names or numbers of the entries of lists."""
    for name in names[:-1]:
        node = node[_entry(node, name)] if isinstance(node, list) else node.setdefault(name, {})
    node[_entry(node, names[-1]) if isinstance(node, list) else names[-1]] = value


def _entry(entries: list[Any], name: str) -> int:
    known = [_called(each) for each in entries]
    if name in known:
        return known.index(name)
    if name.isdecimal() and int(name) < len(entries):
        return int(name)
    raise ScenarioError(
        f"explore: no entry is called {name!r}; {nearest(name, list(filter(None, known)))} (or give its number, from 0)"
    )


def _called(entry: Any) -> str:
    return next((str(entry[label]) for label in _LABELS if isinstance(entry, dict) and label in entry), "")
