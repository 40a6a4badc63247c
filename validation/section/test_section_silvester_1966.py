"""Go and return side by side over a floating plane: loop resistance and inductance, and the field behind the plane.

Sources of the method: P. Silvester, Proceedings of the IEEE 54 (1966) 1147; W. T. Weeks, L. L. Wu, M. F. McAllister,
A. Singh, IBM Journal of Research and Development 23 (1979) 652-660 (both from memory). The table was computed
independently by it (cells of uniform current, exact logarithms, three meshes). Two traces 1 mm x 35 um, 0.5 mm
apart, over a floating plane 10 mm wide; copper 58 MS/m. The gap is that between the facing surfaces; |B_y| is taken
at x = 0, 1 mm below the plane's upper face. Without plane, the traces lie 0.2 mm above the same height.

The field behind the plane above 10 MHz is a small rest of two parts, through the metal and round its edges, down to
2e-4 of the field without plane, and there the table is not converged: its last refinement still moved it by up to
4.9 %. What its cells lack was found with a solution of the same integral equation of our own, below, which shares
no code with the solver: columns across the plane's width. 35 um plane at 0.2 mm, 100 MHz, uT/A:

    columns in half of the plane     17        30        60       table     finite elements
    8 layers                         0.0618    0.0411    0.0398
    16 layers                                  0.0397    0.0384
    both extrapolated                                    0.0380    0.0452    0.0380

and for the 18 um plane at 300 MHz 0.0691, 0.0402, 0.0372 with 8 layers, 0.0360 extrapolated; the table has 0.0395.
Columns as wide as 20 um at the edge let too much field round it; more layers alone do not cure that. So:
- every field of the table is compared with 5 %, except the three rows in UNCONVERGED, which differ by 6, 16 and 9 %:
  they are shown on the page and not used;
- every field behind a plane from 10 MHz on, these three included, is compared with our own integral equation
  with 63 columns, extrapolated over the layers, to 1 %.
"""

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest

SOURCE = "Integral equation after P. Silvester (1966), W. T. Weeks et al. (1979): pair over a floating plane"
REFINED = "The same integral equation, solved in this check with 63 columns: field behind the plane"
MARK = "computed independently (integral equation, mesh error 0.04 % in L', 0.38 % in R', 0.06 % in B up to 3 MHz)"
REASON = "mesh errors of the reference (0.04 % in L', 0.38 % in R') and ours (0.1 %, 0.5 %), with room for both"
HIGHEST = 3e8
PROBE = -1.0

# Gap and plane thickness in mm, and rows of: frequency Hz, R' ohm/m, L' nH/m, |B_y| uT/A, and what the last
# refinement of the table changed in B, in percent. Computed independently.
CASES = {
    "no plane": (
        (0.2, 0.0),
        (0, 0.985222, 731.595, 135.72, 3.64408e-05),
        (1e3, 0.985222, 731.595, 135.72, 3.60439e-05),
        (1e4, 0.985276, 731.584, 135.717, 3.21797e-06),
        (1e5, 0.990514, 730.518, 135.456, 0.003722),
        (3e5, 1.02705, 723.343, 133.737, 0.0230961),
        (1e6, 1.21326, 693.335, 127.418, 0.0342723),
        (3e6, 1.53028, 663.956, 122.27, 0.011714),
        (1e7, 2.04359, 647.461, 119.795, 0.00487297),
        (3e7, 2.98159, 640.119, 118.873, 0.00461781),
        (1e8, 5.5531, 634.033, 118.311, 0.00523413),
        (3e8, 9.61331, 630.262, 117.993, 0.00363077),
    ),
    "35 um plane at 0.2 mm": (
        (0.2, 0.035),
        (0, 0.985222, 731.595, 135.72, 3.64408e-05),
        (1e3, 0.985244, 731.549, 135.707, 3.31416e-05),
        (1e4, 0.987365, 727.203, 134.422, 0.000279748),
        (1e5, 1.08633, 586.201, 95.024, 0.0108615),
        (3e5, 1.26345, 431.191, 53.0703, 0.0241743),
        (1e6, 1.41191, 348.716, 18.8217, 0.0416739),
        (3e6, 1.5565, 330.908, 6.23896, 0.0602845),
        (1e7, 2.0195, 321.959, 1.62674, 0.313345),
        (3e7, 3.23495, 313.708, 0.285562, 1.75143),
        (1e8, 5.99936, 306.572, 0.0452483, 4.9419),
        (3e8, 10.3648, 302.522, 0.0236232, 0.627111),
    ),
    "18 um plane at 0.2 mm": (
        (0.2, 0.018),
        (0, 0.985222, 731.595, 135.72, 3.64408e-05),
        (1e3, 0.985233, 731.582, 135.716, 3.49304e-05),
        (1e4, 0.986383, 730.353, 135.359, 0.000113002),
        (1e5, 1.06646, 658.33, 114.739, 0.00811554),
        (3e5, 1.31356, 516.371, 78.281, 0.0222785),
        (1e6, 1.68552, 368.728, 34.098, 0.0356308),
        (3e6, 1.87598, 329, 12.0811, 0.0301527),
        (1e7, 2.20695, 318.565, 3.58894, 0.0347585),
        (3e7, 3.14652, 313.002, 1.08795, 0.122225),
        (1e8, 5.98814, 306.608, 0.168298, 0.762514),
        (3e8, 10.3577, 302.515, 0.0394982, 2.4059),
    ),
    "35 um plane at 1.5 mm": (
        (1.5, 0.035),
        (0, 0.985222, 731.595, 42.1127, 1.24308e-05),
        (1e3, 0.985227, 731.582, 42.1063, 9.07113e-06),
        (1e4, 0.985688, 730.347, 41.4962, 0.000306048),
        (1e5, 1.0006, 702.24, 24.124, 0.0100918),
        (3e5, 1.03732, 686.088, 11.2449, 0.035018),
        (1e6, 1.20453, 658.401, 3.53818, 0.0352776),
        (3e6, 1.50072, 631.527, 1.10649, 0.0135853),
        (1e7, 1.99355, 616.044, 0.20764, 0.0419565),
        (3e7, 2.9106, 608.95, 0.101665, 1.07578),
        (1e8, 5.41767, 603.013, 0.145434, 1.18768),
        (3e8, 9.37317, 599.338, 0.140896, 0.924527),
    ),
}
ROWS = [(name, *row) for name, (_, *rows) in CASES.items() for row in rows]
UNCONVERGED = {
    ("35 um plane at 0.2 mm", 3e7),
    ("35 um plane at 0.2 mm", 1e8),
    ("18 um plane at 0.2 mm", 3e8),
}
BEHIND = [(name, frequency) for name, frequency, *_ in ROWS if name != "no plane" and frequency >= 1e7]

