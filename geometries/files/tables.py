"""What every table of a scenario file is made of: values with units, and the refusal of unknown keys."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo, model_validator

from geometries.errors import nearest
from geometries.quantities import Quantity, read_quantity


def _reader(quantity: Quantity) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> float:
        return read_quantity(value, quantity, info.field_name or "value")

    return BeforeValidator(read)


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


class Table(BaseModel):
    """A table of the file: unknown keys are refused with the nearest key that exists."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    @model_validator(mode="before")
    @classmethod
    def _refuse_unknown_keys(cls, data: Any) -> Any:
        known = [field.alias or name for name, field in cls.model_fields.items()]
        for key in data if isinstance(data, dict) else ():
            if key not in known:
                raise ValueError(f"unknown key {key!r}; {nearest(key, known)}")
        return data
