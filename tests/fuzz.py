"""Inputs made at random: documents after a grammar of all tables, mutants of files, and how they are written."""

import json
import math
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from hypothesis import strategies as st

from geometries.quantities import UNITS, Quantity
from geometries.tables import Table, keys_of

ODD_TEXTS = [
    "",
    " ",
    "0",
    "-1",
    "1,5 mm",
    "1.500 mm",
    "8 ± 3 mm",
    "1-2 mm",
    "9**9**9 mm",
    "1/0 mm",
    "\N{MINUS SIGN}5 mm",
    "1e99 mm",
    "nan mm",
    "inf V",
    "5 mm\0",
    "\x1b[31m",
    "\u202e",
    "x" * 300,
    "9" * 5000 + " mm",
    "L1",
    "L2",
    "L9",
    "go",
    "return",
    "../x",
    "/dev/zero",
    "a\nb",
    "=1+1",
    "stitched",
    "floating",
    "absent",
    "0 mm",
    "1 um",
    "1 nm",
    "1 m",
    "100 GHz",
    "1 Hz",
    "5 %",
    "4L-7628",
    "2L-1.6",
    "ring",
    "same-layer",
    "next-layer",
    "0603",
    "axisymmetric",
    "[",
    "'\"",
    "\N{SNOWMAN}",
]
ODD_VALUES = [0, 1, -1, 3, 10**30, 10**400, 0.0, -0.5, 1e-300, 1e308, math.inf, -math.inf, math.nan, True, False]

odd = st.recursive(
    st.one_of(st.sampled_from(ODD_TEXTS), st.sampled_from(ODD_VALUES), st.text(max_size=8)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["name", "kind", "a", "key"]), inner, max_size=3)
    ),
    max_leaves=4,
)

USUAL = {
    Quantity.LENGTH: ("0.1 mm", "0.5 mm", "1 mm", "3 mm", "8 mm", "40 mm", "-2 mm", "0 mm", "3 m"),
    Quantity.COPPER_THICKNESS: ("18 um", "0.2 mm", "1 oz", "70 um"),
    Quantity.FREQUENCY: ("400 kHz", "10 kHz", "300 MHz", "1 GHz"),
    Quantity.TIME: ("1 ns", "5 ns"),
    Quantity.FRACTION: ("10 %", "40 %", "1 %"),
}

names = st.sampled_from(["a", "b", "L1", "L2", "L3", "go", "return", "4L-7628", "2L-1.6", "feedback", "input", "x y"])


@st.composite
def quantities(draw, quantity):
    """A text of the grammar, most often of a size that boards have."""
    if draw(st.integers(0, 5)):
        return draw(st.sampled_from([quantity.example, *USUAL.get(quantity, ())]))
    number = st.one_of(st.integers(0, 20), st.floats(0, 500).map(lambda each: round(each, 3)), st.integers(-3, 10**6))
    return f"{draw(number)}{draw(st.sampled_from(['', ' ']))}{draw(st.sampled_from(sorted(UNITS[quantity])))}"


def values(annotation: Any, depth: int) -> st.SearchStrategy[Any]:
    """What a key may hold by its annotation, and now and then something else."""
    return st.integers(0, 150).flatmap(lambda dice: odd if dice == 0 else _meant(annotation, depth))


def _meant(annotation: Any, depth: int) -> st.SearchStrategy[Any]:
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        quantity = next((each for each in arguments[1:] if isinstance(each, Quantity)), None)
        return _measured(quantity, arguments[0], depth)
    if origin in (Union, types.UnionType):
        return st.one_of(*(_meant(each, depth) for each in arguments if each is not type(None)))
    if origin is Literal:
        return st.sampled_from(arguments)
    if origin is tuple:
        inner = values(arguments[0], depth - 1)
        fixed = len(arguments) == 2 and arguments[1] is not Ellipsis
        return st.lists(inner, min_size=2 if fixed else 1, max_size=2 if fixed or depth > 1 else 4)
    if origin is not None and isinstance(origin, type) and issubclass(origin, Mapping):
        return st.dictionaries(names, values(arguments[1], depth - 1), max_size=2)
    return _plain(annotation, depth)


