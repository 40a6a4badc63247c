"""Loops of 0.1 mm to 0.36 mm copper, alone and over planes of 40 mm, against a filament computation made here.

Source: the conductors of the same section are cut into straight bars of uniform current density, finer towards their
edges and faces. With R the bars' resistances, L their partial inductances and G the bars' membership in groups, the
voltage drops v of the groups follow from (R + j w L) i = G v and G^T i = I. Partial inductances are mean logarithms of
distance: up to eight sizes apart exactly, by the fourfold integral of ln r over two rectangles (W. T. Weeks et al., IBM
J. Res. Dev. 23 (1979) 652-660, eq. 10, from memory; tried here on the square, whose mean distance from itself is
0.44705 of its side, F. W. Grover, "Inductance Calculations", 1946, chapter 3), further apart by ln d of the centres and
their second moments. The computation is made on two subdivisions; its error is taken as their difference.
"""

import math
from itertools import pairwise

import numpy as np
import pytest

from geometries.files.reading import parse_scenario
from geometries.section.outline import Rectangle
from solver.constants import MU_0
from solver.variant.solve import solve_variant

SOURCE = "Filament computation in the check: loops of 0.1 mm to 0.36 mm copper"
MARK = "computed independently (bars of uniform current, two subdivisions)"
FREQUENCY = 100e6

ANALYSIS = """
title = "small loops"
stackup = "4L-7628"
[analysis]
frequencies = ["100 MHz"]
report_frequency = "100 MHz"
heights_above = ["3 mm"]
heights_below = ["3 mm"]
axisymmetric_view = false
"""
PARTS = """
[switch]
package = "land-grid"
copper_width = "1.6 mm"
gap = "0.6 mm"
part_width = "3 mm"
[[capacitor]]
case = "0603"
capacitance = "2.2 uF"
esr = "4 mohm"
electrode_height = "0.2 mm"
"""
SAME_LAYER = 'loop = {{ kind = "same-layer", width = "{0}", gap = "{1}", length = "8 mm" }}'
NEXT_LAYER = 'loop = { kind = "next-layer", width = "0.3 mm", return_width = "0.3 mm", length = "8 mm" }'
RETURN_BELOW = (
    'placement = { kind = "return-below", distance = "0.6 mm" }\nplanes.L2 = { tie = "both ends", width = "40 mm" }'
)
PLANE = 'planes.{0} = {{ tie = "none", width = "40 mm" }}'

CASES = {
    "same layer, 0.1 mm, 0.1 mm apart": SAME_LAYER.format("0.1 mm", "0.1 mm"),
    "same layer, 0.36 mm, 0.1 mm apart": SAME_LAYER.format("0.36 mm", "0.1 mm"),
    "same layer, 0.1 mm, over a plane of 40 mm": SAME_LAYER.format("0.1 mm", "0.1 mm") + "\n" + PLANE.format("L2"),
    "next layer, 0.3 mm, over a plane of 40 mm": NEXT_LAYER + "\n" + PLANE.format("L3"),
    "placement with its return below, planes of 40 mm": RETURN_BELOW + "\n" + PLANE.format("L3"),
}


