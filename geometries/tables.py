"""What every input is made of: frozen classes whose fields are the keys of a table, and values with units.

A class that derives from :class:`Table` is written once, as a frozen dataclass. From Python it takes SI numbers; from a
file :func:`read_table` fills it, where every value with a dimension is text with a unit and unknown keys are refused.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from functools import cache, partial
from pathlib import Path
from typing import Annotated, Any, ClassVar, Protocol, TypeVar, get_args, get_origin, get_type_hints

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    GetCoreSchemaHandler,
    SkipValidation,
    Strict,
    TypeAdapter,
    ValidationInfo,
)
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, core_schema

from geometries.errors import ScenarioError, nearest
from geometries.plausible import judge
from geometries.quantities import Quantity, read_number, read_quantity

T = TypeVar("T")


class InSi(float):
    """A value in SI units already, taken over from another table."""


def _reader(quantity: Quantity) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> float:
        if isinstance(value, InSi):
            return float(value)
        key = info.field_name or "value"
        number = read_quantity(value, quantity, key)
        judge(key, quantity, number)
        return number

    return BeforeValidator(read)


def _number(value: Any, info: ValidationInfo) -> float:
    key = info.field_name or "value"
    number = read_number(value, key)
    judge(key, Quantity.NUMBER, number)
    return number


Length = Annotated[float, _reader(Quantity.LENGTH), Quantity.LENGTH]
CopperThickness = Annotated[float, _reader(Quantity.COPPER_THICKNESS), Quantity.COPPER_THICKNESS]
Angle = Annotated[float, _reader(Quantity.ANGLE), Quantity.ANGLE]
Frequency = Annotated[float, _reader(Quantity.FREQUENCY), Quantity.FREQUENCY]
Temperature = Annotated[float, _reader(Quantity.TEMPERATURE), Quantity.TEMPERATURE]
Fraction = Annotated[float, _reader(Quantity.FRACTION), Quantity.FRACTION]
Conductivity = Annotated[float, _reader(Quantity.CONDUCTIVITY), Quantity.CONDUCTIVITY]
Voltage = Annotated[float, _reader(Quantity.VOLTAGE), Quantity.VOLTAGE]
Current = Annotated[float, _reader(Quantity.CURRENT), Quantity.CURRENT]
Time = Annotated[float, _reader(Quantity.TIME), Quantity.TIME]
Resistance = Annotated[float, _reader(Quantity.RESISTANCE), Quantity.RESISTANCE]
Capacitance = Annotated[float, _reader(Quantity.CAPACITANCE), Quantity.CAPACITANCE]
Inductance = Annotated[float, _reader(Quantity.INDUCTANCE), Quantity.INDUCTANCE]
Decibel = Annotated[float, _reader(Quantity.DECIBEL), Quantity.DECIBEL]
Number = Annotated[float, BeforeValidator(_number), Quantity.NUMBER]
Count = Annotated[int, Strict(), Quantity.COUNT]


def _filled(entries: tuple[T, ...]) -> tuple[T, ...]:
    if not entries:
        raise ValueError("this list is empty; give at least one entry")
    return entries


Filled = Annotated[tuple[T, ...], AfterValidator(_filled)]
"""A list with at least one entry."""


class Bound(Enum):
    """On which side of zero a value lies."""

    ABOVE_ZERO = "above zero"
    NOT_BELOW_ZERO = "zero or above"


Positive = Annotated[T, Bound.ABOVE_ZERO]
"""A value above zero."""

NotNegative = Annotated[T, Bound.NOT_BELOW_ZERO]
"""A value of zero or above."""

_DERIVED = "not a key of a file"
Derived = Annotated[T, SkipValidation(), _DERIVED]
"""A field that follows from others, or is filled in when a scenario is built; no key of a file."""


class Table:
    """A table of a file: unknown keys are refused with the nearest key that exists."""

    __slots__ = ()
    __pydantic_config__: ClassVar[ConfigDict] = ConfigDict(extra="forbid")
    SAID_OF: ClassVar[str] = ""
    """What a message begins with."""

    def __post_init__(self) -> None:
        """Refuse values on the wrong side of zero."""
        hashable: Any = type(self)
        for name, bound, quantity in _bounds_of(hashable):
            value = getattr(self, name)
            if value is not None and not (value > 0 or (value == 0 and bound is Bound.NOT_BELOW_ZERO)):
                raise ScenarioError(
                    f"{self.SAID_OF}{name} is {value:g} {quantity.unit}; it must be {bound.value}, for example "
                    f'{name} = "{quantity.example}"'
                )

    @classmethod
    def __get_pydantic_core_schema__(cls, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        """Look at the keys of a table first, then at its values."""
        return core_schema.no_info_before_validator_function(partial(_known_keys, cls), handler(source))

    @classmethod
    def completed(cls, table: dict[str, Any]) -> dict[str, Any]:
        """The keys of a table with what follows from which of them are given."""
        return table


class ReadAs:
    """Read another form from a file, and build the value of the field from it."""

    def __init__(self, form: Any, build: Callable[[Any], object]) -> None:
        self.form, self.build = form, build

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """The form first, then what is built from it."""
        return core_schema.no_info_after_validator_function(self.build, handler.generate_schema(self.form))


class Described(Protocol):
    """What a table may ask of the file that it stands in when a scenario is built."""

    def file(self, name: str, key: str) -> Path:
        """A file that a table names under a key."""

    @property
    def reference(self) -> str:
        """Name of the variant to which all are compared."""

    def asked(self, kind: type[T]) -> T | None:
        """The table of a class, if the file has one."""


class OperatingTable(Table):
    """A table of the whole scenario, which analyses ask for by its class (:meth:`Scenario.asked`)."""

    __slots__ = ()

    def built(self, described: Described) -> object:
        """What analyses get: the table itself, completed by the files it names and by other tables."""
        return self


def _known_keys(cls: type[Table], data: Any) -> Any:
    if not isinstance(data, dict):
        return data
    known = keys_of(cls)
    for key in data:
        if key not in known:
            raise ValueError(f"unknown key {key!r}; {nearest(key, list(known))}")
    return cls.completed(data)


def keys_of(cls: type[Table]) -> Mapping[str, tuple[str, Any]]:
    """Keys of a table as a file writes them, with the name of the field and what it may hold."""
    hashable: Any = cls
    return _keys_of(hashable)


@cache
def _keys_of(cls: Any) -> Mapping[str, tuple[str, Any]]:
    found = {}
    for name, annotation in get_type_hints(cls, include_extras=True).items():
        parts = list(marks(annotation))
        if get_origin(annotation) is not ClassVar and _DERIVED not in parts:
            alias = next((each.alias for each in parts if isinstance(each, FieldInfo) and each.alias), None)
            found[alias or name] = (name, annotation)
    return found


@cache
def _bounds_of(cls: Any) -> tuple[tuple[str, Bound, Quantity], ...]:
    found = ((name, tuple(marks(annotation))) for name, annotation in _keys_of(cls).values())
    return tuple(
        (name, bound, quantity)
        for name, parts in found
        for bound in parts
        for quantity in parts
        if isinstance(bound, Bound) and isinstance(quantity, Quantity)
    )


def marks(annotation: Any) -> Iterator[Any]:
    """What an annotation says beside its type, in every part of a union."""
    if get_origin(annotation) is Annotated:
        inner, *own = get_args(annotation)
        yield from own
        yield from marks(inner)
    elif get_origin(annotation) not in (dict, tuple, list):
        for part in get_args(annotation):
            yield from marks(part)


@cache
def _adapter(cls: Any) -> TypeAdapter[Any]:
    return TypeAdapter(cls)


def read_table(cls: type[T], table: Any) -> T:
    """Fill a class from a table of a file.

    Raises
    ------
    pydantic.ValidationError
        With every key that is unknown, missing or cannot be read, and where it stands.
    """
    hashable: Any = cls
    filled: T = _adapter(hashable).validate_python(table)
    return filled
