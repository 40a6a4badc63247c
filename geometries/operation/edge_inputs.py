"""How a scenario writes what an edge hangs on: capacitance curve, recovery, ringing, gate, absolute maximum."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import GetPydanticSchema
from pydantic_core import core_schema

from geometries.errors import ScenarioError, nearest
from geometries.operation.capacitance import (
    CapacitanceCurve,
    JunctionCapacitance,
    OutputCapacitance,
    read_capacitance_curve,
)
from geometries.operation.gate_edge import GateCurrent, GateResistor
from geometries.operation.recovery import NO_RECOVERY, RecoveredCharge, Recovery, RecoveryCurrent
from geometries.operation.ringing import (
    Ringing,
    SwitchKind,
    ringing_from_cycles,
    ringing_from_quality,
    typical_ringing,
)
from geometries.operation.voltage_limit import VoltageLimit, read_voltage_limit
from geometries.quantities import Quantity, read_quantity

CONSTANT = "constant"


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveFile:
    """A capacitance curve that stands in a CSV file beside the scenario."""

    name: str

    def read(self, path: Path) -> CapacitanceCurve:
        """The curve, from where the scenario's folder has the file."""
        return read_capacitance_curve(path)


Curve = OutputCapacitance | CurveFile | str | None
"""What is known of a capacitance beside one value: a curve, a file with one, that it is constant, or nothing."""

_FORMULA = {"C0": "zero_bias", "Vj": "junction_voltage", "m": "exponent", "Cf": "fixed"}
_CURVES = ("value", "voltage", "constant", "points", "file", *_FORMULA)


def as_read(reader: Callable[[Any], Any]) -> GetPydanticSchema:
    """How a key is filled that has a form of its own in files: by a function; values from Python stay as they are."""
    schema = core_schema.no_info_plain_validator_function(reader)
    return GetPydanticSchema(lambda _kind, _handler: schema)


def capacitance_keys(table: Mapping[str, Any]) -> dict[str, Any]:
    """The keys of a table with `output_capacitance`, where that is a table itself, spread over keys of its own.

    Accepted are `"300 pF"`; `{ value = "300 pF", voltage = "24 V" }`; `{ constant = "300 pF" }`;
    `{ points = [["0 V", "1.1 nF"], ["24 V", "300 pF"]] }`; `{ C0 = "1 nF", Vj = "0.8 V", m = 0.5, Cf = "50 pF" }`;
    `{ file = "switch.csv" }`.
    """
    given = table.get("output_capacitance")
    if not isinstance(given, Mapping):
        return dict(table)
    rest = {key: value for key, value in table.items() if key != "output_capacitance"}
    for key in given:
        if key not in _CURVES:
            raise ScenarioError(f"output_capacitance: unknown key {key!r}; {nearest(str(key), list(_CURVES))}")
    if "constant" in given:
        return {**rest, "output_capacitance": given["constant"], "capacitance_curve": CONSTANT}
    if "value" in given:
        held = {"capacitance_voltage": given["voltage"]} if "voltage" in given else {}
        return {**rest, **held, "output_capacitance": given["value"]}
    return {**rest, "capacitance_curve": given}


def read_curve(given: Any) -> Any:
    """What a scenario writes of a capacitance's curve."""
    if not isinstance(given, Mapping):
        return given
    if "file" in given:
        return CurveFile(name=str(given["file"]))
    if "points" in given:
        return CapacitanceCurve(points=tuple(_point(each) for each in given["points"]))
    missing = [key for key in ("C0", "Vj", "m") if key not in given]
    if missing:
        raise ScenarioError(
            f"output_capacitance: {', '.join(missing)} missing; give a value with its voltage, points, a file, or "
            "C0, Vj, m and, if there is one, Cf"
        )
    return JunctionCapacitance(
        zero_bias=read_quantity(given["C0"], Quantity.CAPACITANCE, "C0"),
        junction_voltage=read_quantity(given["Vj"], Quantity.VOLTAGE, "Vj"),
        exponent=_number(given["m"], "m"),
        fixed=read_quantity(given["Cf"], Quantity.CAPACITANCE, "Cf") if "Cf" in given else 0.0,
    )


