"""What a loop's length and ends change of its field over the middle, against filaments around all of it.

Source: the field of straight filaments of finite length (Biot and Savart), here around a rectangle and, over a wide
ground layer that carries no net current, around its image. The section view knows neither length nor ends; the
uncertainty of its largest field has to hold what they change.
"""

import math

import numpy as np
import pytest

from geometries import read_scenario
from solver import solve_variant
from solver.section.field_scan import nearest_scan
from solver.section.results import FieldScan

SOURCE = "Rectangle of straight filaments (Biot and Savart)"
ABOVE = 3e-3
RADIUS = 0.05e-3


def filament(place: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Field of one ampere along a straight piece [A/m]."""
    length = float(np.linalg.norm(end - start))
    way = (end - start) / length
    along = float((place - start) @ way)
    off = place - start - along * way
    apart = float(np.linalg.norm(off))
    turn = np.cross(way, off / apart)
    return (
        turn
        * (along / math.hypot(along, apart) + (length - along) / math.hypot(length - along, apart))
        / (4 * math.pi * apart)
    )


def rectangle(x: float, width: float, length: float, depth: float) -> np.ndarray:
    """Field over the middle of a rectangle at some depth below the place [A/m per A]."""
    corners = [np.array([a * width / 2, -depth, b * length / 2]) for a, b in ((-1, -1), (-1, 1), (1, 1), (1, -1))]
    place = np.array([x, 0.0, 0.0])
    return sum(filament(place, corners[each], corners[(each + 1) % 4]) for each in range(4))


def scanned(width: float, length: float, plane: float | None) -> FieldScan:
    """The section view of two round wires, over a ground layer at a depth or without."""
    wires = [("go", "go", -width / 2), ("back", "return", width / 2)]
    shape = 'shape = "circle", radius = "0.05 mm"'
    regions = [
        f'{{ name = "{name}", role = "{role}", {shape}, centre = ["{1e3 * x} mm", "0 mm"] }}' for name, role, x in wires
    ]
    if plane is not None:
        top, bottom = (f"{-1e3 * each:.4g} mm" for each in (plane, plane + 35e-6))
        box = f'left = "-60 mm", right = "60 mm", bottom = "{bottom}", top = "{top}"'
        regions.append(f'{{ name = "layer", role = "floating", shape = "rectangle", {box} }}')
    scenario = read_scenario(f"""
title = "two wires"
length = "{1e3 * length} mm"
analysis = {{ frequencies = ["100 MHz"], heights_above = ["3 mm"], heights_below = ["3 mm"] }}
region = [{", ".join(regions)}]
""")
    return nearest_scan(solve_variant(scenario.variants[0], scenario.analysis, frozenset()).lines, "above")


@pytest.mark.parametrize(
    ("width", "length", "plane"),
    [(4e-3, 8e-3, None), (2e-3, 8e-3, None), (4e-3, 8e-3, 0.5e-3), (4e-3, 8e-3, 0.2e-3), (4e-3, 5e-3, 0.5e-3)],
)
def test_the_uncertainty_of_the_largest_field_holds_length_and_ends(
    references, width: float, length: float, plane: float | None
) -> None:
    scan = scanned(width, length, plane)
    x, depth = float(scan.x[scan.magnitude.argmax()]), ABOVE + RADIUS
    exact = rectangle(x, width, length, depth)
    if plane is not None:
        exact = exact - rectangle(x, width, length, depth + 2 * plane)
    over = "" if plane is None else f" over a layer {1e3 * plane:g} mm down"
    references.compare(
        found=scan.peak_error,
        reference=abs(float(np.linalg.norm(exact)) - scan.peak),
        rtol=0.1,
        source=SOURCE,
        item=f"what length and ends change over a loop of {1e3 * width:g} × {1e3 * length:g} mm{over}",
        unit="A/m per A",
        reason="an uncertainty: the ends count as one short piece each, at half of their width; the mesh is in it",
        mark="computed independently",
    )


def test_beyond_a_layer_wider_than_the_loop_is_long_the_section_view_knows_nothing() -> None:
    hidden = scanned(4e-3, 8e-3, -0.5e-3)
    assert hidden.peak_error >= hidden.peak
