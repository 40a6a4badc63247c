"""Ring of round wire: uniform density, and the density of direct current, which falls as 1/r.

Source: Lord Rayleigh and W. D. Niven (1881), as quoted by E. B. Rosa, F. W. Grover, "Formulas and tables for the
calculation of mutual and self-inductance", NBS Bulletin 8 (1912) 1-237 (from memory [M]). The same collection
quotes W. Wien (1894) with -0.0083 a^2/R^2 as the second term; the numerical integration decides for Rayleigh and
Niven. The table was computed independently by numerical integration [N, 1e-9]; the last test integrates once more,
another way.
"""

import math
from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ellipe, ellipkm1

from solver.formulas import MU_0, ring_dc_inductance, ring_dc_resistance, ring_uniform_inductance

# Radius and wire radius um; Rayleigh-Niven, uniform density integrated, 1/r density integrated, Wien nH.
RINGS = [
    (2000, 100, 8.361321135, 8.361321234, 8.354393659, 8.361007186),
    (5000, 250, 20.90330284, 20.90330308, 20.88598415, 20.90251796),
    (1000, 100, 3.314909086, 3.314909703, 3.303219911, 3.314281186),
]


@pytest.mark.parametrize(("radius", "wire", "reference"), [row[:3] for row in RINGS])
def test_formula_of_rayleigh_and_niven(radius: float, wire: float, reference: float) -> None:
    # Ten digits.
    assert ring_uniform_inductance(radius * 1e-6, wire * 1e-6) * 1e9 == pytest.approx(reference, rel=1e-9, abs=0.0)


@pytest.mark.parametrize(("radius", "wire", "integrated"), [(*row[:2], row[3]) for row in RINGS])
def test_uniform_density(radius: float, wire: float, integrated: float) -> None:
    # The rest of the series is of order (a/R)^4 = 6e-6 or 1e-4, times about 2e-3.
    rest = 2e-3 * (wire / radius) ** 4
    assert ring_uniform_inductance(radius * 1e-6, wire * 1e-6) * 1e9 == pytest.approx(integrated, rel=rest, abs=0.0)


@pytest.mark.parametrize(("radius", "wire", "integrated"), [(*row[:2], row[4]) for row in RINGS])
def test_density_of_direct_current(radius: float, wire: float, integrated: float) -> None:
    # The rest of the series is of order (a/R)^4, times about 0.05.
    rest = 0.06 * (wire / radius) ** 4
    assert ring_dc_inductance(radius * 1e-6, wire * 1e-6) * 1e9 == pytest.approx(integrated, rel=rest, abs=0.0)


@pytest.mark.parametrize(("radius", "wire", "integrated", "wien"), [(*row[:2], row[3], row[5]) for row in RINGS])
def test_wien_is_farther_off(radius: float, wire: float, integrated: float, wien: float) -> None:
    formula = ring_uniform_inductance(radius * 1e-6, wire * 1e-6) * 1e9
    assert abs(formula - integrated) < 1e-2 * abs(wien - integrated)


def smooth_part(r: NDArray[np.float64], z: NDArray[np.float64]) -> NDArray[np.float64]:
    """Maxwell's M/(mu_0 sqrt(r r')) + ln d of every two circles."""
    near = np.hypot(np.subtract.outer(r, r), np.subtract.outer(z, z))
    np.fill_diagonal(near, 1e-9)
    far = np.hypot(np.add.outer(r, r), np.subtract.outer(z, z))
    complement = (near / far) ** 2
    k = np.sqrt(1.0 - complement)
    mutual = (2.0 / k - k) * ellipkm1(complement) - 2.0 / k * ellipe(1.0 - complement)
    return np.asarray(mutual + np.log(near))


def integrated_inductance(radius: float, wire: float, fall: float) -> float:
    """Twice the energy per square ampere of the density r^-fall.

    The kernel is split as M/(mu_0 sqrt(r r')) = smooth part - ln d. In polar coordinates of the section the angles
    of the second part integrate term by term (for s' = t s: -ln s, then t^n/n), so no point meets itself.
    """
    nodes, weights = np.polynomial.legendre.leggauss(10)
    t, w = (nodes + 1.0) / 2.0, weights / 2.0
    angle = 2.0 * math.pi / 16 * np.arange(16)
    order = np.arange(1, 8)
    r, z = (radius + wire * np.outer(t, np.cos(angle))).ravel(), (wire * np.outer(t, np.sin(angle))).ravel()
    current = np.repeat(w * t, 16) * r**-fall * 2.0 * math.pi / 16 * wire**2
    energy = current * np.sqrt(r) @ smooth_part(r, z) @ (current * np.sqrt(r))

    def waves(s: float) -> NDArray[np.complex128]:
        return np.asarray(np.fft.rfft((radius + s * np.cos(angle)) ** (0.5 - fall)) * 2.0 * math.pi / 16)

    for (outer, outer_weight), (inner, inner_weight) in product(zip(t, w, strict=True), repeat=2):
        s = wire * outer
        both = (waves(s) * waves(s * inner).conj()).real
        logarithm = -math.log(s) * both[0] + np.sum(inner**order / order * both[1:8])
        energy += 2.0 * wire * outer_weight * inner_weight * s**3 * inner * logarithm
    return MU_0 * float(energy) / float(current.sum()) ** 2


@pytest.mark.parametrize(("radius", "wire", "uniform", "direct"), [(*row[:2], *row[3:5]) for row in RINGS])
def test_both_integrated_once_more(radius: float, wire: float, uniform: float, direct: float) -> None:
    # 10 radii and 16 angles: 5e-8 at a = R/10.
    for fall, reference in ((0.0, uniform), (1.0, direct)):
        found = integrated_inductance(radius * 1e-6, wire * 1e-6, fall) * 1e9
        assert found == pytest.approx(reference, rel=1e-7, abs=0.0)


def test_resistance_of_a_ring_against_its_conductance_summed() -> None:
    # Conductance sigma dS/(2 pi r) over the section: chords in r, with r = R + a sin(p), by 20 points: 1e-15.
    nodes, weights = np.polynomial.legendre.leggauss(20)
    p = 0.5 * math.pi * nodes
    chords = 2.0 * 1e-4 * np.cos(p) * 1e-4 * np.cos(p) / (2e-3 + 1e-4 * np.sin(p))
    conductance = 5.8e7 / (2.0 * math.pi) * float(np.sum(0.5 * math.pi * weights * chords))
    assert ring_dc_resistance(2e-3, 1e-4, 5.8e7) == pytest.approx(1.0 / conductance, rel=1e-13, abs=0.0)