MU_0, COPPER = 4e-7 * math.pi, 5.8e7


def _log_integral(x, y):
    """Integral of ln(r) over the rectangle between the origin and (x, y); x or y may be negative, not zero."""
    logarithm = x * y * (np.log(x * x + y * y) - 3) / 2
    return logarithm + (x * x * np.arctan(y / x) + y * y * np.arctan(x / y)) / 2


def _mean_log(x, y, cells):
    """Mean of ln(distance) between points (n,) and the points of each cell (left, right, bottom, top), (n, m)."""
    left, right, bottom, top = cells
    tiny = 1e-15  # keeps off the axes; cells are 1e-7 and more
    west, east = x[:, None] - right + tiny, x[:, None] - left + tiny
    south, north = y[:, None] - top + tiny, y[:, None] - bottom + tiny
    total = _log_integral(east, north) - _log_integral(west, north)
    total -= _log_integral(east, south) - _log_integral(west, south)
    return total / ((right - left) * (top - bottom))


def _cells(columns, layers):
    boxes = [(*column, *layer) for column in pairwise(columns) for layer in pairwise(layers)]
    return np.array(boxes).T


def _crowded(start, end, count):
    """Borders that crowd at both ends."""
    return start + (end - start) * (1 - np.cos(np.pi * np.arange(count + 1) / count)) / 2


def _columns():
    """Borders across half of the plane: 4 um at the edge, up to 0.2 mm, 55 um under the traces."""
    borders = [5e-3]
    while borders[-1] > 0:
        widest = 55e-6 if borders[-1] < 2.2e-3 else 200e-6
        borders.append(borders[-1] - min(4e-6 + 0.35 * (5e-3 - borders[-1]), widest))
    stretched = np.array(borders[::-1]) - borders[-1]
    return stretched * 5e-3 / stretched[-1]


def _rest_field(gap, thickness, frequencies, layers):
    """|B_y| behind the plane [uT/A] at each frequency; only the half x > 0, as currents are odd in x."""
    trace = _cells(_crowded(0.25e-3, 1.25e-3, 24), gap + _crowded(0.0, 35e-6, 12))
    plane = _cells(_columns(), thickness * np.linspace(-1.0, 0.0, layers + 1))
    cells = np.hstack([trace, plane])
    mirrored = np.array([-cells[1], -cells[0], cells[2], cells[3]])
    x, y = (cells[0] + cells[1]) / 2, (cells[2] + cells[3]) / 2
    width, height = cells[1] - cells[0], cells[3] - cells[2]
    logs = sum(
        _mean_log(x + side * width, y, cells) - _mean_log(x + side * width, y, mirrored)
        for side in (-0.5 / math.sqrt(3), 0.5 / math.sqrt(3))
    )
    driven = np.where(np.arange(len(x)) < trace.shape[1], 1.0, 0.0)  # the plane floats: no voltage, by symmetry
    depth = (y - PROBE * 1e-3) ** 2
    arm = np.log((cells[0] ** 2 + depth) / (cells[1] ** 2 + depth)) / width  # -2x/(x^2 + depth), averaged over x
    fields = []
    for frequency in frequencies:
        omega = 2 * math.pi * frequency
        impedance = -1j * omega * MU_0 / (2 * math.pi) * logs / 2 + np.diag(1 / (COPPER * width * height))
        currents = np.linalg.solve(impedance, driven)
        fields.append(abs(MU_0 / (2 * math.pi) * arm @ currents / (driven @ currents)) * 1e6)
    return np.array(fields)


