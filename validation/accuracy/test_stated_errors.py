"""Does the true error lie inside the stated one? 240 random sections with exact answers.

At a finite frequency the stated error is an estimate (solver.section.error_estimate); exact are the coaxial line
(S. A. Schelkunoff, Bell Syst. Tech. J. 13 (1934) 532-579) and the pair of round wires (J. R. Carson, Phil. Mag. 41
(1921) 607), as coded in solver.formulas and checked in validation/formulas. In the perfect-conductor limit and at
DC the stated error is a bracket (solver.section.bounds); exact are the thick strip over its mirror image (conformal
map, Z. Nehari, Conformal Mapping (1952)) and rectangular bars at DC (E. B. Rosa, F. W. Grover, NBS Bulletin 8 (1912)).

A bracket must hold always. An estimate must hold in at least 95 % of the cases. Run with -s to see the distribution.
"""

import math

import numpy as np
import pytest

from geometries import COPPER, MM, Circle, CrossSection, Rectangle, Region, Ring
from solver import (
    MeshSettings,
    assemble_section,
    mesh_section,
    solve_at_dc,
    solve_at_frequency,
    solve_perfect_conductor,
)
from solver.formulas import coax_impedance, rectangles, thick_strip_inductance, two_wires_impedance
from solver.section.bounds import bracket_dc, bracket_perfect
from solver.section.error_estimate import estimate_error

SEED = 20260125
REQUIRED = 0.95
ROUNDING = 2e-9


def log_uniform(rng, low, high):
    return float(np.exp(rng.uniform(math.log(low), math.log(high))))


def random_coax(rng):
    a = log_uniform(rng, 0.05, 1.0) * MM
    b = a * rng.uniform(1.3, 6.0)
    c = b * rng.uniform(1.03, 1.4)
    frequency = log_uniform(rng, 1e3, 1e9)
    regions = (
        Region(name="core", outline=Circle(centre=(0, 0), radius=a), role="go"),
        Region(name="shell", outline=Ring(centre=(0, 0), inner_radius=b, outer_radius=c), role="return"),
    )
    return regions, frequency, coax_impedance(frequency, a, b, c, COPPER.conductivity)


def random_pair(rng):
    a = log_uniform(rng, 0.05, 1.0) * MM
    spacing = a * rng.uniform(2.3, 15.0)
    frequency = log_uniform(rng, 1e3, 1e9)
    regions = (
        Region(name="go", outline=Circle(centre=(0, 0), radius=a), role="go"),
        Region(name="return", outline=Circle(centre=(spacing, 0), radius=a), role="return"),
    )
    return regions, frequency, two_wires_impedance(frequency, a, spacing, COPPER.conductivity)


@pytest.mark.parametrize(("order", "growth"), [(3, 0.5), (4, 1.0)])
@pytest.mark.parametrize("draw", [random_coax, random_pair])
def test_estimates_hold_in_at_least_95_percent_of_80_random_sections(draw, order, growth):
    rng = np.random.default_rng(SEED)
    ratios = {"inductance": [], "resistance": []}
    for _ in range(80):
        regions, frequency, exact = draw(rng)
        section = CrossSection(name="random", regions=regions)
        meshed = mesh_section(section, highest_frequency=frequency, settings=MeshSettings(growth=growth))
        field = solve_at_frequency(assemble_section(meshed, order=order), frequency)
        stated = estimate_error(field)
        true_l = field.inductance_per_length[0, 0] / (exact.imag / (2 * math.pi * frequency)) - 1
        true_r = field.resistance_per_length[0, 0] / exact.real - 1
        ratios["inductance"].append(abs(true_l) / (stated.inductance + ROUNDING))
        ratios["resistance"].append(abs(true_r) / (stated.resistance + ROUNDING))
    for quantity, values in ratios.items():
        inside = np.mean(np.array(values) <= 1)
        parts = ", ".join(f"{q} % below {np.percentile(values, q):.2g}" for q in (50, 90, 95, 99, 100))
        drawn = f"{draw.__name__}, order {order}, {quantity}"
        print(f"{drawn}: true error over stated error: {parts}; inside in {inside:.0%} of cases")
        assert inside >= REQUIRED


def test_brackets_hold_the_exact_value_of_every_one_of_80_random_strips():
    rng = np.random.default_rng(SEED)
    gaps, places = [], []
    for _ in range(80):
        width, thickness = log_uniform(rng, 0.1, 5.0) * MM, log_uniform(rng, 0.015, 0.1) * MM
        height = max(width * log_uniform(rng, 0.05, 5.0), thickness / 4)
        low, high = height, height + thickness
        regions = (
            Region(name="go", outline=Rectangle(left=0, right=width, bottom=low, top=high), role="go"),
            Region(name="return", outline=Rectangle(left=0, right=width, bottom=-high, top=-low), role="return"),
        )
        system = assemble_section(mesh_section(CrossSection(name="random", regions=regions), highest_frequency=0))
        bars = [rectangles.Rectangle(left=0, bottom=y, width=width, height=thickness) for y in (low, -high)]
        for bounded, exact in (
            (bracket_perfect(solve_perfect_conductor(system)), 2 * thick_strip_inductance(width, height, thickness)),
            (bracket_dc(solve_at_dc(system)), rectangles.bars_dc_inductance(*bars)),
        ):
            lower, upper = bounded.bracket.lower[0, 0], bounded.bracket.upper[0, 0]
            assert lower * (1 - ROUNDING) <= exact <= upper * (1 + ROUNDING)
            gaps.append(bounded.bracket.relative_gap)
            places.append((exact - lower) / (upper - lower))
    print(f"relative gap: median {np.median(gaps):.1e}, largest {max(gaps):.1e}; ", end="")
    print(f"place of the exact value in the bracket: {np.percentile(places, [0, 50, 100]).round(2)}")
    assert len(gaps) == 160
