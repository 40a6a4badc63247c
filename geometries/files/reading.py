"""From a scenario file to a scenario. All input errors end here, as ScenarioError."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from geometries.errors import GeometryError, ScenarioError, nearest
from geometries.files.stackups import stackup_tables
from geometries.operation.emission import Emission
from geometries.operation.switching import Switching
from geometries.quantities import Quantity
from geometries.section.victims import Drive
from geometries.study.build import build_scenario
from geometries.study.described_placement import PLACEMENT_KINDS
from geometries.study.description import Description, SegmentTable, VariantTable
from geometries.study.keys import FOLLOWS
from geometries.study.scenario import Scenario
from geometries.tables import InSi, Table, keys_of, marks, read_table

_INHERITED = ("stackup", "copper", "loop", "planes", "region", "dielectric", "current", "length")
_INHERITED_BY_VARIANTS = (*_INHERITED, "victims", "switch_node", "placement", "switch", "capacitor", "switched")

_FOLLOWERS: dict[str, type[Table]] = {"emission": Emission, "pickup": Drive}
"""Tables that take keys from the switching edge."""

_FOLLOWING: set[tuple[int | str, ...]] = {(table, key) for table, key, *_ in FOLLOWS}
"""Places of the keys that they take."""


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

    Raises
    ------
    ScenarioError
        If there is none of that name.

    Examples
    --------
    >>> [variant.name for variant in read_builtin_scenario("orchard-pump").variants]
    ['floating', 'stitched']
    """
    return parse_scenario(builtin_text(name), where=f"{name}.toml")


def read_scenario(source: Path | str) -> Scenario:
    """Read a scenario.

    Parameters
    ----------
    source : Path or str
        A TOML file; text with a line break or an equals sign is the scenario itself.

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
    return parse_scenario(read_text(Path(source)), where=str(source))


def read_text(path: Path) -> str:
    """Text of a scenario file.

    Raises
    ------
    ScenarioError
        If there is no such file, or it cannot be read as text.
    """
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise ScenarioError(f"{path}: there is no such file; check the path") from error
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{path}: not a text file in UTF-8; a scenario is a TOML text file") from error
    except OSError as error:
        raise ScenarioError(f"{path}: cannot be read ({error.strerror}); check the path and its permissions") from error


def parse_scenario(text: str, *, where: str = "scenario") -> Scenario:
    """Read a scenario from the text of a TOML file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_scenario`.
    """
    return build(describe(text, where=where), where=where)


def build(description: Description, *, where: str) -> Scenario:
    """Build a scenario; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_scenario`.
    """
    try:
        return build_scenario(description)
    except GeometryError as error:
        raise ScenarioError(f"{where}: {error}") from error


def parse_document(text: str, *, where: str) -> dict[str, Any]:
    """Tables of a TOML file, not checked yet.

    Raises
    ------
    ScenarioError
        If it is not TOML.
    """
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise ScenarioError(f"{where}: tables or lists are nested too deeply; a scenario needs four levels") from error
    except tomllib.TOMLDecodeError as error:
        raise ScenarioError(f"{where}: not valid TOML: {error}; fix that line and try again") from error


def describe(text: str, *, where: str = "scenario", measured: Mapping[str, str] | None = None) -> Description:
    """What the text of a scenario file says, complete with its defaults.

    Parameters
    ----------
    text : str
        A TOML file.
    where : str
        Names it in messages; files that it names are looked for beside it.
    measured : mapping of str to str, optional
        Keys of its `[measurement]` table that come from elsewhere and override the file's own.

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
    complete, following = _followed(inherit_defaults(document))
    try:
        description = read_table(Description, _with_boards(complete))
    except ValidationError as error:
        raise explained(error, complete, document, text, where) from error
    variants = tuple(
        replace(variant, segment=_segments(variant, own))
        for variant, own in zip(description.variant, document.get("variant", [{}]), strict=True)
    )
    return replace(description, variant=variants, text=text, folder=Path(where).parent, following=following)


