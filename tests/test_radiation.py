"""Closed forms of radiation: bounds bound, and limits are reached."""

import math

import numpy as np
import pytest

from solver.formulas import (
    ETA_0,
    QUARTER_WAVE_RESISTANCE,
    SPEED_OF_LIGHT,
    driven_wire_admittance_bound,
    short_wire_far_field,
    trapezoid_bound,
    trapezoid_harmonic,
    wire_far_field_bound,
)


def standing_wave_lobe(wavelengths: float) -> float:
    """Largest |E| 4 pi r / (eta_0 I) of a wire with an open end, by its largest current I."""
    kl = 2 * math.pi * wavelengths
    angle = np.linspace(1e-4, math.pi - 1e-4, 20001)
    field = np.abs(np.exp(1j * kl * np.cos(angle)) - np.cos(kl) - 1j * np.cos(angle) * np.sin(kl)) / np.sin(angle)
    return float(field.max()) / (math.sin(kl) if wavelengths < 0.25 else 1.0)


@pytest.mark.parametrize("wavelengths", [*np.linspace(0.02, 1.0, 50), *np.geomspace(1.0, 60.0, 80)])
def test_no_lobe_of_a_standing_wave_passes_the_bound(wavelengths: float) -> None:
    length = wavelengths * SPEED_OF_LIGHT / 100e6
    bound = wire_far_field_bound(1.0, length, 100e6, 3.0) * 4 * math.pi * 3.0 / ETA_0
    assert standing_wave_lobe(wavelengths) <= bound


def test_the_bound_is_within_1_percent_of_the_lobe_at_one_wavelength() -> None:
    assert standing_wave_lobe(1.0) == pytest.approx(2.4, rel=0.01)


def test_a_short_wire_is_bounded_by_its_own_far_field() -> None:
    arguments = 1e-6, 0.5, 30e6, 3.0
    assert wire_far_field_bound(*arguments) == pytest.approx(short_wire_far_field(*arguments), rel=1e-12, abs=0)


def test_a_wire_of_an_eighth_wave_shows_its_mean_characteristic_impedance() -> None:
    length = SPEED_OF_LIGHT / 100e6 / 8
    expected = ETA_0 / (2 * math.pi) * (math.log(4 * length / 4e-3) - 1)
    assert 1 / driven_wire_admittance_bound(length, 4e-3, 100e6) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("wavelengths", [0.2499, 0.25, 0.5, 1.7])
def test_from_a_quarter_wave_on_a_wire_is_taken_as_resonant(wavelengths: float) -> None:
    length = wavelengths * SPEED_OF_LIGHT / 100e6
    found = driven_wire_admittance_bound(length, 4e-3, 100e6)
    assert found == pytest.approx(1 / QUARTER_WAVE_RESISTANCE, rel=1e-12)


def test_the_admittance_bound_grows_with_frequency() -> None:
    values = [driven_wire_admittance_bound(1.0, 4e-3, f) for f in np.linspace(1e6, 200e6, 300)]
    assert values == sorted(values)


@pytest.mark.parametrize("duty", [0.05, 0.21, 0.5, 0.77])
def test_no_line_of_a_trapezoid_passes_the_bound(duty: float) -> None:
    for harmonic in range(1, 1200):
        line = abs(trapezoid_harmonic(5.0, 400e3, duty, 1e-9, 3e-9, harmonic))
        assert line <= trapezoid_bound(5.0, 400e3, 1e-9, 3e-9, harmonic * 400e3) * (1 + 1e-12)


def test_the_bound_of_a_trapezoid_is_reached_by_some_duty() -> None:
    # Edges of half a cycle and a half, where |sinc| = 1/(pi x): duty so that both edges add up.
    harmonic, edge = 101, 0.5 / (101 * 400e3)
    lines = [abs(trapezoid_harmonic(5.0, 400e3, duty, edge, edge, harmonic)) for duty in np.linspace(0.3, 0.4, 2001)]
    assert max(lines) == pytest.approx(trapezoid_bound(5.0, 400e3, edge, edge, 101 * 400e3), rel=1e-3, abs=0)
