"""Capacitors by case and body, and switch packages."""

import pytest

from geometries.board.capacitors import (
    PACKAGES,
    Capacitor,
    ElectrodeBody,
    LumpedEsl,
    SwitchPackage,
    capacitor_body,
    switch_package,
)
from geometries.board.parts import capacitor_case
from geometries.errors import GeometryError


def capacitor(body: LumpedEsl | ElectrodeBody | None = None, **changes: float) -> Capacitor:
    values = {"capacitance": 1e-6, "resistance": 5e-3, **changes}
    return Capacitor(case=capacitor_case("0603"), body=body or LumpedEsl(inductance=0.4e-9), **values)


def test_two_descriptions_of_one_body_are_refused() -> None:
    with pytest.raises(GeometryError, match=r"described twice: by esl = 0\.4 nH and by electrode_height = 0\.2 mm"):
        capacitor_body(0.4e-9, 0.2e-3)


def test_a_body_without_description_is_refused() -> None:
    with pytest.raises(GeometryError, match="give its esl"):
        capacitor_body(None, None)


def test_a_lumped_body_adds_its_inductance() -> None:
    assert capacitor(capacitor_body(0.4e-9, None)).inductance == 0.4e-9


def test_a_conductor_body_adds_no_lumped_inductance() -> None:
    assert capacitor(capacitor_body(None, 0.2e-3)).inductance == 0


def test_terminals_and_the_clear_part_make_up_the_body() -> None:
    part = capacitor()
    assert 2 * part.terminal + part.clear == pytest.approx(1.6e-3, abs=0)
    assert part.terminal == pytest.approx(0.4e-3, abs=0)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: LumpedEsl(inductance=0.0), "esl is 0 nH; it must be above zero"),
        (lambda: LumpedEsl(inductance=1e-9, spread=1.0), "spread of the esl is 1"),
        (lambda: ElectrodeBody(height=6e-3), "electrode_height is 6 mm"),
        (lambda: capacitor(capacitance=0.0), "capacitance of the 0603 capacitor is 0"),
        (lambda: capacitor(resistance=-1.0), "esr of the 0603 capacitor is -1"),
        (
            lambda: SwitchPackage(name="mine", inductance=-1e-9, uncertainty=0.0, source="own"),
            "package 'mine' has -1 nH",
        ),
        (lambda: switch_package("flipchip"), "no typical package 'flipchip'; known are flip-chip"),
    ],
)
def test_impossible_values_are_refused(make: object, message: str) -> None:
    with pytest.raises(GeometryError, match=message):
        make()  # type: ignore[operator]


@pytest.mark.parametrize("package", PACKAGES)
def test_typical_packages_say_that_they_are_typical(package: SwitchPackage) -> None:
    assert "common practice" in package.source
    assert 0 < package.uncertainty < package.inductance
