"""From a scenario file to a scenario. All input errors end here, as ScenarioError."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from geometries.errors import GeometryError, ScenarioError, nearest
from geometries.files.defaults import inherit_defaults, with_followers, with_written_keys
from geometries.files.messages import explained
from geometries.files.stackups import stackup_tables
from geometries.study.build import build_scenario
from geometries.study.description import Description
from geometries.study.scenario import Scenario
from geometries.tables import read_table
from geometries.text_files import path_under, read_text_file, require_plain_text

_OF_PLAN_FILES = ("title", "frequency")
"""Keys of an outline's own file that a scenario states itself."""

LARGEST_SCENARIO = 2_000_000
"""A scenario file of more bytes is refused."""


def builtin_scenario_names() -> tuple[str, ...]:
    """Names of the scenario files that come with the program.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> from geometries import builtin_scenario_names
    >>> "orchard-pump" in builtin_scenario_names()
    True
    """
    folder = resources.files("geometries").joinpath("scenarios")
    return tuple(sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml")))


def builtin_text(name: str) -> str:
    """Text of one of the scenario files that come with the program.

    Raises
    ------
    ScenarioError
        If there is none of that name.
    """
    if name not in builtin_scenario_names():
        raise ScenarioError(f"no built-in scenario {name!r}; {nearest(name, list(builtin_scenario_names()))}")
    return resources.files("geometries").joinpath("scenarios", f"{name}.toml").read_text(encoding="utf-8")


def read_builtin_scenario(name: str) -> Scenario:
    """Read one of the scenario files that come with the program.

    Parameters
    ----------
    name : str
        One of :func:`builtin_scenario_names`.

    Returns
    -------
    Scenario
        As it comes with the program.

    Raises
    ------
    ScenarioError
        As for :func:`builtin_text`.

    Examples
    --------
    >>> [variant.name for variant in read_builtin_scenario("orchard-pump").variants]
    ['one end', 'both ends']
    """
    return parse_scenario(builtin_text(name), where=f"{name}.toml")


def read_scenario(source: Path | str, *, allow_outside: bool = False) -> Scenario:
    """Read a scenario.

    Parameters
    ----------
    source : Path or str
        A TOML file; text with a line break or an equals sign is the scenario itself.
    allow_outside : bool
        Whether files that it names may lie outside its folder.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioError
        If the file cannot be read or does not describe a scenario; the message says what, where and
        how to fix it.

    Examples
    --------
    >>> scenario = read_scenario('''
    ... title = "two layers"
    ... stackup = "2L-1.6"
    ... loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
    ... ''')
    >>> scenario.variants[0].length
    0.008
    """
    if isinstance(source, str) and ("\n" in source or "=" in source):
        return parse_scenario(source)
    where = str(source)
    return build(describe(read_text(Path(source)), where=where, allow_outside=allow_outside), where=where)


def read_description(path: Path, *, allow_outside: bool = False) -> Description:
    """What a scenario file says, for :func:`build` and :func:`geometries.study.read_back.read_back`.

    Raises
    ------
    ScenarioError
        As for :func:`read_scenario`.
    """
    return describe(read_text(path), where=str(path), allow_outside=allow_outside)


def read_text(path: Path) -> str:
    """Text of a scenario file.

    Raises
    ------
    ScenarioError
        If there is no such file, or it cannot be read as text.
    """
    return read_text_file(path, "file", most=LARGEST_SCENARIO)


def parse_scenario(text: str, *, where: str = "scenario") -> Scenario:
    """Read a scenario from the text of a TOML file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_scenario`.
    """
    return build(describe(text, where=where), where=where)


@contextmanager
def located(where: str) -> Iterator[None]:
    """Name the file in a message about what does not fit together."""
    try:
        yield
    except GeometryError as error:
        raise ScenarioError(f"{where}: {error}") from error


def build(description: Description, *, where: str) -> Scenario:
    """Build a scenario; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_scenario`.
    """
    with located(where):
        return build_scenario(description)


def parse_document(text: str, *, where: str) -> dict[str, Any]:
    """Tables of a TOML file, not checked yet.

    Raises
    ------
    ScenarioError
        If it is not TOML.
    """
    try:
        document = tomllib.loads(text)
        require_plain_text(document, where)
    except RecursionError as error:
        raise ScenarioError(f"{where}: tables or lists are nested too deeply; a scenario needs four levels") from error
    except tomllib.TOMLDecodeError as error:
        raise ScenarioError(f"{where}: not valid TOML: {error}; correct that line and try again") from error
    except ScenarioError:
        raise
    except ValueError as error:  # an integer of thousands of digits, a date that is none
        raise ScenarioError(f"{where}: holds a number or date that cannot be one; correct it and try again") from error
    return document


def describe(
    text: str, *, where: str = "scenario", measured: Mapping[str, str] | None = None, allow_outside: bool = False
) -> Description:
    """What the text of a scenario file says, complete with its defaults.

    Parameters
    ----------
    text : str
        A TOML file.
    where : str
        Names it in messages; files that it names are looked for beside it.
    measured : mapping of str to str, optional
        Keys of its `[measurement]` table that come from elsewhere and override the file's own.
    allow_outside : bool
        Whether files that it names may lie outside its folder.

    Returns
    -------
    Description

    Raises
    ------
    ScenarioError
        If it is not TOML, or a key is unknown, missing or cannot be read.

    Examples
    --------
    >>> from geometries import describe
    >>> described = describe(
    ...     '''
    ... title = "two layers"
    ... stackup = "2L-1.6"
    ... loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
    ... '''
    ... )
    >>> described.variant[0].loop.gap
    0.001
    """
    document = parse_document(text, where=where)
    written = document.get("measurement", {})
    if measured and isinstance(written, dict):
        document = {**document, "measurement": {**written, **measured}}
    return describe_document(document, text=text, where=where, allow_outside=allow_outside)


def describe_document(document: dict[str, Any], *, text: str, where: str, allow_outside: bool) -> Description:
    """What the tables of a file say; `text` is the file's own, if they stand in it as they are.

    Raises
    ------
    ScenarioError
        As for :func:`describe`.
    """
    with located(where):
        complete, following = with_followers(_with_outlines(inherit_defaults(document), where, allow_outside))
    try:
        description = read_table(Description, _with_boards(complete))
    except ValidationError as error:
        raise explained(error, complete, document, text, where) from error
    variants = tuple(
        replace(variant, segment=with_written_keys(variant, own))
        for variant, own in zip(description.variant, document.get("variant", [{}]), strict=True)
    )
    return replace(
        description,
        variant=variants,
        text=text,
        folder=Path(where).parent,
        outside=allow_outside,
        following=following,
    )


def _with_outlines(document: dict[str, Any], where: str, allow_outside: bool) -> dict[str, Any]:
    """With the files that hold the outlines of variants in place of their names."""
    variants = document.get("variant")
    if not isinstance(variants, list):
        return document
    return {**document, "variant": [_with_outline(each, Path(where).parent, allow_outside) for each in variants]}


def _with_outline(variant: Any, folder: Path, allow_outside: bool) -> Any:
    name = variant.get("outline") if isinstance(variant, dict) else None
    if not isinstance(name, str):
        return variant
    path = folder / name if allow_outside else path_under(folder, name, "outline")
    file = parse_document(read_text(path), where=name)
    return {**variant, "outline": {key: value for key, value in file.items() if key not in _OF_PLAN_FILES}}


def _with_boards(document: dict[str, Any]) -> dict[str, Any]:
    """With the built-in stackups, and every stackup with its name."""
    own = document.get("stackups", {})
    if not (isinstance(own, dict) and all(isinstance(table, dict) for table in own.values())):
        return document
    named = {name: {**table, "name": name} for name, table in {**stackup_tables(), **own}.items()}
    return {**document, "stackups": named}