def _with_boards(document: dict[str, Any]) -> dict[str, Any]:
    """With the built-in stackups, and every stackup with its name."""
    own = document.get("stackups", {})
    if not (isinstance(own, dict) and all(isinstance(table, dict) for table in own.values())):
        return document
    named = {name: {**table, "name": name} for name, table in {**stackup_tables(), **own}.items()}
    return {**document, "stackups": named}


def _followed(document: dict[str, Any]) -> tuple[dict[str, Any], frozenset[tuple[str, str, str, str]]]:
    """With the keys that a table takes from another one, and the lines of :data:`FOLLOWS` that this took."""
    complete = {name: dict(document[name]) for name in _FOLLOWERS if isinstance(document.get(name), dict)}
    switching, taken = _switching_of(document), set()
    for line in FOLLOWS:
        table, key, leader, attribute = line
        own = complete.get(table)
        if own is None or key in own:
            continue
        found = own.get(attribute) if leader == table else getattr(switching, attribute, None)
        if found is not None:
            own[key] = found if leader == table else InSi(found)
            taken.add(line)
    return {**document, **complete}, frozenset(taken)


def _switching_of(document: dict[str, Any]) -> Switching | None:
    """The switching edge; none if it cannot be read, which the whole file is refused for."""
    try:
        return read_table(Switching, document["switching"]) if "switching" in document else None
    except ValidationError:
        return None


def _segments(variant: VariantTable, own: dict[str, Any]) -> tuple[SegmentTable, ...]:
    """The segments of a variant with the keys that are their own."""
    listed = own.get("segment", [])
    return tuple(
        replace(segment, written=frozenset(_written(table, variant)))
        for segment, table in zip(variant.segment, listed, strict=True)
    )


def _written(table: dict[str, Any], variant: VariantTable) -> Iterator[tuple[str, ...]]:
    """Keys of a segment that are its own; a loop of another kind is its own altogether."""
    for key, value in table.items():
        if not isinstance(value, dict) or (
            "kind" in value and value["kind"] != getattr(getattr(variant, key), "kind", "")
        ):
            yield (key,)
        else:
            yield from ((key, *rest) for rest in _leaves(value))


def _leaves(table: dict[str, Any]) -> Iterator[tuple[str, ...]]:
    for key, value in table.items():
        yield from ((key, *rest) for rest in _leaves(value)) if isinstance(value, dict) else ((key,),)


def explained(
    error: ValidationError, complete: dict[str, Any], document: dict[str, Any], text: str, where: str
) -> ScenarioError:
    """What is wrong with a file's tables, a line each: `complete` is what was checked, `document` what was written."""
    details = _reported(error.errors(include_url=False))
    lines = dict.fromkeys(_explain(detail, complete, document, text) for detail in details)
    return ScenarioError("\n".join(f"{where}: {line}" for line in lines))


def inherit_defaults(document: dict[str, Any]) -> dict[str, Any]:
    """Give every variant the keys at the top of the file as defaults; one variant if there are none."""
    base = {key: document[key] for key in _INHERITED_BY_VARIANTS if key in document}
    rest = {key: value for key, value in document.items() if key not in base}
    variants = rest.get("variant", [{"name": str(document.get("title", "variant"))}])
    if not (isinstance(variants, list) and all(isinstance(variant, dict) for variant in variants)):
        return rest
    return {**rest, "variant": [_extend(_merge(base, variant)) for variant in variants]}


def _extend(variant: dict[str, Any]) -> dict[str, Any]:
    """Give every further segment of a variant the variant's own keys as defaults."""
    stretches = variant.get("segment")
    if not (isinstance(stretches, list) and all(isinstance(each, dict) for each in stretches)):
        return variant
    base = {key: variant[key] for key in _INHERITED if key in variant}
    return {**variant, "segment": [_merge(base, each) for each in stretches]}


