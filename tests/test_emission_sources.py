"""Loop, switch node and cable of one board at the antenna."""

import math

import numpy as np
import pytest

from geometries.operation.emission import Cable
from geometries.operation.product import Board
from geometries.operation.sites import BoardAxis, Orientation, anechoic_site, semi_anechoic_site
from solver.emission.cable import DrivingGround
from solver.emission.dipole import DipoleKind, DipoleMoment
from solver.emission.site import site_gain
from solver.emission.sources import (
    AttachedCable,
    BoardSources,
    Drive,
    gain_curve,
    oriented_totals,
    spread_changes,
)
from solver.formulas import EPSILON_0, SPEED_OF_LIGHT, driven_wire_admittance_bound, wire_far_field_bound

BOARD = Board(width=60e-3, length=80e-3)
SITE, ROOM = semi_anechoic_site(3.0), anechoic_site(3.0)
UP = np.array([0.0, 0.0, 1.0 + 0j])


def loop(across=0.0, along=0.0, normal=0.0, band=1.0):
    return DipoleMoment(kind=DipoleKind.MAGNETIC, across=across, along=along, normal=normal, band=band, source="loop")


def node(area):
    return DipoleMoment(
        kind=DipoleKind.ELECTRIC, across=0.0, along=0.0, normal=EPSILON_0 * area, band=2.0, source="node"
    )


def drive(*frequencies, current=1e-3, node_voltage=0.1):
    count = len(frequencies)
    return Drive(
        frequencies=np.array(frequencies, dtype=float),
        current=np.full(count, current),
        node_voltage=np.full(count, node_voltage),
    )


def test_a_flat_loop_in_an_anechoic_room_has_its_field_in_free_space():
    # 1 cm² and 1 mA at 100 MHz and 3 m: 12.96 dBµV/m with near terms.
    (found,) = oriented_totals(drive(100e6), BoardSources(loop=loop(normal=1e-4)), ROOM, Orientation.FLAT, 6.0)
    assert found.total.levels[0] == pytest.approx(12.957, abs=2e-3)


def test_over_a_ground_a_flat_loop_is_6_8_db_below_its_field_in_free_space_at_30_mhz():
    levels = [
        oriented_totals(drive(30e6), BoardSources(loop=loop(normal=1e-4)), site, Orientation.FLAT, 6.0)[0].total.levels
        for site in (SITE, ROOM)
    ]
    assert levels[0] - levels[1] == pytest.approx(-6.84, abs=0.01)


def test_a_node_counts_as_a_loop_of_the_same_far_field():
    # Far away p c is m: 100 mm² at 0.1 V is a loop of eps_0 c 1e-4 x 0.1 A m²; at 1 GHz near terms are 0.02 dB.
    area = EPSILON_0 * SPEED_OF_LIGHT * 1e-4 * 0.1 / 1e-3
    both = BoardSources(loop=loop(normal=area), node=node(1e-4))
    (found,) = oriented_totals(drive(1e9), both, ROOM, Orientation.ON_EDGE, 6.0)[:1]
    loop_level, node_level = (float(source.levels[0]) for source in found.total.sources)
    assert loop_level == pytest.approx(node_level, abs=0.03)


def test_the_cable_lies_under_the_bound_by_its_reactance_and_by_the_site():
    # At 229 MHz 17 dB by the board's capacitance; the bound takes 6 dB for the site.
    attached = AttachedCable(
        cable=Cable(length=1.0), board=BOARD, ground=DrivingGround(copper="L2", reported=50e-12), stray_capacitance=0.0
    )
    board = BoardSources(loop=loop(normal=1e-12), cable=attached)
    (found,) = oriented_totals(drive(229e6), board, SITE, Orientation.FLAT, 6.0)
    voltage = 2 * math.pi * 229e6 * 50e-12 * 1e-3
    bound = 2 * wire_far_field_bound(voltage * driven_wire_admittance_bound(1.0, 4e-3, 229e6), 1.0, 229e6, 3.0)
    gap = 20 * math.log10(bound / 1e-6) - float(found.total.sources[-2].levels[0])
    assert 16.8 < gap < 16.8 + 3.0


def test_the_band_of_a_level_holds_what_boards_share_and_the_moments_own():
    (found,) = oriented_totals(drive(1e8), BoardSources(loop=loop(normal=1e-6, band=2.5)), ROOM, Orientation.FLAT, 6.0)
    assert found.total.bands[0] == pytest.approx(6.5, rel=1e-12)


def test_a_board_that_may_stand_in_any_way_has_three_sums():
    found = oriented_totals(drive(1e8), BoardSources(loop=loop(normal=1e-6)), SITE, Orientation.UNKNOWN, 6.0)
    assert [each.upright for each in found] == [BoardAxis.NORMAL, BoardAxis.ACROSS, BoardAxis.ALONG]


def test_a_loop_that_lies_does_not_care_which_edge_of_the_board_is_down():
    found = oriented_totals(drive(1e8), BoardSources(loop=loop(normal=1e-6)), SITE, Orientation.ON_EDGE, 6.0)
    assert found[0].total.levels == pytest.approx(found[1].total.levels, abs=0.01)


def test_gains_between_computed_frequencies_are_within_a_tenth_of_a_decibel():
    frequencies = np.arange(30e6, 1e9, 1.7e6)
    for axis in BoardAxis:
        curve = gain_curve(SITE, loop(normal=1.0), frequencies, axis)
        exact = [site_gain(SITE, DipoleKind.MAGNETIC, UP, float(f), axis) for f in frequencies[::23]]
        assert np.abs(20 * np.log10(curve[::23] / exact)).max() < 0.1


def test_a_horizontal_against_a_vertical_loop_hides_11_db_at_30_mhz_in_the_orientation():
    # Flat: -6.8 against +4.6 dB; on edge the other way round for one edge, the same for the other.
    before, after = (
        oriented_totals(drive(30e6), BoardSources(loop=moment), SITE, Orientation.UNKNOWN, 6.0)
        for moment in (loop(normal=1e-6, band=0.0), loop(across=1e-6, band=0.0))
    )
    change = spread_changes(before, after)[-1]
    assert (change.change, change.band) == (pytest.approx(0.0, abs=0.01), pytest.approx(11.4, abs=0.1))


def test_with_the_orientation_known_nothing_of_it_is_in_the_band():
    before, after = (
        oriented_totals(drive(30e6), BoardSources(loop=moment), SITE, Orientation.FLAT, 6.0)
        for moment in (loop(normal=1e-6, band=1.0), loop(across=1e-6, band=1.0))
    )
    change = spread_changes(before, after)[-1]
    assert (change.change, change.band) == (pytest.approx(11.4, abs=0.1), pytest.approx(math.sqrt(2), rel=1e-9))


def test_boards_that_stand_in_different_ways_are_not_compared():
    flat, edge = (
        oriented_totals(drive(30e6), BoardSources(loop=loop(normal=1e-6)), SITE, orientation, 6.0)
        for orientation in (Orientation.FLAT, Orientation.ON_EDGE)
    )
    with pytest.raises(ValueError, match="the boards stand in different ways"):
        spread_changes(flat, edge)
