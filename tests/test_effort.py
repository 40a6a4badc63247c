import math

import numpy as np
import pytest

from geometries.quantities import MM, UM
from geometries.section.analysis import Analysis
from geometries.section.outline import Circle, Polygon, Rectangle
from geometries.section.section import CrossSection, Region
from solver.errors import MeshError, SolverError, memory_failures_reported
from solver.section.boundary_layers import MeshSettings
from solver.section.effort import MOST_UNKNOWNS, ORDERS, estimated_triangles, require_affordable
from solver.section.field_scan import far_distance, field_scans
from solver.section.fields import solve_at_frequency
from solver.section.mesh import mesh_section
from solver.section.refinement import refine_section
from solver.section.solve import refine


def section(go, back):
    return CrossSection(
        name="s",
        regions=(Region(name="go", outline=go, role="go"), Region(name="return", outline=back, role="return")),
    )


def box(left, right, bottom, top):
    return Rectangle(left=left, right=right, bottom=bottom, top=top)


STRIP = box(4 * MM, 7 * MM, 0, 35 * UM)

SOLVED = {
    "50 um lines": (box(0, 50 * UM, 0, 18 * UM), box(100 * UM, 150 * UM, 0, 18 * UM)),
    "150 mm strips": (box(-150 * MM, -1 * MM, 0, 35 * UM), box(1 * MM, 150 * MM, 0, 35 * UM)),
    "10 um dielectric": (box(0, 3 * MM, 0, 35 * UM), box(0, 3 * MM, -45 * UM, -10 * UM)),
    "10 um dielectric between 300 mm sheets": (box(0, 300 * MM, 0, 35 * UM), box(0, 300 * MM, -45 * UM, -10 * UM)),
    "aspect 1e5": (box(0, 300 * MM, 0, 3 * UM), box(0, 300 * MM, -6 * UM, -3 * UM)),
    "50 um line over 300 mm": (box(0, 50 * UM, 0, 18 * UM), box(-150 * MM, 150 * MM, -28 * UM, -10 * UM)),
}


@pytest.mark.parametrize("name", SOLVED)
def test_dimensions_of_boards_solve_to_the_tolerance(name):
    analysis = Analysis(frequencies=(1e8,), report_frequency=1e8, heights_above=(3e-3,), heights_below=(3e-3,))
    refined = refine(section(*SOLVED[name]), analysis)
    assert max(refined.dc_bracket.relative_gap, refined.perfect_bracket.relative_gap) <= analysis.tolerance


def test_two_wide_sheets_have_the_inductance_of_the_gap_between_them():
    # parallel plates with the current on the facing sides: mu_0 d / w, fringes of the order d/w left out
    refined = refine(
        section(*SOLVED["10 um dielectric between 300 mm sheets"]),
        Analysis(frequencies=(1e8,), report_frequency=1e8, heights_above=(3e-3,), heights_below=(3e-3,)),
    )
    assert float(refined.perfect_bracket.middle[0, 0]) == pytest.approx(4e-7 * math.pi * 10e-6 / 0.3, rel=1e-3)


@pytest.mark.parametrize(
    ("go", "back", "reason"),
    [
        (box(0, 3 * MM, 0, 1e-13), STRIP, "'go' has an edge, diameter or wall of 1e-13 m"),
        (Polygon(vertices=((0, 0), (MM, 0), (MM, 1e-12), (0, MM))), STRIP, "'go' has an edge"),
        (box(0, 4 * MM - 1e-10, 0, 35 * UM), STRIP, "'go' and 'return' lie 1e-10 m apart"),
        (Circle(centre=(0, 0), radius=1e-12), STRIP, "'go' has an edge, diameter"),
    ],
    ids=["thin", "short edge", "narrow gap", "thin wire"],
)
def test_what_is_smaller_than_an_atom_is_refused_before_meshing(go, back, reason):
    with pytest.raises(MeshError, match=reason):
        mesh_section(section(go, back), highest_frequency=1e8)


def test_a_wire_that_nearly_touches_is_refused_for_its_corners():
    with pytest.raises(MeshError, match=r"takes \d+ corners.*widen the narrowest clearance"):
        mesh_section(section(Circle(centre=(3 * MM - 1e-8, 0), radius=1 * MM), STRIP), highest_frequency=1e8)


