"""Spectrum of trapezoid and ring.

Sources: C. R. Paul, *Introduction to Electromagnetic Compatibility*, 2nd ed., 2006, ch. 3 (from memory; formula derived
anew); Laplace transform of the damped sine (derived). The numbers below were computed independently from the closed
forms and checked there with a Fourier transform.
"""

import numpy as np
import pytest

from solver.formulas import damped_ring_harmonic, trapezoid_harmonic

PAUL = "C. R. Paul, Introduction to Electromagnetic Compatibility, 2nd ed., 2006, ch. 3"
LAPLACE = "Laplace transform of a damped sine"

# 12 V, T = 2 us, tau = 0.8 us at half height, rise 5 ns, fall 3 ns: harmonic, peak value V.
TRAPEZOID = [
    (1, 7.265485802),
    (3, 1.496688682),
    (10, 0.0002512220079),
    (50, 0.001243512273),
    (100, 0.002409533742),
    (200, 0.004235569854),
]
# 5 V, 150 MHz, alpha = 2e7 1/s, T = 2 us: harmonic, peak value V.
RING = [
    (50, 0.005454070388),
    (100, 0.005964533711),
    (200, 0.009529231908),
    (300, 0.1249929644),
    (400, 0.006806864423),
    (500, 0.002982550106),
]
DIGITS = "ten digits"
CANCELLING = "ten digits; the two edges cancel to 1e-4 of themselves there, which costs four of them"


@pytest.mark.parametrize(("harmonic", "reference"), TRAPEZOID)
def test_trapezoid_lines(references, harmonic: int, reference: float) -> None:
    found = abs(trapezoid_harmonic(12.0, 500e3, 0.4, 5e-9, 3e-9, harmonic))
    references.compare(
        found=found,
        reference=reference,
        rtol=1e-9 if harmonic in (1, 3) else 1e-8,
        source=PAUL,
        item=f"trapezoid of 12 V, 500 kHz, harmonic {harmonic}",
        unit="V",
        reason=DIGITS if harmonic in (1, 3) else CANCELLING,
        mark="computed independently",
    )


@pytest.mark.parametrize(("harmonic", "reference"), RING)
def test_ring_lines(references, harmonic: int, reference: float) -> None:
    references.compare(
        found=abs(damped_ring_harmonic(5.0, 500e3, 150e6, 2e7, harmonic)),
        reference=reference,
        rtol=1e-9,
        source=LAPLACE,
        item=f"ring of 5 V, 150 MHz, alpha 2e7 1/s, every 2 us, harmonic {harmonic}",
        unit="V",
        reason=DIGITS,
        mark="computed independently",
    )


def lines_of_polygon(corners: list[tuple[float, float]], samples: int) -> np.ndarray:
    """Exact lines of a polygon whose corners fall on samples: the transform, times the spectrum of a straight piece."""
    times, values = zip(*corners, strict=True)
    sampled = np.interp(np.arange(samples) / samples, times, values)
    numbers = np.arange(samples // 2)
    return 2 * np.fft.fft(sampled)[: samples // 2] / samples * np.sinc(numbers / samples) ** 2


def test_trapezoid_is_the_fourier_transform_of_its_waveform_with_phase() -> None:
    # Corners on samples of 1 ns: rise 5 ns, fall 3 ns, half height after 0.8 us.
    corners = [(0.0, 0.0), (2.5e-3, 12.0), (0.4005, 12.0), (0.402, 0.0), (1.0, 0.0)]
    transformed = lines_of_polygon(corners, 2000)
    for harmonic in (1, 2, 3, 10, 50, 99, 200):
        found = trapezoid_harmonic(12.0, 500e3, 0.4, 5e-9, 3e-9, harmonic)
        assert found == pytest.approx(complex(transformed[harmonic]), rel=1e-9, abs=1e-12)


def test_ring_is_the_fourier_transform_of_its_waveform() -> None:
    samples = 1 << 21
    times = np.arange(samples) / samples * 2e-6
    waveform = 5.0 * np.exp(-2e7 * times) * np.sin(2 * np.pi * 150e6 * times)
    transformed = 2 * np.fft.fft(waveform) / samples
    for harmonic in (50, 100, 300, 500):
        found = damped_ring_harmonic(5.0, 500e3, 150e6, 2e7, harmonic)
        # Aliasing of the transform: the slope at zero, 5 V x omega, falls off as 1/n², (300/2e6)² of the peak.
        assert found == pytest.approx(complex(transformed[harmonic]), rel=0, abs=1e-6)
