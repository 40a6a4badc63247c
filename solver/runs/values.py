"""Frozen values as JSON and back, to the last bit: made by their annotations, so that no text makes any other class."""

from __future__ import annotations

import base64
import math
import types
import zlib
from collections.abc import Collection, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np

_NOT_FINITE = {str(each): each for each in (math.inf, -math.inf, math.nan)}
_CLASS = "class"
_LARGEST_ARRAY = 1_000_000_000
"""Bytes of an array at most: far more than the finest mesh takes, far less than what a crafted text could unfold to."""


def value_record(value: object, *, without: Collection[str] = ()) -> Any:
    """A value as JSON can hold it, exactly.

    Parameters
    ----------
    value : object
        Numbers, texts, arrays of numbers, enumerations, mappings of texts, tuples and frozen dataclasses of these.
    without : collection of str
        Fields of the outermost dataclass that are left out.

    Returns
    -------
    object
        For :func:`value_of`.

    Raises
    ------
    TypeError
        For anything else.

    Examples
    --------
    >>> value_record((1, 2.5, math.inf))
    [1, 2.5, 'inf']
    """
    if isinstance(value, Enum):
        return value.name
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else str(float(value))
    if isinstance(value, np.generic):
        return value_record(value.item())
    if isinstance(value, np.ndarray):
        data = base64.b64encode(zlib.compress(np.ascontiguousarray(value).tobytes(), 1)).decode("ascii")
        return {"type": value.dtype.str, "shape": list(value.shape), "data": data}
    if is_dataclass(value) and not isinstance(value, type):
        held = {each.name: getattr(value, each.name) for each in fields(value) if each.name not in without}
        return {_CLASS: type(value).__name__, **{name: value_record(each) for name, each in held.items()}}
    if isinstance(value, Mapping):
        return {str(key): value_record(each) for key, each in value.items()}
    if isinstance(value, tuple | list):
        return [value_record(each) for each in value]
    raise TypeError(f"{type(value).__name__} has no exact record; write its numbers into a dataclass")


def value_of(annotation: Any, record: Any, **known: object) -> Any:
    """The value of a record.

    Parameters
    ----------
    annotation : type
        What it has to be; of a union the class that the record names.
    record : object
        Made by :func:`value_record`.
    known : object
        Fields of the outermost dataclass that the record lacks.

    Raises
    ------
    ArithmeticError, AttributeError, LookupError, TypeError, ValueError, zlib.error
        If it is nothing of the kind.

    Examples
    --------
    >>> value_of(tuple[float, ...], [1, 2.5, "inf"])
    (1.0, 2.5, inf)
    """
    origin = get_origin(annotation)
    if origin in (Union, types.UnionType):
        return _one_of(get_args(annotation), record)
    if origin is tuple:
        return _tuple(get_args(annotation), record)
    if origin is np.ndarray:
        return _array(record)
    if origin is not None and issubclass(origin, Mapping):
        return {name: value_of(get_args(annotation)[1], each) for name, each in record.items()}
    if is_dataclass(annotation):
        cls = _subclasses(annotation)[record[_CLASS]]
        hints = get_type_hints(cls)
        return cls(**known, **{name: value_of(hints[name], each) for name, each in record.items() if name != _CLASS})
    return annotation[record] if issubclass(annotation, Enum) else _plain(annotation, record)


def _one_of(options: tuple[Any, ...], record: Any) -> Any:
    if record is None and types.NoneType in options:
        return None
    kinds = [each for each in options if each is not types.NoneType]
    if len(kinds) > 1:
        kinds = [each for each in kinds if is_dataclass(each) and record[_CLASS] in _subclasses(each)]
    return value_of(kinds[0], record)


def _tuple(inner: tuple[Any, ...], record: Any) -> tuple[Any, ...]:
    if not isinstance(record, list):
        raise TypeError("a list is missing")
    kinds = [inner[0]] * len(record) if inner[-1] is Ellipsis else inner
    return tuple(value_of(kind, each) for kind, each in zip(kinds, record, strict=True))


def _array(record: Any) -> np.ndarray[Any, Any]:
    kind = np.dtype(record["type"])
    if kind.kind not in "bifc":
        raise TypeError(f"an array of {kind} holds no numbers")
    size = math.prod(record["shape"]) * kind.itemsize
    if not 0 <= size <= _LARGEST_ARRAY:
        raise ValueError(f"an array of {size} bytes is none of ours")
    numbers = zlib.decompressobj().decompress(base64.b64decode(record["data"], validate=True), size + 1)
    return np.frombuffer(numbers, kind).reshape(record["shape"]).copy()


def _plain(kind: type, record: Any) -> Any:
    if kind is float and isinstance(record, str):
        return _NOT_FINITE[record]
    if kind is float and type(record) is int:
        return float(record)
    if type(record) is not kind:
        raise TypeError(f"{kind.__name__} is missing")
    return record


def _subclasses(cls: Any) -> dict[str, Any]:
    """A class and all that derive from it, by their names."""
    found = {cls.__name__: cls}
    for each in cls.__subclasses__():
        found |= _subclasses(each)
    return found
