"""Moments as vectors, and what they add up to."""

import math

import pytest

from solver.emission.dipole import DipoleKind, DipoleMoment, added_moments


def moment(across=0.0, along=0.0, normal=0.0, band=1.0, kind=DipoleKind.MAGNETIC):
    return DipoleMoment(kind=kind, across=across, along=along, normal=normal, band=band, source="test")


def test_magnitude_is_the_root_of_the_squares_of_complex_components():
    assert moment(across=3j, along=4.0).magnitude == 5.0


def test_scaling_turns_the_phase_of_all_components():
    assert moment(across=1.0, normal=2.0).scaled(1j).normal == 2j


def test_moments_add_as_vectors():
    total = added_moments([moment(across=1e-6, normal=2e-6), moment(across=2e-6, normal=-6e-6)], "both")
    assert (total.across, total.normal) == (pytest.approx(3e-6), pytest.approx(-4e-6))


def test_band_of_a_sum_of_equals_in_line_is_smaller_by_root_two():
    total = added_moments([moment(normal=1.0), moment(normal=1.0)], "both")
    assert total.band == pytest.approx(1 / math.sqrt(2), rel=1e-12)


def test_band_of_a_part_counts_by_its_square_where_parts_stand_upright_to_each_other():
    total = added_moments([moment(normal=3.0, band=0.0), moment(across=4.0, band=1.0)], "both")
    assert total.band == pytest.approx(16 / 25, rel=1e-12)


def test_band_grows_where_parts_nearly_cancel():
    total = added_moments([moment(normal=10.0), moment(normal=-9.0)], "both")
    assert total.band == pytest.approx(math.hypot(10, 9), rel=1e-12)


def test_magnetic_and_electric_moments_are_not_added():
    with pytest.raises(ValueError, match="moments of 2 kinds cannot be added"):
        added_moments([moment(normal=1.0), moment(normal=1.0, kind=DipoleKind.ELECTRIC)], "both")


def test_moments_that_cancel_have_no_band():
    with pytest.raises(ValueError, match="the moments cancel"):
        added_moments([moment(normal=1.0), moment(normal=-1.0)], "both")


def test_a_component_that_is_no_number_is_refused():
    with pytest.raises(ValueError, match="give finite numbers"):
        moment(normal=math.nan)


def test_a_negative_band_is_refused():
    with pytest.raises(ValueError, match="-1 dB; give zero or more"):
        moment(normal=1.0, band=-1.0)