def mean_logarithm(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Mean of ln of the distance of every two rectangles (left, right, bottom, top), (n, 4) and (m, 4)."""
    size = np.maximum.outer(*(np.maximum(each[:, 1] - each[:, 0], each[:, 3] - each[:, 2]) for each in (a, b)))
    x, y = (np.subtract.outer(a[:, k] + a[:, k + 1], b[:, k] + b[:, k + 1]) / 2 for k in (0, 2))
    square = x * x + y * y
    near = square < (8 * size) ** 2
    safe = np.where(near, 1.0, square)
    moments = sum(
        sign * np.add.outer((a[:, k + 1] - a[:, k]) ** 2, (b[:, k + 1] - b[:, k]) ** 2) for sign, k in ((1, 0), (-1, 2))
    )
    far = np.log(safe) / 2 + moments * (y * y - x * x) / (24 * safe**2)
    rows, columns = np.nonzero(near)
    far[near] = _exact(a[rows], b[columns])
    return far


def _exact(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    total = np.zeros(len(a))
    for i, j, k, m in np.ndindex(2, 2, 2, 2):
        total += (-1) ** (i + j + k + m) * _kernel(a[:, i] - b[:, j], a[:, 2 + k] - b[:, 2 + m])
    areas = [(each[:, 1] - each[:, 0]) * (each[:, 3] - each[:, 2]) for each in (a, b)]
    return total / (areas[0] * areas[1])


def _kernel(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The fourfold integral of ln sqrt(x² + y²), twice over each; even in both."""
    x, y = np.abs(x), np.abs(y)
    square = np.where((x == 0) & (y == 0), 1.0, x * x + y * y)
    angles = x**3 * y * np.arctan2(y, x) + x * y**3 * np.arctan2(x, y)
    return (6 * x * x * y * y - x**4 - y**4) / 48 * np.log(square) + angles / 6 - 25 / 48 * (x * y) ** 2


def cuts(start: float, end: float, features: list[tuple[float, float]], growth: float) -> np.ndarray:
    """Borders between bars from start to end, so far apart as the nearest feature (place, size) and `growth` say."""
    fine = np.linspace(start, end, 40001)
    size = np.min([first + growth * np.abs(fine - place) for place, first in features], axis=0)
    count = np.concatenate([[0.0], np.cumsum(np.diff(fine) * (1 / size[1:] + 1 / size[:-1]) / 2)])
    return np.interp(np.linspace(0, count[-1], max(2, math.ceil(count[-1])) + 1), count, fine)


def bars_of(outline: Rectangle, others: list[Rectangle], first: float, growth: float) -> np.ndarray:
    """Cut a conductor into bars, (n, 4); `first` is the size at its own edges and faces."""
    across = [(x, first) for x in (outline.left, outline.right)]
    for other in others:
        away = max(other.bottom - outline.top, outline.bottom - other.top, 0.0)
        across += [(x, first + away / 2) for x in (other.left, other.right) if outline.left < x < outline.right]
    x = cuts(outline.left, outline.right, across, growth)
    y = cuts(outline.bottom, outline.top, [(outline.bottom, first), (outline.top, first)], growth)
    return np.array([(*across, *up) for across in pairwise(x) for up in pairwise(y)])


def filament_impedance(section, first: float, growth: float) -> complex:
    """Impedance per length of the section's loop at FREQUENCY [ohm/m]."""
    outlines = [region.outline for region in section.regions]
    parts = [bars_of(each, [other for other in outlines if other is not each], first, growth) for each in outlines]
    bars, groups = np.vstack(parts), section.groups
    member = np.zeros((len(bars), len(groups)))
    member[np.arange(len(bars)), np.repeat([groups.index(r.group) for r in section.regions], list(map(len, parts)))] = 1
    sigma = np.repeat([region.material.conductivity for region in section.regions], list(map(len, parts)))
    areas = (bars[:, 1] - bars[:, 0]) * (bars[:, 3] - bars[:, 2])
    impedance = -2j * math.pi * FREQUENCY * MU_0 / (2 * math.pi) * mean_logarithm(bars, bars)
    impedance[np.diag_indices(len(bars))] += 1 / (sigma * areas)
    currents = np.zeros(len(groups))
    loop = section.loops[0]
    currents[groups.index(loop.go_group)], currents[groups.index(loop.return_group)] = 1.0, -1.0
    drops = np.linalg.solve(member.T @ np.linalg.solve(impedance, member), currents)
    return complex(currents @ drops)


def test_the_mean_distance_of_a_square_from_itself_is_the_printed_one() -> None:
    square = np.array([[0.0, 1.0, 0.0, 1.0]])
    assert math.exp(mean_logarithm(square, square)[0, 0]) == pytest.approx(0.44705, abs=5e-6)


@pytest.mark.parametrize("name", CASES)
def test_loop_inductance(references, name: str) -> None:
    head, _, planes = CASES[name].partition("\n")
    parts = PARTS if "placement" in head else ""
    scenario = parse_scenario(f'{ANALYSIS}{parts}[[variant]]\nname = "v"\n{head}\n{planes}\n')
    result = solve_variant(scenario.variants[0], scenario.analysis)
    segment = result.segments[0]
    coarse, fine = (
        filament_impedance(result.variant.section, first, growth).imag / (2 * math.pi * FREQUENCY)
        for first, growth in ((3e-6, 0.5), (1.8e-6, 0.3))
    )
    references.compare(
        found=float(segment.inductance[0, 0, 0]) * 1e6,
        reference=fine * 1e6,
        rtol=segment.inductance_error + abs(coarse / fine - 1),
        source=SOURCE,
        item=f"L' at 100 MHz, {name}",
        unit="nH/mm",
        reason="our stated error, and the change of the filament computation between its two subdivisions",
        mark=MARK,
    )
