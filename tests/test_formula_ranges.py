"""Closed forms refuse arguments outside their range."""

import inspect
import math
from collections.abc import Callable

import numpy as np
import pytest

import solver.formulas as formulas
from solver.formulas import (
    Bar,
    Rectangle,
    bars_partial_inductance,
    bars_rectangle_inductance,
    circle_field,
    circle_field_behind_slab,
    circle_slab_impedance,
    coax_dc_inductance,
    coaxial_circles_mutual,
    disc_inductance_change,
    electric_dipole_tensor,
    field_behind_slab,
    filaments_over_plane_mutual,
    filaments_partial_mutual,
    finite_plane_flux_density,
    finite_plane_loop_inductance,
    finite_plane_return_density,
    hammerstad_jensen_impedance,
    hammerstad_jensen_inductance,
    hole_axis_field,
    magnetic_dipole_tensor,
    mean_log_distance,
    rectangle_over_plane_inductance,
    rectangle_surface_inductance,
    ring_dc_resistance,
    ring_over_plane_perfect_inductance,
    ring_perfect_inductance,
    ring_uniform_inductance,
    rosa_bar_partial_inductance,
    sheet_behind_line,
    sheet_corner_frequency,
    slotted_plane_inductance,
    split_strip_shielding,
    strip_over_plane_inductance,
    stripline_inductance,
    thick_strip_inductance,
    two_wires_impedance,
    two_wires_perfect_inductance,
    via_field,
    via_field_plane_matrix,
    via_pair_inductance,
    wire_over_plane_inductance,
)

NAMED = {
    "frequency": 1e6,
    "conductivity": 5.8e7,
    "thickness": 35e-6,
    "radius": 1e-5,
    "spacing": 1e-3,
    "inner_radius": 0.5e-3,
    "shell_inner_radius": 1.75e-3,
    "shell_outer_radius": 2e-3,
    "height": 0.2e-3,
    "width": 1e-3,
    "gap": 0.2e-3,
    "plane_spacing": 1e-3,
    "slot_width": 1e-3,
    "half_width": 1e-3,
    "half_gap": 0.1e-3,
    "board_capacitance": 2.8e-12,
    "board_radius": 8e-3,
    "area": 4e-6,
    "patch_length": 10e-3,
    "patch_width": 6e-3,
    "first_height": 1e-3,
    "second_height": 1e-3,
    "distance": 2e-3,
    "first_radius": 1e-3,
    "second_radius": 1e-3,
    "relative_permittivity": 4.4,
    "x": 0.1e-3,
    "y": -1e-3,
    "depth": 1e-3,
    "amplitude": 5.0,
    "duty": 0.4,
    "rise_time": 5e-9,
    "fall_time": 3e-9,
    "harmonic": 100,
    "at": 1e8,
    "ring_frequency": 2e8,
    "decay_rate": 2e7,
    "moment": 1e-7,
    "polar_angle": 1.0,
    "current": 5e-6,
    "length": 0.05,
    "offset": 0.0,
    "second_length": 1.0,
    "strip_width": 0.1e-3,
    "diameter": 4e-3,
    "wire_radius": 1e-6,
    "disc_radius": 3e-3,
    "hole_radius": 1e-3,
    "position": 1e-3,
    "across": 3e-3,
    "resistance": 0.4,
    "inductance": 1e-9,
    "capacitance": 300e-12,
    "time": 1e-9,
    "damping": 0.2,
    "ratio": 3.0,
    "loaded_frequency": 5e5,
    "added": 900e-12,
    "die_inductance": 0.2e-9,
    "added_inductance": 0.5e-9,
    "probe": 2e-12,
}
TAKES_MORE_THAN_NUMBERS = {
    "bars_dc_inductance",
    "bars_dc_resistance",
    "bars_partial_inductance",
    "electric_dipole_tensor",
    "flat_rectangles_mutual",
    "magnetic_dipole_tensor",
    "mean_log_distance",
    "via_field",
    "via_field_partial_matrix",
    "via_field_plane_matrix",
}
FREE = {"offset", "plane_current", "x", "y", "distance", "position", "across"}


def cases() -> list[tuple[str, str, float]]:
    found = []
    for name, function in vars(formulas).items():
        if inspect.isfunction(function) and name not in TAKES_MORE_THAN_NUMBERS:
            for argument in inspect.signature(function).parameters:
                found += [(name, argument, bad) for bad in ([math.nan] if argument in FREE else [-1e-3, math.nan])]
    return found


