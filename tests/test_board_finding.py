"""What is found on a board without a name typed."""

from dataclasses import replace

import pytest

from geometries.drawn.converters import ConverterKind, find_converters, is_ground
from geometries.drawn.loops import find_loops
from geometries.drawn.parts import Part, counted
from geometries.fabrication.board import Pad
from geometries.quantities import MM


@pytest.fixture(scope="module")
def loop(board):
    return find_loops(board)[0]


def part(reference, *pins):
    """A part with pins (function, net)."""
    pads = [
        Pad(reference=reference, pin=str(i), function=function, net=net, layer=1, place=(0, 0), shape=None)
        for i, (function, net) in enumerate(pins)
    ]
    return Part(reference=reference, pads=tuple(replace(pad, shape=_square()) for pad in pads))


def _square():
    import shapely

    return shapely.box(0, 0, MM, MM)


def found(*parts):
    return find_converters({one.reference: one for one in parts})


def test_the_built_in_converter_is_found(loop):
    assert (loop.converter.name, loop.converter.switch_net, loop.converter.supply_net) == ("U1", "SW", "+24V")


def test_its_capacitors_are_ordered_by_their_path(loop):
    assert [one.capacitor for one in loop.capacitors] == ["C1", "C2"]


def test_a_path_is_the_way_over_both_nets(loop):
    supply = ((15 - 12.8) ** 2 + (14.95 - 15.3) ** 2) ** 0.5
    ground = ((15 - 12.8) ** 2 + (14.0 - 13.6) ** 2) ** 0.5
    assert loop.path / MM == pytest.approx(supply + ground, rel=1e-6)


def test_its_boot_capacitor_is_found(loop):
    assert loop.boot.capacitor == "C3"


def test_its_divider_is_found(loop):
    assert (loop.feedback.net, loop.feedback.upper, loop.feedback.lower) == ("FB", ("R1",), ("R2",))


def test_the_plane_covers_its_hull(loop):
    assert loop.ground[1].share == pytest.approx(1.0)


HALF_BRIDGE = (
    part("Q1", ("S", "sw"), ("S_1", "sw"), ("G", "g1"), ("D", "vin")),
    part("Q2", ("S", "gnd"), ("G", "g2"), ("D", "sw")),
)


def test_two_transistors_with_an_inductor_are_a_half_bridge():
    (one,) = found(*HALF_BRIDGE, part("L1", ("", "sw"), ("", "out")))
    assert (one.kind, one.switches, one.supply_net, one.ground_net) == (
        ConverterKind.HALF_BRIDGE,
        ("Q1", "Q2"),
        "vin",
        "gnd",
    )


def test_two_transistors_without_an_inductor_are_none():
    assert found(*HALF_BRIDGE) == ()


def test_the_controller_of_a_half_bridge_is_no_second_converter():
    driver = part("U1", ("SW", "sw"), ("VIN", "vin"), ("GND", "gnd"))
    (one,) = found(*HALF_BRIDGE, driver, part("L1", ("", "sw"), ("", "out")))
    assert (one.kind, one.controller) == (ConverterKind.HALF_BRIDGE, "U1")


def test_a_transistor_and_a_diode_step_down():
    diode = part("D1", ("A", "GND"), ("K", "sw"))
    (one,) = found(HALF_BRIDGE[0], diode, part("L1", ("", "sw"), ("", "out")))
    assert (one.kind, one.switches, one.ground_net) == (ConverterKind.TRANSISTOR_DIODE, ("Q1", "D1"), "GND")


def test_a_transistor_and_a_diode_step_up():
    switch = part("Q1", ("S", "GND"), ("G", "g"), ("D", "sw"))
    (one,) = found(switch, part("D1", ("A", "sw"), ("K", "out")), part("L1", ("", "vin"), ("", "sw")))
    assert (one.switches, one.supply_net) == (("D1", "Q1"), "out")


def test_a_step_up_part_commutates_to_its_output():
    chip = part("U1", ("SW", "sw"), ("VIN", "vin"), ("VOUT", "out"), ("GND", "gnd"))
    (one,) = found(chip, part("L1", ("", "vin"), ("", "sw")))
    assert (one.kind, one.supply_net) == (ConverterKind.INTEGRATED_UP, "out")


def test_a_part_whose_switch_pin_has_no_inductor_is_none():
    assert found(part("U1", ("SW", "sw"), ("VIN", "vin"), ("GND", "gnd"))) == ()


@pytest.mark.parametrize(("net", "ground"), [("GND", True), ("/psu/PGND", True), ("AGND2", True), ("+24V", False)])
def test_ground_is_told_by_its_name(net, ground):
    assert is_ground(net) is ground


def test_references_sort_as_people_count():
    assert sorted(["R10", "R9", "C1"], key=counted) == ["C1", "R9", "R10"]
