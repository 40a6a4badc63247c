import pytest

from geometries import MM, CrossSection, Rectangle, Region
from solver.errors import SolutionError
from solver.section.boundary_layers import MeshSettings
from solver.section.refinement import refine_section


def strip(name, left, right, bottom, top, role):
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role=role)


SECTION = CrossSection(
    name="strip over a plane",
    regions=(strip("strip", -0.5, 0.5, 0.2, 0.235, "go"), strip("plane", -10, 10, -0.035, 0, "return")),
)
COARSE = MeshSettings(growth=0.9, corner_fraction=0.3, layer_growth=1.5)


def test_a_mesh_that_is_fine_enough_is_kept():
    refined = refine_section(SECTION, highest_frequency=0, tolerance=1e-3)
    assert len(refined.steps) == 1
    assert refined.perfect_bracket.relative_gap <= 1e-3


def test_both_gaps_reach_the_tolerance_and_the_way_is_recorded():
    refined = refine_section(SECTION, highest_frequency=0, tolerance=2e-5, settings=COARSE)
    assert len(refined.steps) > 1
    assert max(refined.steps[-1].dc_gap, refined.steps[-1].perfect_gap) <= 2e-5
    assert refined.steps[0].perfect_gap > 2e-5
    assert refined.steps[-1].unknowns == refined.system.basis.N


def test_brackets_on_the_way_all_hold_the_final_value():
    coarse = refine_section(SECTION, highest_frequency=0, tolerance=1e-2, settings=COARSE)
    fine = refine_section(SECTION, highest_frequency=0, tolerance=1e-5)
    value = fine.perfect_bracket.middle[0, 0]
    assert coarse.perfect_bracket.lower[0, 0] < value < coarse.perfect_bracket.upper[0, 0]


def test_the_bracket_closes_on_the_value_that_another_library_finds():
    # NGSolve, order 5, curved and refined to the corners: within 5e-6 of 159.7318 nH/m (docs/benchmarks.md)
    refined = refine_section(SECTION, highest_frequency=0, tolerance=1e-5)
    lower, upper = refined.perfect_bracket.lower[0, 0], refined.perfect_bracket.upper[0, 0]
    assert lower <= 159.7318e-9 <= upper
    assert upper / lower - 1 <= 1e-5


@pytest.mark.parametrize("tolerance", [0.0, -1e-3, 1e-9, 0.5])
def test_a_tolerance_outside_its_range_is_refused(tolerance):
    with pytest.raises(ValueError, match=r"between 1e-7 and 0\.1"):
        refine_section(SECTION, highest_frequency=0, tolerance=tolerance)


def test_a_tolerance_that_is_not_reached_says_how_far_it_got(monkeypatch):
    monkeypatch.setattr("solver.section.refinement._MOST_STEPS", 1)
    with pytest.raises(SolutionError, match=r"'strip over a plane': after 1 meshes the bounds still differ by"):
        refine_section(SECTION, highest_frequency=0, tolerance=1e-7)
