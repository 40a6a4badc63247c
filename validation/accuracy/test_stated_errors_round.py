"""Does the true error lie inside the stated one in the axisymmetric view? Random rings with exact answers.

At a finite frequency the stated error is an estimate (solver.section.error_estimate). Exact is a ring of thin wire,
alone: its internal impedance is that of the straight wire (S. A. Schelkunoff, Bell Syst. Tech. J. 13 (1934) 532-579)
but for (a/R)² ln²(8R/a), 2e-6 and less here, its external inductance mu_0 R (ln(8R/a) - 2) but for the same; and the
change of the inductance of a thin ring over a wide plate (C. V. Dodd, W. E. Deeds, J. Appl. Phys. 39 (1968) 2829). In
the perfect-conductor limit and at DC the stated error is a bracket (solver.section.bounds); exact are the torus alone
 and over a plane, and the ring at DC, all as coded in solver.formulas and checked in validation/formulas.

A bracket must hold always. An estimate must hold in at least 95 % of the cases. Run with -s to see the distribution.
"""

import math

import numpy as np
import pytest

from geometries import COPPER, MM, Circle, CrossSection, Rectangle, Region
from geometries.board.materials import Conductor
from geometries.section.section import CurrentLoop, View
from solver import assemble_section, mesh_section, solve_at_dc, solve_at_frequency, solve_perfect_conductor
from solver.formulas import (
    MU_0,
    circle_slab_impedance,
    ring_dc_inductance,
    ring_over_plane_perfect_inductance,
    ring_perfect_inductance,
    wire_internal_impedance,
)
from solver.section.bounds import bracket_dc, bracket_perfect
from solver.section.error_estimate import estimate_error

SEED = 20261125
REQUIRED = 0.95
ROUNDING = 1e-8
"""And the straight wire's resistance for that of a ring: at DC it is (a/2R)² more, 1e-8 and less here."""
RESISTIVE = Conductor(name="resistive", conductivity=1e3)


def log_uniform(rng, low, high):
    return float(np.exp(rng.uniform(math.log(low), math.log(high))))


def turned(*regions):
    return CrossSection(name="random", regions=regions, loops=(CurrentLoop(return_group=""),), view=View.AXISYMMETRIC)


def wire(radius, wire_radius, height=0.0, material=COPPER):
    outline = Circle(centre=(radius, height), radius=wire_radius)
    return Region(name="ring", outline=outline, role="go", material=material)


def plate(edge, thickness):
    outline = Rectangle(left=0, right=edge, bottom=-thickness, top=0)
    return Region(name="plate", outline=outline, role="floating")


def random_thin_ring(rng):
    wire_radius = log_uniform(rng, 0.05, 1.0) * MM
    radius = wire_radius * log_uniform(rng, 5e3, 2e4)
    frequency = log_uniform(rng, 1e3, 1e9)
    exact = 2 * math.pi * radius * wire_internal_impedance(frequency, wire_radius, COPPER.conductivity)
    external = MU_0 * radius * (math.log(8 * radius / wire_radius) - 2)
    section = turned(wire(radius, wire_radius))
    field = solve_at_frequency(assemble_section(mesh_section(section, highest_frequency=frequency)), frequency)
    true_l = field.inductance[0, 0] / (external + exact.imag / (2 * math.pi * frequency)) - 1
    true_r = field.resistance[0, 0] / exact.real - 1
    return field, {"inductance": true_l, "resistance": true_r}


def random_ring_over_a_plate(rng):
    radius, thickness = log_uniform(rng, 1.0, 5.0) * MM, log_uniform(rng, 0.015, 0.1) * MM
    height = radius * log_uniform(rng, 0.05, 1.0)
    frequency = log_uniform(rng, 1e4, 3e8)
    change = circle_slab_impedance(frequency, radius, height, thickness, COPPER.conductivity)
    # The wire keeps the density of direct current and is thin: what it adds to the inductance is known.
    wire_radius = 2e-3 * height
    exact = ring_dc_inductance(radius, wire_radius) + change.imag / (2 * math.pi * frequency)
    section = turned(wire(radius, wire_radius, height, RESISTIVE), plate(30 * radius, thickness))
    field = solve_at_frequency(assemble_section(mesh_section(section, highest_frequency=frequency)), frequency)
    return field, {"inductance": field.inductance[0, 0] / exact - 1}


@pytest.mark.parametrize("draw", [random_thin_ring, random_ring_over_a_plate])
def test_estimates_hold_in_at_least_95_percent_of_40_random_rings(draw):
    rng = np.random.default_rng(SEED)
    ratios = {}
    for _ in range(40):
        field, errors = draw(rng)
        stated = estimate_error(field)
        for quantity, error in errors.items():
            ratios.setdefault(quantity, []).append(abs(error) / (getattr(stated, quantity) + ROUNDING))
    for quantity, values in ratios.items():
        inside = np.mean(np.array(values) <= 1)
        parts = ", ".join(f"{q} % below {np.percentile(values, q):.2g}" for q in (50, 90, 95, 99, 100))
        print(f"{draw.__name__}, {quantity}: true error over stated error: {parts}; inside in {inside:.0%} of cases")
        assert inside >= REQUIRED


def test_brackets_hold_the_exact_value_of_every_one_of_40_random_rings():
    rng = np.random.default_rng(SEED)
    gaps, places = [], []
    for _ in range(40):
        radius = log_uniform(rng, 0.5, 20.0) * MM
        wire_radius = radius * log_uniform(rng, 0.01, 0.1)
        height = wire_radius * log_uniform(rng, 1.3, 20.0)
        alone = assemble_section(mesh_section(turned(wire(radius, wire_radius)), highest_frequency=0))
        over = turned(wire(radius, wire_radius, height), plate(20 * (radius + height), 0.035 * MM))
        shielded = assemble_section(mesh_section(over, highest_frequency=0))
        for bounded, exact in (
            (bracket_dc(solve_at_dc(alone)), ring_dc_inductance(radius, wire_radius)),
            (bracket_perfect(solve_perfect_conductor(alone)), ring_perfect_inductance(radius, wire_radius)),
            (
                bracket_perfect(solve_perfect_conductor(shielded)),
                ring_over_plane_perfect_inductance(radius, wire_radius, height),
            ),
        ):
            lower, upper = bounded.bracket.lower[0, 0], bounded.bracket.upper[0, 0]
            assert lower <= exact <= upper
            gaps.append(bounded.bracket.relative_gap)
            places.append((exact - lower) / (upper - lower))
    print(f"relative gap: median {np.median(gaps):.1e}, largest {max(gaps):.1e}; ", end="")
    print(f"place of the exact value in the bracket: {np.percentile(places, [0, 50, 100]).round(2)}")
    assert len(gaps) == 120