def read_recovery(given: Any) -> Any:
    """`"none"`, `{ charge = "2 nC" }` or `{ current = "5 A" }`."""
    kinds: dict[str, Callable[[Any], Recovery]] = {
        "charge": lambda value: RecoveredCharge(charge=read_quantity(value, Quantity.CHARGE, "charge")),
        "current": lambda value: RecoveryCurrent(current=read_quantity(value, Quantity.CURRENT, "current")),
    }
    if given == "none":
        return NO_RECOVERY
    return _one_of(given, kinds, "recovery", 'write "none", { charge = "2 nC" } or { current = "5 A" }')


def read_ringing(given: Any) -> Any:
    """`{ cycles_to_half = 4 }`, `{ quality_factor = 8 }` or `{ switch = "silicon" }`."""
    kinds: dict[str, Callable[[Any], Ringing]] = {
        "cycles_to_half": lambda value: ringing_from_cycles(_number(value, "cycles_to_half")),
        "quality_factor": lambda value: ringing_from_quality(_number(value, "quality_factor")),
        "switch": lambda value: typical_ringing(_kind(value)),
    }
    hint = 'write { cycles_to_half = 4 }, { quality_factor = 8 } or { switch = "silicon" }'
    return _one_of(given, kinds, "ringing", hint)


def read_gate(given: Any) -> Any:
    """`{ current, gate_drain_charge }`, or the keys of :class:`GateResistor`."""
    if not isinstance(given, Mapping):
        return given
    units = {
        "current": Quantity.CURRENT,
        "gate_drain_charge": Quantity.CHARGE,
        "drive_voltage": Quantity.VOLTAGE,
        "plateau_voltage": Quantity.VOLTAGE,
        "resistance": Quantity.RESISTANCE,
        "common_source_inductance": Quantity.INDUCTANCE,
        "moved_charge": Quantity.CHARGE,
    }
    for key in given:
        if key not in units:
            raise ScenarioError(f"gate: unknown key {key!r}; {nearest(str(key), list(units))}")
    values = {key: read_quantity(value, units[key], key) for key, value in given.items()}
    kind: type[GateCurrent] | type[GateResistor] = GateCurrent if "current" in values else GateResistor
    try:
        return kind(**values)
    except TypeError as error:
        raise ScenarioError(
            'gate: write { current = "1 A", gate_drain_charge = "2 nC" }, or drive_voltage, plateau_voltage, '
            "resistance and gate_drain_charge, with common_source_inductance and moved_charge if known"
        ) from error


def read_absolute_maximum(given: Any) -> Any:
    """`"40 V"`, or `"24 V, 28 V for 10 ns"`."""
    return read_voltage_limit(given) if isinstance(given, str) else given


def limit_of(rating: float | None, maximum: VoltageLimit | None, derating: float) -> VoltageLimit | None:
    """Limit of the peak from a rating or an absolute maximum, derated."""
    if rating is not None and maximum is not None:
        raise ScenarioError("switching: voltage_rating and absolute_maximum say the same; give one of them")
    whole = VoltageLimit(level=rating) if rating is not None else maximum
    return None if whole is None else whole.derated(derating)


def _one_of(given: Any, kinds: Mapping[str, Callable[[Any], Any]], table: str, hint: str) -> Any:
    if not isinstance(given, (Mapping, str)):
        return given
    if isinstance(given, str) or len(given) != 1 or next(iter(given)) not in kinds:
        raise ScenarioError(f"{table}: {given!r} cannot be read; {hint}")
    key, value = next(iter(given.items()))
    return kinds[key](value)


def _kind(value: Any) -> SwitchKind:
    kinds = {kind.label: kind for kind in SwitchKind}
    if value not in kinds:
        raise ScenarioError(f"ringing: no switch {value!r} is known; {nearest(str(value), list(kinds))}")
    return kinds[value]


def _point(given: Any) -> tuple[float, float]:
    if not isinstance(given, list | tuple) or len(given) != 2:
        raise ScenarioError(f'output_capacitance: {given!r} is no point; write ["24 V", "300 pF"]')
    voltage, value = given
    return (
        read_quantity(voltage, Quantity.VOLTAGE, "voltage of a point"),
        read_quantity(value, Quantity.CAPACITANCE, "capacitance of a point"),
    )


def _number(value: Any, key: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ScenarioError(f"{key} is {value!r}; write a number, without quotes")
    return float(value)
