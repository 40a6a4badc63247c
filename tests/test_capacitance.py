import math
from pathlib import Path

import pytest
from scipy.integrate import quad

from geometries.errors import ScenarioError
from geometries.operation.capacitance import (
    CapacitanceCurve,
    ConstantCapacitance,
    JunctionCapacitance,
    OutputCapacitance,
    TypicalCapacitance,
    read_capacitance_curve,
)

PICO = 1e-12
CURVES: list[OutputCapacitance] = [
    ConstantCapacitance(value=300 * PICO),
    JunctionCapacitance(zero_bias=1e-9, junction_voltage=0.7, exponent=0.5, fixed=80 * PICO),
    JunctionCapacitance(zero_bias=1e-9, junction_voltage=0.7, exponent=1.0),
    CapacitanceCurve(points=((0.0, 1100 * PICO), (5.0, 520 * PICO), (24.0, 300 * PICO))),
    CapacitanceCurve(points=((2.0, 700 * PICO), (10.0, 710 * PICO), (24.0, 300 * PICO))),
    TypicalCapacitance(value=300 * PICO, voltage=24.0),
]


@pytest.mark.parametrize("voltage", [0.5, 7.0, 24.0, 40.0])
@pytest.mark.parametrize("curve", CURVES)
def test_charge_is_the_integral_of_the_capacitance(curve: OutputCapacitance, voltage: float) -> None:
    expected = quad(curve.at, 0, voltage, points=[5.0, 10.0, 24.0], limit=200, epsrel=1e-11)[0]
    assert curve.charge(voltage) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("curve", CURVES)
def test_energy_is_the_integral_of_voltage_times_capacitance(curve: OutputCapacitance) -> None:
    expected = quad(lambda v: v * curve.at(v), 0, 40.0, points=[5.0, 10.0, 24.0], limit=200, epsrel=1e-11)[0]
    assert curve.energy(40.0) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("curve", CURVES)
def test_scaled_curve_has_the_scaled_charge(curve: OutputCapacitance) -> None:
    assert curve.scaled(1.3).charge(24.0) == pytest.approx(1.3 * curve.charge(24.0), rel=1e-12)


def test_curve_goes_through_its_points() -> None:
    points = ((0.0, 1100 * PICO), (5.0, 520 * PICO), (24.0, 300 * PICO))
    assert [CapacitanceCurve(points=points).at(v) for v, _ in points] == pytest.approx([c for _, c in points])


def test_two_points_of_a_junction_give_the_junction_back() -> None:
    junction = JunctionCapacitance(zero_bias=1e-9, junction_voltage=0.8, exponent=0.4)
    curve = CapacitanceCurve(points=tuple((v, junction.at(v)) for v in (1.0, 24.0)))
    assert [curve.at(v) for v in (0.0, 7.0, 50.0)] == pytest.approx([junction.at(v) for v in (0.0, 7.0, 50.0)])


@pytest.mark.parametrize("ratio", [2.4, 5.6])
def test_typical_curve_has_its_value_and_its_ratio(ratio: float) -> None:
    curve = TypicalCapacitance(value=300 * PICO, voltage=24.0).curve(ratio)
    assert (curve.at(24.0), curve.at(0.0) / curve.at(24.0)) == pytest.approx((300 * PICO, ratio))


@pytest.mark.parametrize(
    ("points", "message"),
    [
        (((0.0, 1e-9),), "one point"),
        (((5.0, 1e-9), (0.0, 2e-9)), "order of rising voltage"),
        (((5.0, 1e-9), (5.0, 2e-9)), "each voltage once"),
        (((0.0, 1e-9), (5.0, -2e-10)), "rises with the voltage"),
        (((0.0, 1e-9), (5.0, 0.0)), "rises with the voltage"),
        (((-1.0, 1e-9), (5.0, 5e-10)), "voltages start at 0 V"),
        (((20.0, 1e-9), (20.1, 1e-10)), "check the units"),
        (((0.0, 1e-9), (5.0, math.nan)), "rises with the voltage"),
    ],
)
def test_curve_that_no_switch_has_is_refused(points: tuple[tuple[float, float], ...], message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        CapacitanceCurve(points=points)


def test_negative_constant_is_refused() -> None:
    with pytest.raises(ScenarioError, match="must be above zero"):
        ConstantCapacitance(value=-1e-12)


def test_value_at_no_voltage_is_refused() -> None:
    with pytest.raises(ScenarioError, match="voltage of the data sheet"):
        TypicalCapacitance(value=300 * PICO, voltage=0.0)


def test_curve_is_read_from_a_file(tmp_path: Path) -> None:
    file = tmp_path / "switch.csv"
    file.write_text("voltage,capacitance\n0 V,1.1 nF\n24 V,300 pF\n", encoding="utf-8")
    assert read_capacitance_curve(file).points == ((0.0, 1.1e-9), (24.0, 3e-10))


def test_points_out_of_order_in_a_file_are_refused_with_its_name(tmp_path: Path) -> None:
    file = tmp_path / "switch.csv"
    file.write_text("voltage,capacitance\n24 V,300 pF\n0 V,1.1 nF\n", encoding="utf-8")
    with pytest.raises(ScenarioError, match=r"switch\.csv.*order of rising voltage"):
        read_capacitance_curve(file)
