"""The estimated error of mutual impedances, against elements of the next order on the same mesh."""

import numpy as np
import pytest

from geometries.quantities import MM
from geometries.section.outline import Rectangle
from geometries.section.section import CrossSection, CurrentLoop, Region
from solver.section.error_estimate import estimate_error
from solver.section.fields import assemble_section, solve_at_frequency
from solver.section.mesh import mesh_section


def bar(name, left, right, bottom, top, role):
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role=role)


def section(height, distance, depth):
    left = 3.5 + distance
    return CrossSection(
        name="loop, plane and trace",
        regions=(
            bar("go", -3.5, -0.5, 0.0, 0.035, "go"),
            bar("return", 0.5, 3.5, 0.0, 0.035, "return"),
            bar("plane", -15.0, 15.0, -height - 0.035, -height, "floating"),
            bar("trace", left, left + 0.2, depth, depth + 0.035, "victim"),
        ),
        loops=(CurrentLoop(), CurrentLoop(name="victim", go_group="trace", return_group="plane")),
    )


@pytest.mark.parametrize("frequency", [1e5, 1e7, 1e8])
@pytest.mark.parametrize(("height", "distance", "depth"), [(0.2, 2.0, 0.0), (1.53, 1.0, 0.0), (0.2, -1.0, -0.6)])
def test_the_estimate_covers_the_step_to_the_next_order(height, distance, depth, frequency):
    meshed = mesh_section(section(height, distance, depth), highest_frequency=1e8)
    third, fourth = (solve_at_frequency(assemble_section(meshed, order=order), frequency) for order in (3, 4))
    omega = 2 * np.pi * frequency
    step = abs(
        third.resistance_per_length[0, 1]
        - fourth.resistance_per_length[0, 1]
        + 1j * omega * (third.inductance_per_length[0, 1] - fourth.inductance_per_length[0, 1])
    )
    assert step < abs(estimate_error(third).impedance[0, 1])


def test_mutual_impedances_have_an_error_of_their_own():
    meshed = mesh_section(section(0.2, 2.0, 0.0), highest_frequency=1e8)
    error = estimate_error(solve_at_frequency(assemble_section(meshed), 1e8)).impedance
    assert error.shape == (2, 2)
    assert 0 < error[0, 1].real == pytest.approx(error[1, 0].real, rel=1e-6)
    assert 0 < error[0, 1].imag == pytest.approx(error[1, 0].imag, rel=1e-6)