@lru_cache
def _refined(name):
    """Field behind the plane at the frequencies of BEHIND, extrapolated from 12 and 20 layers (second order)."""
    gap, thickness = (1e-3 * size for size in CASES[name][0])
    frequencies = tuple(frequency for other, frequency in BEHIND if other == name)
    coarse, fine = (_rest_field(gap, thickness, frequencies, layers) for layers in (12, 20))
    return dict(zip(frequencies, fine + (fine - coarse) * 9 / 16, strict=True))


@pytest.fixture
def solve(fixture):
    def solved(name, frequency, growth=0.0):
        gap, thickness = CASES[name][0]
        section = [
            fixture.bar("go", -1.25, -0.25, gap, gap + 0.035),
            fixture.bar("return", 0.25, 1.25, gap, gap + 0.035),
        ]
        if thickness > 0:
            section.append(fixture.bar("floating", -5.0, 5.0, -thickness, 0.0, name="plane"))
        return fixture.solve(*section, frequency=frequency, highest_frequency=HIGHEST, growth=growth)

    return solved


@pytest.fixture
def behind(fixture, solve):
    def found(name, frequency, growth=0.0):
        return abs(fixture.flux_density(solve(name, frequency, growth), (0.0, PROBE))[0, 1]) * 1e6

    return found


def _item(quantity, name, frequency):
    return f"{quantity}, {name}, {frequency:.0e} Hz" if frequency else f"{quantity}, {name}, DC"


@pytest.mark.parametrize(("name", "frequency", "resistance", "inductance"), [row[:4] for row in ROWS])
def test_impedance(fixture, solve, references, name, frequency, resistance, inductance):
    field = solve(name, frequency)
    references.compare(
        found=fixture.inductance(field),
        reference=inductance,
        rtol=1e-2,
        source=SOURCE,
        item=_item("L'", name, frequency),
        unit="nH/m",
        reason=REASON,
        mark=MARK,
    )
    references.compare(
        found=fixture.resistance(field),
        reference=resistance,
        rtol=2e-2,
        source=SOURCE,
        item=_item("R'", name, frequency),
        unit="ohm/m",
        reason=REASON,
        mark=MARK,
    )


@pytest.mark.parametrize(
    ("name", "frequency", "reference"), [(row[0], row[1], row[4]) for row in ROWS if row[:2] not in UNCONVERGED]
)
def test_field_behind(behind, references, name, frequency, reference):
    references.compare(
        found=behind(name, frequency),
        reference=reference,
        rtol=5e-2,
        source=SOURCE,
        item=_item("B_y 1 mm below", name, frequency),
        unit="uT/A",
        reason="up to 1.3 % by our mesh in the air, and up to 4 % by too few columns in the table above 10 MHz",
        mark=MARK,
    )


@pytest.mark.parametrize(
    ("name", "frequency", "reference", "change"),
    [(row[0], row[1], row[4], row[5]) for row in ROWS if row[:2] in UNCONVERGED],
)
def test_rows_that_are_not_converged_are_shown_and_contradicted(behind, references, name, frequency, reference, change):
    references.show(
        found=behind(name, frequency),
        reference=reference,
        source=SOURCE,
        item=_item("B_y 1 mm below", name, frequency),
        unit="uT/A",
        reason=f"the table is not converged here (its last refinement changed {change:.1f} %, and its columns are too "
        "wide at the plane's edge); the same integral equation with finer columns stands in for it",
        mark=MARK,
    )
    refined = _refined(name)[frequency]
    assert abs(refined / reference - 1) > 5e-2  # else the row belongs among the checks


@pytest.mark.parametrize(("name", "frequency"), BEHIND)
def test_field_behind_against_the_refined_integral_equation(behind, references, name, frequency):
    references.compare(
        found=behind(name, frequency, growth=0.25),
        reference=_refined(name)[frequency],
        rtol=1e-2,
        source=REFINED,
        item=_item("B_y 1 mm below", name, frequency),
        unit="uT/A",
        reason="error of the reference about 0.5 % (more and finer cells move it by that), ours 0.3 % on a "
        "mesh that grows by a quarter of the distance",
        mark="computed independently (integral equation, error about 0.5 %)",
    )