def _measured(quantity: Quantity | None, annotation: Any, depth: int) -> st.SearchStrategy[Any]:
    if quantity is Quantity.NUMBER:
        return st.floats(0, 20).map(lambda each: round(each, 2))
    if quantity is Quantity.COUNT:
        return st.integers(-1, 12)
    return _meant(annotation, depth) if quantity is None else quantities(quantity)


def _plain(annotation: Any, depth: int) -> st.SearchStrategy[Any]:
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return st.sampled_from([each.value for each in annotation])
    if is_dataclass(annotation) and isinstance(annotation, type) and issubclass(annotation, Table):
        return tables(annotation, depth - 1)
    if annotation is bool:
        return st.booleans()
    if annotation is str:
        return names
    return odd


@st.composite
def tables(draw, cls, depth=4):
    """A table of a class with the keys that it must have, and some of the others, in their own spelling."""
    needed = {each.name for each in fields(cls) if each.default is MISSING and each.default_factory is MISSING}
    found = {}
    for key, (name, annotation) in keys_of(cls).items():
        if name in needed or key == "kind" or (depth > 0 and draw(st.integers(0, 4)) == 0):
            found[key] = draw(values(annotation, depth))
    return _of_one_kind(draw, keys_of(cls), found, depth)


def _of_one_kind(draw, keys, found, depth):
    """A variant or segment that is described in one way, most often."""
    ways = [way for way in ("loop", "placement", "region") if way in keys]
    if len(ways) < 2 or draw(st.integers(0, 9)) == 0:
        return found
    chosen = draw(st.sampled_from(["loop", *ways]))
    board = {} if chosen == "region" else {"stackup": draw(st.sampled_from(["4L-7628", "2L-1.6", "6L-2116"]))}
    further = [chosen, "switch"] if chosen == "placement" else [chosen]
    rest = {key: each for key, each in found.items() if key not in (*ways, "length", "current", "dielectric", "view")}
    return {**rest, **{key: draw(values(keys[key][1], depth)) for key in further}, **board}


def _places(node: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [place for key, each in inner for place in ((*way, key), *_places(each, (*way, key)))]


@st.composite
def mutants(draw, document):
    """A document with some values replaced, moved, doubled, renamed or gone."""
    changed = json.loads(json.dumps(document))
    for _ in range(draw(st.integers(1, 3))):
        places = _places(changed)
        if not places:
            break
        *way, last = draw(st.sampled_from(places))
        node = changed
        for step in way:
            node = node[step]
        _change(draw, node, last, changed, places)
    return changed


def _change(draw, node, last, whole, places):
    kind = draw(st.sampled_from(["odd", "odd", "scaled", "scaled", "gone", "other", "renamed", "doubled"]))
    if kind == "odd":
        node[last] = draw(odd)
    elif kind == "scaled" and isinstance(node[last], str):
        node[last] = draw(st.sampled_from(["0", "0.001", "0.1", "7", "100", "1e4", "-1"])) + node[last].lstrip(
            "0123456789."
        )
    elif kind == "gone":
        del node[last]
    elif kind == "other":
        other = whole
        for step in draw(st.sampled_from(places)):
            other = other[step]
        node[last] = json.loads(json.dumps(other))
    elif kind == "renamed" and isinstance(node, dict):
        node[draw(names)] = node.pop(last)
    elif kind == "doubled" and isinstance(node, list):
        node.append(json.loads(json.dumps(node[last])))


def toml(document: dict[str, Any]) -> str:
    """A document as the text of a TOML file."""
    return "".join(f"{_text(key)} = {_value(each)}\n" for key, each in document.items())


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_text(key)} = {_value(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return _text(value) if isinstance(value, str) else f"{value!r}"


def _text(text: str) -> str:
    plain = text.encode("utf-8", "replace").decode("utf-8")
    return json.dumps(plain, ensure_ascii=False).replace("\x7f", "\\u007f")


@st.composite
def scribbled(draw, text):
    """A text with some stretches cut, doubled or overwritten."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 12)))
        middle = draw(
            st.one_of(st.just(""), st.just(2 * text[start:end]), st.sampled_from(ODD_TEXTS), st.text(max_size=6))
        )
        text = text[:start] + middle + text[end:]
    return text
