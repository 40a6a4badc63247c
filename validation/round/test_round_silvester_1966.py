"""Flat ring, alone and over a disc: resistance and inductance from direct current to 100 MHz.

Sources of the method: P. Silvester, Proceedings of the IEEE 54 (1966) 1147; W. T. Weeks, L. L. Wu, M. F. McAllister,
A. Singh, IBM Journal of Research and Development 23 (1979) 652-660 (both from memory), with rings for the cells. The
table was computed independently by it. Ring 1.75 to 2.25 mm x 35 um, its lower face 0.2 or 1.5 mm above the upper face
of a disc of 10 mm radius and 35 um thickness; copper 58 MS/m.

Over the disc the table's resistance is not converged above 10 MHz, more than its last refinement says (0.2 %): 0.8 %
too high at 30 MHz and 1.5 % at 100 MHz, and its inductance there 0.08 % too low. What it should be was found with a
solution of the same integral equation of our own, below, which shares no code with the solver. R mohm and L nH over
the disc at 0.2 mm, 100 MHz:

    rings            360 + 780   756 + 714   1452 + 1122   table     finite elements
    R                65.33       65.54       65.52         66.472    65.49
    L                3.1198      3.1190      3.1188        3.1158    3.1183

Finite elements on a mesh three times finer in every respect move by 0.001 mohm. With the disc cut into eight equal
layers the integral equation gives 64.9, so layers are what the result hangs on. Hence every value of it is compared
with 2 % in R and 1 % in L, and those from 10 MHz on also with our own integral equation, with 0.2 % and 0.05 %.
"""

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.special import ellipe, ellipkm1

SOURCE = "Integral equation after P. Silvester (1966), W. T. Weeks et al. (1979): flat ring over a disc"
REFINED = "The same integral equation, solved in this check with 1470 rings: flat ring over a disc"
MARK = "computed independently (integral equation, mesh error said to be 0.03 % in L, 0.35 % in R)"
HIGHEST = 1e8
MU_0, COPPER = 4e-7 * math.pi, 5.8e7

# Height of the ring's lower face above the disc mm (0: no disc), and rows of: frequency Hz, R mohm, L nH.
CASES = {
    "ring alone": (
        0.0,
        (0, 12.31622, 7.23791),
        (1e3, 12.31622, 7.23791),
        (1e4, 12.31631, 7.237902),
        (1e5, 12.32584, 7.237059),
        (3e5, 12.40039, 7.230536),
        (1e6, 13.05009, 7.178198),
        (3e6, 15.20323, 7.04742),
        (1e7, 19.56621, 6.927587),
        (3e7, 28.04083, 6.865122),
        (1e8, 51.5326, 6.810048),
    ),
    "disc at 0.2 mm": (
        0.2,
        (0, 12.31622, 7.23791),
        (1e3, 12.31645, 7.237372),
        (1e4, 12.33932, 7.186333),
        (1e5, 13.33818, 5.613474),
        (3e5, 14.7165, 4.198349),
        (1e6, 16.02355, 3.563755),
        (3e6, 17.78999, 3.388921),
        (1e7, 22.99516, 3.282706),
        (3e7, 36.01617, 3.193572),
        (1e8, 66.472, 3.115849),
    ),
    "disc at 1.5 mm": (
        1.5,
        (0, 12.31622, 7.23791),
        (1e3, 12.31627, 7.237743),
        (1e4, 12.32109, 7.222189),
        (1e5, 12.45451, 6.92565),
        (3e5, 12.60417, 6.785201),
        (1e6, 13.24802, 6.708088),
        (3e6, 15.4943, 6.580541),
    ),
}
ROWS = [(name, *row) for name, (_, *rows) in CASES.items() for row in rows]
FAST = [(name, frequency) for name, frequency, *_ in ROWS if name != "disc at 1.5 mm" and frequency >= 1e7]


def crowded(start, end, finest, growth, widest):
    """Borders that crowd at both ends."""
    steps = [0.0]
    while steps[-1] < (end - start) / 2:
        steps.append(steps[-1] + min(finest * growth ** (len(steps) - 1), widest))
    half = np.array(steps) * (end - start) / 2 / steps[-1]
    return np.concatenate([start + half, (end - half)[::-1][1:]])


def disc_columns():
    """Borders from the axis to 10 mm: 50 um wide under the ring, widening by a quarter away from it."""
    growing = 50e-6 * np.cumsum(1.25 ** np.arange(40))
    inner, outer = 1.4e-3 - growing, 2.6e-3 + growing
    under = np.linspace(1.4e-3, 2.6e-3, 25)
    return np.concatenate([[1e-9], inner[inner > 20e-6][::-1], under, outer[outer < 9.9e-3], [10e-3]])


def rings(columns, layers):
    """Rectangular cells (inner, outer, bottom, top), (4, n)."""
    return np.array([(*column, *layer) for column in pairwise(columns) for layer in pairwise(layers)]).T


def log_integral(x, y):
    """Integral of ln(distance) over the rectangle between the origin and (x, y)."""
    logarithm = x * y * (np.log(x * x + y * y) - 3) / 2
    return logarithm + (x * x * np.arctan(y / x) + y * y * np.arctan(x / y)) / 2