@pytest.mark.parametrize(("name", "argument", "bad"), cases())
def test_negative_or_undefined_arguments_are_refused(name: str, argument: str, bad: float) -> None:
    function = getattr(formulas, name)
    given = {key: NAMED[key] for key in inspect.signature(function).parameters if key in NAMED}
    function(**given)
    with pytest.raises(ValueError, match="allowed: "):
        function(**{**given, argument: bad})


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: two_wires_perfect_inductance(1e-3, 2e-3),
            r"spacing of the centres is 0\.002 m; allowed: above 0\.002 m",
        ),
        (lambda: two_wires_impedance(1e6, 1e-3, 2.04e-3, 5.8e7), r"allowed: above 0\.00205 m"),
        (lambda: wire_over_plane_inductance(1e-3, 1e-3), "height of the wire's centre"),
        (lambda: filaments_over_plane_mutual(1e-3, 1e-3, 0.0), "distance of the filaments"),
        (lambda: coax_dc_inductance(1e-3, 2e-3, 2.001e-3), "outer radius of the shell"),
        (
            lambda: strip_over_plane_inductance(1.0, 1e-3),
            r"width over height is 1000 \(ratio\); allowed: 0\.001 to 200",
        ),
        (lambda: stripline_inductance(101.0, 1.0), "spacing of the planes"),
        (lambda: hammerstad_jensen_inductance(1.0, 1.0, 1.5), "thickness over height"),
        (lambda: hammerstad_jensen_impedance(1.0, 1.0, 0.1, 0.9), "relative permittivity"),
        (lambda: thick_strip_inductance(60.0, 1.0, 0.1), "width over height"),
        (lambda: thick_strip_inductance(1.0, 1.0, 6.0), "thickness over height"),
        (lambda: finite_plane_loop_inductance(0.11, 1.0, 5.0), r"radius is 0\.11 m; allowed: 0 to 0\.1 m"),
        (lambda: slotted_plane_inductance(0.11, 1.0, 5.0), "radius"),
        (lambda: finite_plane_return_density(2.5, 1.0, 5.0), "position on the plane"),
        (lambda: finite_plane_flux_density(1.0, 0.0, height=1.0, width=5.0), "not on the plane"),
        (lambda: finite_plane_flux_density(0.0, 1.0, height=1.0, width=5.0), "distance from the line"),
        (
            lambda: field_behind_slab(0.0, 1e-6, frequency=1e6, height=1e-3, thickness=35e-6, conductivity=5.8e7),
            "depth",
        ),
        (lambda: coaxial_circles_mutual(1.0, 1.0, 0.0), "shortest distance"),
        (lambda: circle_field(1.0, -1e-3, 0.0), r"distance from the axis is -0\.001 m; allowed: 0 to inf m"),
        (lambda: circle_field(1.0, 1.0, 0.0), "distance from the filament"),
        (lambda: circle_slab_impedance(1e6, 2.0, 1e-3, 35e-6, 5.8e7), "radius over height"),
        (
            lambda: circle_field_behind_slab(
                1e-6, frequency=1e6, radius=1e-3, height=1e-3, thickness=35e-6, conductivity=5.8e7
            ),
            r"depth is 1e-06 m; allowed: 3\.5e-05 to inf m",
        ),
        (lambda: disc_inductance_change(1.0, 1e-5, 1.0), "disc radius over height"),
        (lambda: hole_axis_field(1e-5, radius=1.0, height=1.0, hole_radius=1.0), "hole radius over depth"),
        (lambda: ring_uniform_inductance(1.0, 0.21), r"wire radius over radius is 0\.21 \(ratio\); allowed: 0 to 0\.2"),
        (lambda: ring_dc_resistance(1.0, 1.0, 5.8e7), "wire radius over radius"),
        (lambda: ring_perfect_inductance(1.0, 0.96), "wire radius over radius"),
        (lambda: ring_over_plane_perfect_inductance(1.0, 0.1, 0.1), "height of the wire's centre"),
        (lambda: sheet_corner_frequency(-1e-3, 35e-6, 5.8e7), "distance"),
        (lambda: sheet_corner_frequency(0.3e-3, 35e-6, 5.8e7), "thickness over distance"),
        (lambda: sheet_behind_line(1e7, 1e-3, 35e-6, 5.8e7), "thickness over skin depth"),
        (lambda: filaments_partial_mutual(1.0, 1.0, 0.5, 0.0), "distance of overlapping filaments"),
        (lambda: rosa_bar_partial_inductance(1.0, 1.0, 0.1), r"length is 1 m; allowed: 1\.1 to inf m"),
        (lambda: bars_rectangle_inductance(1.0, 0.1, 0.1, 0.01), "side between the bars' middles"),
        (lambda: rectangle_surface_inductance(1.0, 0.1, 0.03), "radius over the shorter side"),
        (lambda: rectangle_over_plane_inductance(1.0, 1.0, 0.01, 0.019), "height of the wires' centres"),
        (lambda: via_pair_inductance(1e-3, 0.5e-3, 1e-3), "spacing of the centres"),
        (lambda: via_field_plane_matrix(1e-3, 0.5e-3, [(0.0, 0.0), (1e-3, 0.0)]), "two vias are 0.001 m apart"),
        (lambda: via_field_plane_matrix(1e-3, 0.5e-3, [0.0, 1e-3]), r"positions have the shape \(2,\)"),
        (lambda: via_field([[1.0]], [1]), r"senses are \[1\.0\]; allowed: \+1 and -1"),
        (lambda: via_field([[1.0]], [1, -1]), r"matrix has the shape \(1, 1\); allowed: \(2, 2\)"),
        (lambda: magnetic_dipole_tensor(np.zeros((1, 3)), 1e8), r"distance is 0 m; allowed: finite and above 0 m"),
        (lambda: electric_dipole_tensor(np.ones((1, 3)), 0.0), r"frequency is 0 Hz; allowed: finite and above 0 Hz"),
        (lambda: split_strip_shielding(1e-3, 1e-3, 1e-3, 0.0), "half gap"),
        (lambda: Rectangle(left=0.0, bottom=0.0, width=0.0, height=1.0), "width"),
    ],
)
def test_message_names_the_value_and_what_is_allowed(call: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()


def test_bars_too_thin_for_their_length_are_refused_for_rounding() -> None:
    thin = Rectangle(left=0.0, bottom=0.0, width=1e-6, height=1e-6)
    bar = Bar(section=thin, start=0.0, length=0.1)
    with pytest.raises(ValueError, match="rounding error of the partial inductance"):
        bars_partial_inductance(bar, bar)


def test_mean_distance_of_thin_far_sections_is_refused_for_rounding() -> None:
    near = Rectangle(left=0.0, bottom=0.0, width=0.2e-3, height=35e-6)
    far = Rectangle(left=50e-3, bottom=0.0, width=0.2e-3, height=35e-6)
    with pytest.raises(ValueError, match="rounding error"):
        mean_log_distance(near, far)
