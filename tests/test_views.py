"""The round view: a section turned about an axis, on the same rooms as the section view."""

import math
from dataclasses import replace

import numpy as np
import pytest
from skfem import Basis, ElementTriP2, ElementTriP3

from geometries import Circle, CrossSection, CurrentLoop, GeometryError, Polygon, Rectangle, Region
from geometries.section.section import View
from solver.section.boundary_layers import MeshSettings
from solver.section.bounds import bracket_dc, bracket_perfect
from solver.section.broadband import reduce_section
from solver.section.coordinates import regular_on_axis
from solver.section.error_estimate import estimate_error
from solver.section.extraction import (
    axial_moment,
    current_density,
    dissipated_power,
    field_strength,
    line_moment,
    magnetic_energy,
    plane_net_inductance,
)
from solver.section.fields import assemble_section, solve_at_dc, solve_at_frequency, solve_perfect_conductor
from solver.section.mesh import FAR, mesh_section

MM = 1e-3
CLOSED = (CurrentLoop(return_group=""),)
FINE = MeshSettings(growth=0.3)


def box(name, inner, outer, bottom, top, role="floating", group=""):
    outline = Rectangle(left=inner * MM, right=outer * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role=role, group=group)


RING = box("ring", 1.75, 2.25, 0.2, 0.235, "go")
DISC = box("disc", 0, 10, -0.035, 0)


def turned(*regions, loops=CLOSED):
    return CrossSection(name="turned", regions=regions, loops=loops, view="axisymmetric")


@pytest.fixture(scope="module")
def over_disc():
    return assemble_section(mesh_section(turned(RING, DISC), highest_frequency=1e7))


@pytest.fixture(scope="module")
def at_1_mhz(over_disc):
    return solve_at_frequency(over_disc, 1e6)


def test_the_resistance_at_dc_is_that_of_a_density_falling_with_one_over_r(over_disc):
    exact = 2 * math.pi / (5.8e7 * 0.035e-3 * math.log(2.25 / 1.75))
    assert solve_at_dc(over_disc).resistance[0, 0] == pytest.approx(exact, rel=1e-9, abs=0)


def test_the_bracket_at_dc_closes_as_the_mesh_is_refined():
    gaps = []
    for growth in (0.5, 0.25):
        system = assemble_section(
            mesh_section(turned(RING, DISC), highest_frequency=0.0, settings=MeshSettings(growth=growth))
        )
        bracket = bracket_dc(solve_at_dc(system)).bracket
        assert bracket.lower[0, 0] < bracket.upper[0, 0]
        gaps.append(bracket.relative_gap)
    assert gaps[1] < gaps[0] / 3


@pytest.mark.parametrize(("solve", "bracket"), [(solve_at_dc, bracket_dc), (solve_perfect_conductor, bracket_perfect)])
def test_a_finer_solution_lies_inside_the_bracket_of_a_coarse_one(solve, bracket):
    section = turned(RING, DISC, box("collar", 3, 4, 0.2, 0.235))
    coarse = assemble_section(mesh_section(section, highest_frequency=0.0), order=2)
    settings = MeshSettings(growth=0.2, corner_fraction=0.01)
    fine = assemble_section(mesh_section(section, highest_frequency=0.0, settings=settings))
    bounds = bracket(solve(coarse)).bracket
    value = solve(fine).inductance
    assert bounds.lower[0, 0] < value[0, 0] < bounds.upper[0, 0]


def test_the_bracket_of_a_mutual_holds_for_two_rings_with_unlike_currents():
    loops = tuple(CurrentLoop(name=name, go_group=name, return_group="") for name in ("a", "b"))
    section = turned(box("a", 1, 1.5, 0, 0.1, "go", "a"), box("b", 0.5, 1, 0.5, 0.6, "go", "b"), loops=loops)
    coarse = assemble_section(mesh_section(section, highest_frequency=0.0), order=2)
    fine = assemble_section(mesh_section(section, highest_frequency=0.0, settings=FINE))
    bounds = bracket_dc(solve_at_dc(coarse)).bracket
    value = solve_at_dc(fine).inductance
    assert np.all(bounds.lower < value)
    assert np.all(value < bounds.upper)


