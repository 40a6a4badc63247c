import math
import subprocess
import sys

import numpy as np
import pytest
from skfem import Basis, ElementTriP0

from geometries.quantities import MM
from geometries.section.outline import Circle, Polygon, Rectangle, Ring
from geometries.section.section import AIR, CrossSection, Region
from solver.errors import MeshError
from solver.section.mesh import _verify, mesh_section

RETURN = Region(name="r", outline=Rectangle(left=3 * MM, right=4 * MM, bottom=0, top=0.1 * MM), role="return")
OUTLINES = {
    "rectangle": Rectangle(left=-1 * MM, right=1 * MM, bottom=0, top=35e-6),
    "trapezoid": Polygon(vertices=((-1 * MM, 0), (1 * MM, 0), (0.97 * MM, 35e-6), (-0.97 * MM, 35e-6))),
    "triangle": Polygon(vertices=((-1 * MM, 0), (1 * MM, 0), (0, 1 * MM))),
    "angle": Polygon(vertices=((0, 0), (2 * MM, 0), (2 * MM, 1 * MM), (1 * MM, 1 * MM), (1 * MM, 2 * MM), (0, 2 * MM))),
    "circle": Circle(centre=(0, 0), radius=0.5 * MM),
    "ring": Ring(centre=(0, 0), inner_radius=0.5 * MM, outer_radius=0.6 * MM),
}


def section_with(outline):
    return CrossSection(name="s", regions=(Region(name="g", outline=outline, role="go"), RETURN))


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize("frequency", [0.0, 1e9])
def test_every_outline_is_meshed_with_its_area(name, frequency):
    meshed = mesh_section(section_with(OUTLINES[name]), highest_frequency=frequency)
    inside = Basis(meshed.mesh, ElementTriP0(), elements=meshed.elements("g"))
    assert inside.dx.sum() == pytest.approx(OUTLINES[name].area, rel=1e-9)


def test_nodes_and_middles_of_edges_on_a_circle_lie_on_one_circle():
    circle = OUTLINES["circle"]
    mesh = mesh_section(section_with(circle), highest_frequency=0).mesh
    inside = mesh.subdomains["g"]
    edges = np.intersect1d(mesh.t2f[:, inside], np.delete(mesh.t2f, inside, axis=1))
    radii = np.linalg.norm(mesh.doflocs[:, np.unique(mesh.facets[:, edges])], axis=0)
    middles = np.linalg.norm(mesh.doflocs[:, mesh.dofs.facet_dofs[0, edges]], axis=0)
    assert radii == pytest.approx(radii[0], rel=1e-12)
    assert middles == pytest.approx(radii[0], rel=1e-12)
    assert 1 < radii[0] / circle.radius < 1 + 1e-4


def test_subdomains_fill_the_far_circle_without_overlap():
    meshed = mesh_section(section_with(OUTLINES["ring"]), highest_frequency=1e8)
    counts = [len(meshed.elements(name)) for name in ("g", "r", AIR)]
    assert sum(counts) == meshed.mesh.nelements
    assert len(np.unique(np.concatenate([meshed.elements(name) for name in ("g", "r", AIR)]))) == sum(counts)


def test_the_far_circle_is_hundreds_of_extents_away():
    meshed = mesh_section(section_with(OUTLINES["circle"]), highest_frequency=0)
    assert np.hypot(*meshed.mesh.p).max() >= 499 * 4.5 * MM


def test_surface_layers_follow_the_skin_depth():
    meshed = mesh_section(section_with(OUTLINES["circle"]), highest_frequency=1e9)
    nodes = np.unique(meshed.mesh.t[:, meshed.elements("g")])
    radii = np.unique(np.round(np.hypot(*meshed.mesh.p[:, nodes]) / 1e-8))
    skin = 1 / math.sqrt(math.pi * 1e9 * 4e-7 * math.pi * 58e6)
    assert (radii[-1] - radii[-2]) * 1e-8 < 1.2 * skin


def test_a_wire_inside_a_ring_has_air_around_it():
    wire = Region(name="w", outline=Circle(centre=(0.1 * MM, 0), radius=0.2 * MM), role="go")
    shell = Region(name="s", outline=OUTLINES["ring"], role="return")
    meshed = mesh_section(CrossSection(name="coax", regions=(wire, shell)), highest_frequency=0)
    centres = meshed.mesh.p[:, meshed.mesh.t[:, meshed.elements(AIR)]].mean(axis=1)
    assert np.hypot(*centres).min() < 0.4 * MM


def test_a_tiny_sheet_on_a_wide_plane_is_meshed():
    sheet = Region(
        name="g",
        outline=Rectangle(left=-1 * MM, right=1 * MM, bottom=0.1 * MM, top=0.1 * MM + 2e-8),
        role="go",
    )
    plane = Region(name="p", outline=Rectangle(left=-200 * MM, right=200 * MM, bottom=-2e-8, top=0), role="return")
    meshed = mesh_section(CrossSection(name="thin", regions=(sheet, plane)), highest_frequency=0)
    assert len(meshed.elements("g")) > 0


def test_a_negative_frequency_is_refused():
    with pytest.raises(ValueError, match="must be 0 or above"):
        mesh_section(section_with(OUTLINES["circle"]), highest_frequency=-1)


def test_a_region_missing_from_the_mesh_is_named():
    meshed = mesh_section(section_with(OUTLINES["circle"]), highest_frequency=0)
    with pytest.raises(MeshError, match="region 'g' has no triangles"):
        _verify(meshed.section, meshed.mesh.with_subdomains({"g": np.array([], dtype=int)}))


def test_a_region_of_the_wrong_area_is_named():
    meshed = mesh_section(section_with(OUTLINES["circle"]), highest_frequency=0)
    with pytest.raises(MeshError, match="region 'g' was meshed with"):
        _verify(meshed.section, meshed.mesh.with_subdomains({"g": meshed.elements("g")[1:]}))


def test_a_missing_system_library_is_one_line_with_the_cure(tmp_path):
    """The generator's import failure, simulated by a module of its name that fails as a missing library does."""
    (tmp_path / "gmsh.py").write_text('raise OSError("libGLU.so.1: cannot open shared object file")\n')
    program = "import solver.cli, sys; sys.argv = ['copperfield', 'demo']; solver.cli.main()"
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(tmp_path)!r}); {program}"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=False,
    )
    assert done.returncode == 1
    assert "libGLU.so.1" in done.stderr
    assert "apt-get install -y libglu1-mesa" in done.stderr
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
