"""What tolerances do to a loop: a table of filament computations.

Source: two strips of copper 3 mm wide, 35 um thick, 1 mm apart, 0.2 mm over a floating plane of 40 mm, 100 MHz,
computed independently with a two-dimensional subdivision into filaments (mesh error about 0.2 %): L' = 0.1266, 0.1376,
0.1483 nH/mm at 0.18, 0.20 and 0.22 mm; -8 / +8 % for prepreg of -10 / +10 %, +9 / -8 % for width of -10 / +10 %, 0 for
permittivity, +0.4 % from 20 to 100 °C. Copper there has 1.72e-8 ohm m, which is used here too.
"""

import pytest

from geometries.files.tolerance_reading import parse_tolerance
from geometries.study.tolerance import Tolerance, tolerance_scenario
from solver.section.fields import assemble_section, solve_at_frequency
from solver.section.mesh import mesh_section

SOURCE = "Filament computation: tolerances of a loop over a plane"
TEXT = """
title = "filaments"
stackup = "4L-7628"
copper = { conductivity = "58.14 MS/m", temperature = "60 degC" }
planes.L2 = { tie = "none", width = "40 mm" }
[loop]
kind = "same-layer"
width = "3 mm"
gap = "1 mm"
length = "8 mm"
[tolerance]
prepreg = "10 %"
width = "10 %"
permittivity = "7 %"
temperature = "40 K"
"""
TOLERANCE: Tolerance = parse_tolerance(TEXT)
COLD, WARM = -1.0, 1.0
"""20 and 100 °C."""
NOMINAL = (0.0, 0.0, 0.0, COLD)


def inductance(offsets: tuple[float, ...]) -> float:
    """Per length [nH/mm]."""
    variant = tolerance_scenario(TOLERANCE, TOLERANCE.variants[0], offsets).variants[0]
    field = solve_at_frequency(assemble_section(mesh_section(variant.section, highest_frequency=100e6)), 100e6)
    return float(field.inductance_per_length[0, 0]) * 1e6


@pytest.fixture(scope="module")
def nominal() -> float:
    return inductance(NOMINAL)


@pytest.mark.parametrize(("offset", "reference"), [(-1.0, 0.1266), (0.0, 0.1376), (1.0, 0.1483)])
def test_prepreg(references, offset: float, reference: float) -> None:
    references.compare(
        found=inductance((offset, 0.0, 0.0, COLD)),
        reference=reference,
        rtol=5e-3,
        source=SOURCE,
        item=f"L', prepreg at {offset:+g} of 10 %",
        unit="nH/mm",
        reason="four digits, their mesh error of 0.2 %, and ours",
        mark="computed independently",
    )


@pytest.mark.parametrize(("offset", "percent"), [(-1.0, 9.0), (1.0, -8.0)])
def test_width(references, nominal: float, offset: float, percent: float) -> None:
    references.compare(
        found=100 * (inductance((0.0, offset, 0.0, COLD)) / nominal - 1),
        reference=percent,
        rtol=0.5 / abs(percent),
        source=SOURCE,
        item=f"change of L', width at {offset:+g} of 10 %",
        unit="%",
        reason="whole percents",
        mark="computed independently",
    )


def test_temperature(references, nominal: float) -> None:
    references.compare(
        found=100 * (inductance((0.0, 0.0, 0.0, WARM)) / nominal - 1),
        reference=0.4,
        rtol=0.05 / 0.4,
        source=SOURCE,
        item="change of L' from 20 to 100 °C",
        unit="%",
        reason="one decimal",
        mark="computed independently",
    )


def test_permittivity_has_no_part_in_inductance(nominal: float) -> None:
    assert inductance((0.0, 0.0, 1.0, COLD)) == nominal
