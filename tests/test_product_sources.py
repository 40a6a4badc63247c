"""Switch node and cable of a product: what they are made of, and their limits."""

import math

import pytest

from geometries.errors import ScenarioError
from geometries.operation.emission import Cable
from geometries.operation.product import Board, SwitchNode
from solver.emission.board_cable import board_capacitance, estimated_current, ground_voltage, node_voltage_on_board
from solver.emission.node import GroundBelow, copper_area, node_moment, stray_capacitance
from solver.formulas import EPSILON_0, SPEED_OF_LIGHT, driven_wire_admittance_bound

BOARD = Board(width=60e-3, length=80e-3)
GROUND = GroundBelow(depth=0.2e-3, relative_permittivity=4.4)
NODE = SwitchNode(width=10e-3, length=8e-3)
CABLE = Cable(length=1.0)


def test_the_node_depends_on_the_depth_of_its_ground_by_its_fringe_only():
    shallow, deep = (copper_area(NODE, GroundBelow(depth=d, relative_permittivity=4.4)) for d in (0.1e-3, 0.4e-3))
    assert 1.0 < deep / shallow < 1.12


def test_a_node_in_the_middle_of_the_board_is_a_dipole_across_it_only():
    moment = node_moment(NODE, BOARD, GROUND)
    assert (moment.across, moment.along, moment.normal) == (0.0, 0.0, EPSILON_0 * copper_area(NODE, GROUND))


def test_a_node_off_the_middle_is_a_dipole_along_the_board_too():
    # rho/a = 0.5: 4/pi x 0.5/sqrt(0.75) of the normal part.
    node = SwitchNode(width=10e-3, length=8e-3, offset_along=BOARD.radius / 2)
    moment = node_moment(node, BOARD, GROUND)
    assert moment.along / moment.normal == pytest.approx(2 / math.pi / math.sqrt(0.75), rel=1e-12)


def test_the_inductor_adds_2_75_footprints_at_half_the_voltage():
    with_body = SwitchNode(width=10e-3, length=8e-3, inductor_width=7e-3, inductor_length=7e-3)
    added = node_moment(with_body, BOARD, GROUND).normal - node_moment(NODE, BOARD, GROUND).normal
    assert added == pytest.approx(EPSILON_0 * 2.75 * 0.5 * 49e-6, rel=1e-9)


def test_the_band_of_node_and_inductor_lies_between_both():
    with_body = SwitchNode(width=10e-3, length=8e-3, inductor_width=7e-3, inductor_length=7e-3)
    assert 1.0 < node_moment(with_body, BOARD, GROUND).band < 6.0


def test_a_node_much_wider_than_its_depth_counts_by_its_area():
    assert copper_area(NODE, GroundBelow(depth=0.05e-3, relative_permittivity=4.4)) == NODE.width * NODE.length


def test_at_the_ring_the_node_weighs_as_half_a_square_millimetre_of_loop():
    # Voltage over current at the ring is root(L/C) = 2 ohm; p c/m is S x 2/eta_0: with 85.6 mm² by hand 0.454 mm².
    area = node_moment(NODE, BOARD, GROUND).magnitude * SPEED_OF_LIGHT * 2.0
    assert area == pytest.approx(0.454e-6, rel=0.01)


def test_the_stray_capacitance_is_that_of_the_boards_charge_on_the_node():
    # 2 eps_0 S/(pi a) with S = 85.6 mm² and a = 39.1 mm: 12.3 fF by hand.
    assert stray_capacitance(NODE, BOARD, GROUND) == pytest.approx(12.3e-15, rel=0.01)


def test_a_chassis_adds_to_the_capacitance_of_the_board():
    assert board_capacitance(Board(width=60e-3, length=80e-3, attached_capacitance=20e-12)) == pytest.approx(
        22.77e-12, rel=1e-3
    )


def test_a_large_chassis_draws_the_current_of_the_bound():
    large = Board(width=60e-3, length=80e-3, attached_capacitance=1e-6)
    expected = 1e-3 * driven_wire_admittance_bound(1.0, CABLE.diameter, 100e6)
    assert estimated_current(1e-3, large, CABLE, 100e6) == pytest.approx(expected, rel=1e-4)


def test_voltage_along_the_ground_grows_with_frequency():
    # 2 pi 200 MHz x 50 pH x 0.1 A: 6.28 mV.
    assert ground_voltage(0.1, 50e-12, 200e6) == pytest.approx(2e-3 * math.pi, rel=1e-12)


def test_the_node_drives_the_board_by_the_ratio_of_the_capacitances():
    assert node_voltage_on_board(24.0, 15e-15, BOARD) == pytest.approx(24 * 15e-15 / 2.769e-12, rel=1e-3)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Board(width=0.0, length=1.0), "emission.board: width is 0 m; it must be above zero"),
        (
            lambda: Board(width=1.0, length=1.0, attached_capacitance=-1.0),
            "emission.board: attached_capacitance is -1 F",
        ),
        (lambda: SwitchNode(width=0.0, length=1.0), "emission.node: width is 0 m"),
        (lambda: SwitchNode(width=1.0, length=1.0, inductor_width=-1.0), "emission.node: inductor_width is -1 m"),
    ],
)
def test_what_cannot_be_is_refused(make, message):
    with pytest.raises(ScenarioError, match=message):
        make()
