"""The tables `[sweep]`, `[explore]` and `[tolerance]` of a scenario file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from geometries.quantities import Quantity
from geometries.study.spread import Distribution, Source, Spread, read_spread
from geometries.tables import Table

MOST_SWEEP_POINTS = 10_000
"""More points than this in one sweep are refused as a slip of the pen."""

MOST_EXPLORED_KEYS = 6

MOST_SAMPLES = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepKeyTable(Table):
    """One key that a sweep varies: a list of values, or evenly spaced ones."""

    key: str
    values: tuple[Any, ...] | None = None
    start: Annotated[Any, Field(alias="from")] = None
    stop: Annotated[Any, Field(alias="to")] = None
    steps: Annotated[int, Field(ge=2, le=MOST_SWEEP_POINTS)] | None = None
    spacing: Literal["linear", "logarithmic"] = "linear"

    def __post_init__(self) -> None:
        range_keys = [each is not None for each in (self.start, self.stop, self.steps)]
        if any(range_keys) if self.values is not None else not all(range_keys):
            raise ValueError(
                'a key is varied either by values, for example values = ["8 mm", "20 mm"], or by from, to and steps, '
                'for example from = "0.2 mm", to = "2 mm", steps = 10'
            )
        if self.values is not None and len(self.values) < 2:
            raise ValueError("a key needs at least two values to be varied")


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepTable(Table):
    """What `copperfield sweep` varies in one variant: one key, or two as a grid; and the figures that are wanted."""

    variant: str = ""
    vary: tuple[SweepKeyTable, ...]
    figures: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if len(self.vary) not in (1, 2):
            raise ValueError(f"{len(self.vary)} keys are varied; a sweep varies one key, or two as a grid")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExploreKeyTable(Table):
    """One key that a what-if page moves from one value to another, or for which it offers choices."""

    key: str
    start: Annotated[Any, Field(alias="from")] = None
    stop: Annotated[Any, Field(alias="to")] = None
    spacing: Literal["linear", "logarithmic"] = "linear"
    choices: tuple[Any, ...] | None = None

    def __post_init__(self) -> None:
        ends = [each is not None for each in (self.start, self.stop)]
        if any(ends) if self.choices is not None else not all(ends):
            raise ValueError(
                'a key is moved either from one value to another, for example from = "2 mm", to = "5 mm", or has '
                'choices, for example choices = ["both ends", "capacitor end"]'
            )
        if self.choices is not None and len(self.choices) < 2:
            raise ValueError("a key needs at least two choices")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExploreTable(Table):
    """What `copperfield explore` moves, in which variants, and how many places are solved of each at most."""

    vary: tuple[ExploreKeyTable, ...]
    variants: tuple[str, ...] = ()
    points: Annotated[int, Field(ge=1, le=MOST_SWEEP_POINTS)] = 12

    def __post_init__(self) -> None:
        if not 1 <= len(self.vary) <= MOST_EXPLORED_KEYS:
            raise ValueError(
                f"{len(self.vary)} keys are moved; a what-if page moves one to {MOST_EXPLORED_KEYS}: name them in an "
                '[explore] table, for example vary = [{ key = "loop.width", from = "2 mm", to = "5 mm" }]'
            )
        if len({each.key for each in self.vary}) < len(self.vary):
            raise ValueError("a key is named twice; name each once")


def _spread(quantity: Quantity) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> Spread:
        return read_spread(value, info.field_name or "value", quantity)

    return BeforeValidator(read)


_Length = Annotated[Spread, _spread(Quantity.LENGTH)]
_Part = Annotated[Spread, _spread(Quantity.FRACTION)]
_Temperature = Annotated[Spread, _spread(Quantity.TEMPERATURE_DIFFERENCE)]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceTable(Table):
    """What varies, to both sides, and how many random samples are taken; the figures that are wanted."""

    prepreg: _Length | None = None
    width: _Length | None = None
    etch: _Length | None = None
    gap: _Length | None = None
    copper: _Length | None = None
    permittivity: _Part | None = None
    temperature: _Temperature | None = None
    keys: Mapping[str, Any] = field(default_factory=dict)
    samples: Annotated[int, Field(ge=10, le=MOST_SAMPLES)] = 2000
    seed: Annotated[int, Field(ge=0)] = 1
    distribution: Distribution = Distribution.UNIFORM
    variants: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not (self.spreads or self.keys):
            raise ValueError('nothing varies; give at least one tolerance, for example prepreg = "10 %"')
        for spread in (self.etch, self.temperature):
            if spread is not None and spread.relative:
                hint = _EXAMPLES[spread.source]
                raise ValueError(f"{spread.source} is given as a part of something; give its size, for example {hint}")

    @property
    def spreads(self) -> tuple[Spread, ...]:
        """The tolerances that are given by name."""
        found = (getattr(self, source.value) for source in Source)
        return tuple(each for each in found if each is not None)


_EXAMPLES: dict[str, str] = {Source.ETCH: 'etch = "20 um"', Source.TEMPERATURE: 'temperature = "40 K"'}