def _merge(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Own values win; tables are merged key by key. A loop of another kind starts afresh."""
    if own.get("kind", base.get("kind")) != base.get("kind"):
        return own
    merged = dict(base)
    for key, value in own.items():
        both_tables = isinstance(value, dict) and isinstance(base.get(key), dict)
        merged[key] = _merge(base[key], value) if both_tables else value
    return merged


def _reported(details: list[ErrorDetails]) -> list[ErrorDetails]:
    """Without keys that are missing because the one is missing that they follow."""
    further = _FOLLOWING - {(table, key) for table, key, leader, _ in FOLLOWS if leader != table}
    return [each for each in details if each["type"] != "missing" or each["loc"] not in further]


def _explain(detail: ErrorDetails, complete: dict[str, Any], document: dict[str, Any], text: str) -> str:
    """One line: where in the file, and what is wrong with it. A key inherited by every variant is named once."""
    steps, missing = list(detail["loc"]), detail["type"] == "missing" and detail["loc"] not in _FOLLOWING
    place, keys = _walk(steps, complete, missing=missing)
    if len(steps) > 2 and steps[0] == "variant" and isinstance(steps[1], int):
        variants = document.get("variant", [])
        own = variants[steps[1]] if variants else {}
        inherited_place, inherited_keys = _walk(steps[2:], document, missing=missing)
        if inherited_keys == keys[1:] and _walk(steps[2:], own, missing=missing)[1] != keys[1:]:
            place, keys = inherited_place, inherited_keys
    line = _line_of(keys[-1], text) if keys else ""
    message = _message(detail).removeprefix(f"{' '.join(place)}: ")
    return f"{line}{' '.join(place)}: {message}" if place else f"{line}{message}"


def _walk(steps: list[int | str], node: Any, *, missing: bool) -> tuple[list[str], list[str]]:
    """Readable names of the steps to a value, and those of them that are keys of the file."""
    place, keys = [], []
    for number, step in enumerate(steps, start=1):
        if isinstance(step, int) and isinstance(node, list) and step < len(node):
            node = node[step]
            name = node.get("name") if isinstance(node, dict) else None
            place.append(repr(name) if name else f"number {step + 1}")
        elif isinstance(node, dict) and step in node:
            node = node[step]
            place.append(str(step))
            keys.append(str(step))
        elif missing and number == len(steps):
            place.append(str(step))
    return place, keys


def _message(detail: ErrorDetails) -> str:
    if detail["type"] == "missing":
        return _missing(detail["loc"])
    if detail["type"] in ("union_tag_invalid", "union_tag_not_found"):
        kind = detail["input"].get("kind")
        if "placement" in detail["loc"]:
            return f"kind is {kind!r}; a placement's kind is one of {', '.join(map(repr, PLACEMENT_KINDS))}"
        return f"kind is {kind!r}; a loop's kind is 'same-layer', 'next-layer', 'through-board' or 'ring'"
    if detail["type"] in ("dataclass_type", "dict_type", "model_attributes_type"):
        return f"this must be a table of keys, not {detail['input']!r}"
    if detail["type"] == "string_too_short":
        return "this is empty; give it a name"
    return detail["msg"].removeprefix("Value error, ")


def _missing(place: tuple[int | str, ...]) -> str:
    """That a key is missing; one that another table may give is named with that table."""
    if place not in _FOLLOWING:
        return "this key is missing"
    annotation = keys_of(_FOLLOWERS[str(place[0])])[str(place[1])][1]
    example = next(mark.example for mark in marks(annotation) if isinstance(mark, Quantity))
    return f'{place[1]} is missing; give it here or in [switching], for example {place[1]} = "{example}"'


def _line_of(key: str, text: str) -> str:
    """Line of a key, if it stands in the file just once."""
    hits = [
        number
        for number, line in enumerate(text.splitlines(), start=1)
        if line.split("=")[0].strip() == key or line.strip().strip("[]").split(".")[-1] == key
    ]
    return f"line {hits[0]}: " if len(hits) == 1 else ""