def test_energy_and_loss_agree_with_the_impedance(at_1_mhz):
    omega = 2 * math.pi * at_1_mhz.frequency
    assert 2 * dissipated_power(at_1_mhz) == pytest.approx(at_1_mhz.resistance[0, 0], rel=1e-9)
    stored = 2 * magnetic_energy(at_1_mhz)
    assert stored == pytest.approx(at_1_mhz.inductance[0, 0], rel=1e-9, abs=0)
    assert omega > 0


def test_the_driven_ring_carries_its_current_and_the_disc_opposes_it(at_1_mhz):
    ring, disc = at_1_mhz.region_currents[:, 0]
    assert ring == pytest.approx(1.0, abs=1e-9)
    assert -1 < disc.real < -0.5


def test_the_current_density_sums_to_the_current(at_1_mhz):
    basis = at_1_mhz.system.basis.with_elements(at_1_mhz.system.meshed.elements("ring"))
    places = np.asarray(basis.global_coordinates()).reshape(2, -1).T
    density = current_density(at_1_mhz, "ring", places)
    assert (density * basis.dx.ravel()).sum() == pytest.approx(1.0, rel=1e-8)


def test_the_moment_of_a_ring_alone_is_its_area_and_a_disc_takes_most_of_it_away(at_1_mhz):
    alone = solve_at_frequency(assemble_section(mesh_section(turned(RING), highest_frequency=1e7)), 1e3)
    exact = math.pi * (2.25**2 - 1.75**2) * MM**2 / (2 * math.log(2.25 / 1.75))
    assert axial_moment(alone).real == pytest.approx(exact, rel=1e-4, abs=0)
    assert abs(axial_moment(at_1_mhz)) < 0.05 * exact


def test_the_field_on_the_axis_of_a_ring_is_that_of_a_circle_of_current():
    wire = Region(name="wire", outline=Circle(centre=(2 * MM, 0.0), radius=0.01 * MM), role="go")
    system = assemble_section(mesh_section(turned(wire), highest_frequency=0.0, settings=FINE))
    z = np.array([-1e-3, 0.0, 2e-3])
    field = field_strength(solve_at_dc(system), np.column_stack([np.zeros(3), z]))
    exact = (2 * MM) ** 2 / (2 * ((2 * MM) ** 2 + z**2) ** 1.5)
    assert field[:, 1].real == pytest.approx(exact, rel=3e-3)
    assert np.abs(field[:, 0]).max() < 1e-3 * exact.max()


def test_the_broadband_model_gives_what_a_direct_solution_gives(over_disc, at_1_mhz):
    model = reduce_section(solve_at_dc(over_disc), solve_perfect_conductor(over_disc), lowest=1e4, highest=1e7).model
    impedance = model.impedance(1e6)[0, 0]
    assert impedance.real == pytest.approx(at_1_mhz.resistance[0, 0], rel=1e-5)
    exact = at_1_mhz.inductance[0, 0]
    assert impedance.imag / (2 * math.pi * 1e6) == pytest.approx(exact, rel=1e-6, abs=0)


def test_the_error_estimate_works_in_the_round_view(at_1_mhz):
    error = estimate_error(at_1_mhz)
    assert 0 < error.inductance < 2e-3
    assert 0 < error.resistance < 2e-3


def test_a_far_ring_has_the_inductance_of_the_section_view():
    radius, pair = 500.0, 1.0
    there = box("out", radius, radius + 0.5, 0, 0.1, "go", "a")
    back = box("back", radius + pair, radius + pair + 0.5, 0, 0.1, "go", "b")
    loops = (CurrentLoop(name="a", go_group="a", return_group=""), CurrentLoop(name="b", go_group="b", return_group=""))
    settings = MeshSettings(growth=0.3, far_radius=20)
    axisymmetric_view = solve_at_dc(
        assemble_section(mesh_section(turned(there, back, loops=loops), highest_frequency=0.0, settings=settings))
    ).inductance
    straight = CrossSection(
        name="straight", regions=(there, back), loops=(CurrentLoop(go_group="a", return_group="b"),)
    )
    long_view = solve_at_dc(assemble_section(mesh_section(straight, highest_frequency=0.0))).inductance
    around = 2 * math.pi * (radius + 0.75) * MM
    loop = axisymmetric_view[0, 0] + axisymmetric_view[1, 1] - 2 * axisymmetric_view[0, 1]
    assert loop / around == pytest.approx(long_view[0, 0], rel=2e-3, abs=0)


