"""The `[tolerance]` table of a scenario file."""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from geometries.files.tables import Table
from geometries.quantities import Quantity, read_quantity
from geometries.study.spread import Distribution, Source, Spread

MOST_SAMPLES = 1_000_000


def _spread(quantity: Quantity) -> BeforeValidator:
    """Read "10 %" as a part of the value, anything else as so much of the quantity."""

    def read(value: Any, info: ValidationInfo) -> Spread:
        key = info.field_name or "value"
        relative = isinstance(value, str) and value.strip().endswith("%")
        number = read_quantity(value, Quantity.FRACTION if relative else quantity, key)
        return Spread(
            source=Source(key),
            relative=number if relative else 0.0,
            absolute=0.0 if relative else number,
            quantity=quantity,
        )

    return BeforeValidator(read)


_Length = Annotated[Spread, _spread(Quantity.LENGTH)]
_Part = Annotated[Spread, _spread(Quantity.FRACTION)]
_Temperature = Annotated[Spread, _spread(Quantity.TEMPERATURE_DIFFERENCE)]


class ToleranceTable(Table):
    """What varies, to both sides, and how many boards are drawn."""

    prepreg: _Length | None = None
    width: _Length | None = None
    etch: _Length | None = None
    gap: _Length | None = None
    copper: _Length | None = None
    permittivity: _Part | None = None
    temperature: _Temperature | None = None
    samples: int = Field(default=2000, ge=10, le=MOST_SAMPLES)
    seed: int = Field(default=1, ge=0)
    distribution: Distribution = Distribution.UNIFORM
    variants: list[str] = []

    @model_validator(mode="after")
    def _something(self) -> Self:
        if not self.spreads:
            raise ValueError('nothing varies; give at least one tolerance, for example prepreg = "10 %"')
        for spread in (self.etch, self.temperature):
            if spread is not None and spread.relative:
                hint = _EXAMPLES[spread.source]
                raise ValueError(f"{spread.source} is given as a part of something; give its size, for example {hint}")
        return self

    @property
    def spreads(self) -> tuple[Spread, ...]:
        """The tolerances that are given."""
        found = (getattr(self, source.value) for source in Source)
        return tuple(each for each in found if each is not None)


_EXAMPLES = {Source.ETCH: 'etch = "20 um"', Source.TEMPERATURE: 'temperature = "40 K"'}