def test_an_outline_of_too_many_corners_is_refused():
    turns = [2 * math.pi * k / 7000 for k in range(7000)]
    outline = Polygon(vertices=tuple((MM * math.cos(turn), MM * math.sin(turn)) for turn in turns))
    with pytest.raises(MeshError, match="7004 corners, 7000 of them for region 'go'"):
        mesh_section(section(outline, STRIP), highest_frequency=0)


def test_a_mesh_beyond_memory_is_refused_before_it_is_made():
    with pytest.raises(MeshError, match=r"unknowns and .* GB; at most 500000"):
        mesh_section(
            section(box(0, 3 * MM, 0, 35 * UM), STRIP), highest_frequency=0, settings=MeshSettings(growth=1e-3)
        )


@pytest.mark.parametrize("name", SOLVED)
def test_triangles_are_estimated_within_a_factor_of_three(name):
    meshed = mesh_section(section(*SOLVED[name]), highest_frequency=1e8)
    layered = sum(len(meshed.elements(region)) for region in ("go", "return"))
    inside = np.setdiff1d(np.arange(meshed.mesh.nelements), meshed.outside)
    surface = len(np.intersect1d(meshed.mesh.t2f[:, meshed.outside], meshed.mesh.t2f[:, inside]))
    found = estimated_triangles(layered, surface, MeshSettings().growth) / meshed.mesh.nelements
    assert 1 / 3 < found < 3


def test_a_counted_number_of_unknowns_has_no_leeway():
    described = section(box(0, 3 * MM, 0, 35 * UM), STRIP)
    require_affordable(described, MOST_UNKNOWNS / 8, counted=True)
    with pytest.raises(MeshError, match="section 's' takes about 5e"):
        require_affordable(described, MOST_UNKNOWNS / 8 + 1, counted=True)


def test_unknowns_are_those_of_the_elements_that_the_section_is_solved_with():
    described = section(box(0, 3 * MM, 0, 35 * UM), STRIP)
    system = refine_section(described, highest_frequency=1e8, tolerance=1e-3).system
    each_of_them = system.basis.N / system.meshed.mesh.nelements
    assert each_of_them == pytest.approx(ORDERS[described.view] ** 2 / 2, rel=0.02)


def test_the_far_circle_is_enlarged_only_where_the_lines_need_it():
    wide = section(box(-4 * MM, -1 * MM, 0, 35 * UM), box(1 * MM, 4 * MM, 0, 35 * UM))
    plain, asked = (
        mesh_section(wide, highest_frequency=0, settings=MeshSettings(far_distance=far)) for far in (0.0, 1.0)
    )
    assert asked.far_radius == plain.far_radius == 500 * wide.size
    assert (asked.mesh.p == plain.mesh.p).all()


@pytest.mark.parametrize("name", ["50 um lines", "50 um line over 300 mm"])
def test_lines_run_past_a_narrow_loop(name):
    narrow = section(*SOLVED[name])
    analysis = Analysis(frequencies=(1e8,), report_frequency=1e8, heights_above=(3e-3, 0.1), heights_below=(3e-3,))
    span = (-30 * MM, 30 * MM)
    field = solve_at_frequency(refine(narrow, analysis, far_distance=far_distance(analysis, span)).system, 1e8)
    near, far, _ = field_scans(field, (0.0, -1 * MM), analysis, span)
    assert near.peak > far.peak > 0


def test_a_line_dipole_is_read_far_from_a_narrow_loop():
    # two line currents +I and -I, d apart: H = I d / (2 pi r²) far from both (Ampere's law, first order in d/r)
    narrow = section(box(0, 50 * UM, 0, 18 * UM), box(100 * UM, 150 * UM, 0, 18 * UM))
    analysis = Analysis(frequencies=(1.0,), report_frequency=1.0, heights_above=(10e-3,), heights_below=(10e-3,))
    span = (-20 * MM, 20 * MM)
    field = solve_at_frequency(refine(narrow, analysis, far_distance=far_distance(analysis, span)).system, 1.0)
    above, _ = field_scans(field, (0.0, 0.0), analysis, span)
    r = math.hypot(10e-3, 75e-6)
    assert above.peak == pytest.approx(100e-6 / (2 * math.pi * r * r), rel=1e-2)


def test_a_want_of_memory_is_a_solver_error():
    with pytest.raises(SolverError, match="not enough memory"), memory_failures_reported():
        raise MemoryError