@pytest.mark.parametrize("element", [ElementTriP2(), ElementTriP3()], ids=["second order", "third order"])
def test_functions_near_the_axis_grow_with_the_square_of_the_distance(element):
    mesh = mesh_section(turned(RING), highest_frequency=0.0).mesh
    basis = Basis(mesh, element)
    regular = regular_on_axis(View.AXISYMMETRIC, basis)
    x = np.zeros(basis.N)
    x[basis.complement_dofs(basis.get_dofs())] = np.random.default_rng(3).normal(
        size=basis.N - len(basis.get_dofs().flatten())
    )
    touching = np.flatnonzero((mesh.p[0, mesh.t] == 0).sum(axis=0) == 2)
    shallow = basis.with_elements(touching)
    ratio = shallow.interpolate(regular @ x).grad[0] / shallow.global_coordinates()[0]
    rough = shallow.interpolate(x).grad[0] / shallow.global_coordinates()[0]
    near = Basis(mesh, element, elements=touching, quadrature=(np.array([[1 / 3], [1 / 3]]), np.ones(1)))
    assert np.isfinite(np.asarray(ratio)).all()
    assert np.abs(np.asarray(rough)).max() > np.abs(np.asarray(ratio)).max()
    assert near.nelems > 10


def test_squares_of_the_distance_are_left_as_they_are():
    mesh = mesh_section(turned(RING), highest_frequency=0.0).mesh
    for element in (ElementTriP2(), ElementTriP3()):
        basis = Basis(mesh, element)
        square = basis.doflocs[0] ** 2
        assert np.abs(regular_on_axis(View.AXISYMMETRIC, basis) @ square - square).max() < 1e-12 * square.max()


def test_the_axis_is_not_part_of_the_far_border(over_disc):
    mesh = over_disc.meshed.mesh
    assert np.linalg.norm(mesh.p[:, mesh.facets[:, mesh.boundaries[FAR]]], axis=0).min() > 4
    assert len(mesh.boundary_facets()) > len(mesh.boundaries[FAR])


def test_fourth_order_is_refused(over_disc):
    with pytest.raises(ValueError, match="second or third order"):
        assemble_section(over_disc.meshed, order=4)


def test_what_belongs_to_the_other_view_is_refused(at_1_mhz):
    with pytest.raises(ValueError, match="axial_moment"):
        line_moment(at_1_mhz)
    with pytest.raises(ValueError, match="section view"):
        plane_net_inductance(at_1_mhz, "disc")


def test_a_ring_across_the_axis_is_refused():
    with pytest.raises(GeometryError, match=r"'ring' reaches 0\.5 mm across the axis"):
        turned(box("ring", -0.5, 2, 0, 0.1, "go"))


def test_a_driven_disc_is_refused():
    with pytest.raises(GeometryError, match="give it an inner radius"):
        turned(box("plate", 0, 2, 0, 0.1, "go"))


def test_a_cone_on_the_axis_is_refused():
    cone = Region(name="cone", outline=Polygon(vertices=((0.0, -1e-3), (1e-3, -1e-3), (0.0, -0.5e-3))), role="floating")
    with pytest.raises(GeometryError, match="touches the axis"):
        turned(RING, cone)


def test_discs_that_overlap_and_a_loop_inside_a_disc_are_refused():
    with pytest.raises(GeometryError, match=r"'disc' and 'other' overlap near r = "):
        turned(RING, DISC, box("other", 0, 5, -0.02, 0.02))
    with pytest.raises(GeometryError, match="'ring' and 'thick' overlap"):
        turned(RING, box("thick", 0, 5, 0, 1))


def test_a_return_in_the_round_view_is_refused():
    with pytest.raises(GeometryError, match="is a return"):
        turned(RING, box("back", 3, 4, 0, 0.1, "return"))
    with pytest.raises(GeometryError, match="closes on itself"):
        replace(turned(RING, DISC), loops=(CurrentLoop(return_group="disc"),))