def mean_log(x, y, cells):
    """Mean of ln(distance) between points and cells of the half-plane, (n, n)."""
    inner, outer, bottom, top = cells
    tiny = 1e-15  # keeps off the axes; cells are 1e-7 and more
    west, east = x[:, None] - outer + tiny, x[:, None] - inner + tiny
    south, north = y[:, None] - top + tiny, y[:, None] - bottom + tiny
    total = log_integral(east, north) - log_integral(west, north)
    return (total - log_integral(east, south) + log_integral(west, south)) / ((outer - inner) * (top - bottom))


def smooth_part(x, y):
    """Maxwell's M/(mu_0 sqrt(r r')) + ln(distance) of circles through the middles of cells, (n, n)."""
    near = (x[:, None] - x) ** 2 + (y[:, None] - y) ** 2
    far = (x[:, None] + x) ** 2 + (y[:, None] - y) ** 2
    np.fill_diagonal(near, 1e-14 * np.diag(far))
    complement = near / far
    k = np.sqrt(1 - complement)
    return (2 / k - k) * ellipkm1(complement) - 2 / k * ellipe(1 - complement) + np.log(near) / 2


@lru_cache
def integral_equation(name):
    """Cells, their resistances and their mutual inductances; the cells of the ring come first."""
    height = CASES[name][0] * 1e-3
    driven = rings(crowded(1.75e-3, 2.25e-3, 1e-6, 1.35, 12e-6), height + crowded(0.0, 35e-6, 1e-6, 1.35, 5e-6))
    cells = driven
    if height > 0:
        cells = np.hstack([driven, rings(disc_columns(), crowded(-35e-6, 0.0, 1e-6, 1.3, 5e-6))])
    inner, outer, bottom, top = cells
    x, y = (inner + outer) / 2, (bottom + top) / 2
    away = 0.5 / math.sqrt(3)
    logs = sum(
        mean_log(x + i * (outer - inner), y + j * (top - bottom), cells) / 4
        for i in (-away, away)
        for j in (-away, away)
    )
    mutual = MU_0 * np.sqrt(np.outer(x, x)) * (smooth_part(x, y) - (logs + logs.T) / 2)
    return driven.shape[1], 2 * math.pi / (COPPER * (top - bottom) * np.log(outer / inner)), mutual


def refined(name, frequency):
    """R [mohm] and L [nH]."""
    count, resistance, mutual = integral_equation(name)
    omega = 2 * math.pi * frequency
    voltage = np.where(np.arange(len(resistance)) < count, 1.0, 0.0)
    currents = np.linalg.solve(np.diag(resistance) + 1j * omega * mutual, voltage)
    impedance = 1 / currents[:count].sum()
    return impedance.real * 1e3, impedance.imag / omega * 1e9


@pytest.fixture
def solve(turned):
    def solved(name, frequency):
        height = CASES[name][0]
        ring = turned.bar("go", 1.75, 2.25, height, height + 0.035)
        discs = [turned.bar("floating", 0.0, 10.0, -0.035, 0.0)] if height > 0 else []
        return turned.solve(ring, *discs, frequency=frequency, highest_frequency=HIGHEST)

    return solved


@pytest.fixture
def compared(turned, solve, references):
    def run(name, frequency, resistance, inductance, r_tolerance, l_tolerance, **labels):
        field = solve(name, frequency)
        where = f"{name}, {frequency:.0e} Hz" if frequency else f"{name}, DC"
        for found, reference, rtol, quantity, unit in (
            (turned.inductance(field), inductance, l_tolerance, "L", "nH"),
            (turned.resistance(field) * 1e3, resistance, r_tolerance, "R", "mohm"),
        ):
            references.compare(
                found=found, reference=reference, rtol=rtol, item=f"{quantity}, {where}", unit=unit, **labels
            )

    return run


@pytest.mark.parametrize(("name", "frequency", "resistance", "inductance"), ROWS)
def test_impedance(compared, name, frequency, resistance, inductance):
    compared(
        name,
        frequency,
        resistance,
        inductance,
        2e-2,
        1e-2,
        source=SOURCE,
        reason="the table is up to 1.5 % off in R and 0.1 % in L at 100 MHz, as the refined integral equation shows",
        mark=MARK,
    )


@pytest.mark.parametrize(("name", "frequency"), FAST)
def test_impedance_against_the_refined_integral_equation(compared, name, frequency):
    compared(
        name,
        frequency,
        *refined(name, frequency),
        2e-3,
        5e-4,
        source=REFINED,
        reason="more and finer rings move the reference by 0.1 % in R and 0.02 % in L",
        mark="computed independently (integral equation, error 0.1 % in R, 0.02 % in L)",
    )


def test_the_table_over_the_disc_is_contradicted_at_100_mhz():
    # Else its rows could be compared more closely.
    resistance, inductance = refined("disc at 0.2 mm", 1e8)
    assert 66.472 / resistance - 1 > 1e-2
    assert 3.115849 / inductance - 1 < -5e-4
