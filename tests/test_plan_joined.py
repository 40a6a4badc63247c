"""Copper of two joined faces: its currents are all there are, and it behaves as a plate does."""

import math
from dataclasses import replace

import numpy as np
import pytest
import scipy.sparse as sparse

from geometries.errors import GeometryError
from geometries.layout.layout import (
    CopperSheet,
    EdgeTerminal,
    Faces,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    RingPort,
    Side,
    Spread,
    Via,
)
from geometries.quantities import MM
from geometries.section.outline import Rectangle
from solver.formulas import sheet_resistance
from solver.plan import PlanMeshSettings, solve_plan
from solver.plan.basis import plan_basis
from solver.plan.meshing import mesh_layout
from solver.plan.metal import face_impedances

ROUGH = PlanMeshSettings().coarser().coarser()
JOINED = Faces.JOINED


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def ring(faces=JOINED, thickness=35e-6, plane=None):
    copper = CopperSheet(
        name="ring",
        outline=box(-1.5, -1.25, 1.5, 1.25),
        holes=(box(-0.5, -0.25, 0.5, 0.25),),
        height=0.2 * MM,
        faces=faces,
        thickness=thickness,
    )
    return PlanLayout(
        name="ring", sheets=(copper,), ports=(RingPort(name="loop", sheet="ring", inside=(0.0, 0.0)),), plane=plane
    )


def strip(side=Side.UPPER, faces=JOINED, spread=Spread.FREE):
    """A strip, driven from its end to a land on it, with a post down to a second one."""
    upper, lower = (
        CopperSheet(name=name, outline=box(0, 0, 6, 2), height=height * MM, faces=faces)
        for name, height in (("upper", 0.5), ("lower", 0.2))
    )
    port = Port(
        name="source",
        entry=EdgeTerminal(sheet="upper", start=(0.0, 0.3 * MM), end=(0.0, 1.7 * MM)),
        leave=PadTerminal(sheet="lower", outline=box(0.5, 0.5, 1.2, 1.5), side=side),
        spread=spread,
    )
    via = Via(name="via", centre=(5 * MM, 1 * MM), radius=0.15 * MM, upper="upper", lower="lower")
    return PlanLayout(name="strip", sheets=(upper, lower), ports=(port,), vias=(via,))


def cells_and_facets(mesh):
    """Divergence of each carrying cell (cells, facets of all surfaces), and which facets bound one."""
    rows, columns, signs = [], [], []
    count = mesh.mesh.nfacets
    for number, surface in enumerate(mesh.surfaces):
        facets = mesh.mesh.t2f[:, surface.triangles].ravel()
        cells = np.tile(surface.triangles, 3)
        rows.append(cells + number * mesh.mesh.nelements)
        columns.append(facets + number * count)
        signs.append(np.where(mesh.mesh.f2t[0, facets] == cells, 1.0, -1.0))
    rows, columns, signs = map(np.concatenate, (rows, columns, signs))
    shape = (len(mesh.surfaces) * mesh.mesh.nelements, len(mesh.surfaces) * count)
    return sparse.csr_matrix((signs, (rows, columns)), shape=shape), np.unique(columns)


def possible_currents(mesh):
    """How many independent currents a sheet of joined faces has, by counting conditions in a dense matrix.

    No cell gains or loses current; at the rim what leaves one face enters the other; the terminals' currents add up to
    nothing by themselves, and so do the currents between copper under a land and its solder.
    """
    divergence, bounding = cells_and_facets(mesh)
    count = mesh.mesh.nfacets
    taken = np.concatenate([np.zeros(0, dtype=int), *(each.facets for each in mesh.terminals)])
    rim = np.setdiff1d(mesh.mesh.boundary_facets(), taken)
    glue = np.zeros((len(rim), len(mesh.surfaces) * count))
    glue[np.arange(len(rim)), rim] = glue[np.arange(len(rim)), rim + count] = 1.0
    conditions = np.vstack([divergence.toarray(), glue])[:, bounding]
    return len(bounding) - np.linalg.matrix_rank(conditions)


@pytest.mark.parametrize("layout", [ring(), strip(), strip(Side.LOWER)], ids=["ring", "strip", "land below"])
def test_no_cell_gains_current(layout):
    basis = plan_basis(layout, mesh_layout(layout, ROUGH))
    for mesh, fluxes in zip(basis.meshes, basis.fluxes, strict=True):
        assert abs(cells_and_facets(mesh)[0] @ fluxes).max() == 0


def test_the_currents_of_a_ring_are_all_that_are_possible():
    layout = ring()
    basis = plan_basis(layout, mesh_layout(layout, ROUGH))
    assert np.linalg.matrix_rank(basis.fluxes[0].toarray()) == basis.size == possible_currents(basis.meshes[0])


@pytest.mark.parametrize("side", [Side.UPPER, Side.LOWER])
def test_the_currents_of_sheets_with_terminals_are_all_that_are_possible(side):
    layout = strip(side)
    basis = plan_basis(layout, mesh_layout(layout, ROUGH))
    joined = sparse.vstack(
        [each[cells_and_facets(mesh)[1]] for mesh, each in zip(basis.meshes, basis.fluxes, strict=True)]
    ).toarray()
    # What goes down the post comes back through the source: one of the two sheets' own through currents is no choice.
    possible = sum(possible_currents(mesh) for mesh in basis.meshes) - 1
    assert np.linalg.matrix_rank(joined) == basis.size == possible


def test_direct_current_has_the_resistance_of_the_whole_thickness():
    thick, thin = (solve_plan(ring(faces), 0.0, ROUGH).resistance[0, 0] for faces in (JOINED, Faces.BOTH))
    assert thick == pytest.approx(thin, rel=1e-6, abs=0)


def test_with_vanishing_thickness_it_is_the_single_sheet():
    plane = MirrorPlane(height=0.0)
    joined, single = (
        solve_plan(ring(faces, 1e-6, plane), math.inf, ROUGH).inductance[0, 0] for faces in (JOINED, Faces.ONE)
    )
    assert joined == pytest.approx(single, rel=5e-3, abs=0)


def test_thicker_copper_has_less_inductance():
    values = [solve_plan(ring(thickness=each), math.inf, ROUGH).inductance[0, 0] for each in (17e-6, 35e-6, 70e-6)]
    assert values == sorted(values, reverse=True)


def test_only_the_face_that_a_land_lies_on_ends_at_it_and_is_whole_under_it():
    layout = strip()
    lower = mesh_layout(layout, ROUGH)[1]
    missing = np.setdiff1d(lower.faces[0], lower.faces[1])
    assert [(each.face, *each.triangles) for each in lower.surfaces[2:]] == [(1, *missing)]
    corners = lower.mesh.p[:, lower.mesh.t[:, missing]]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(first[0] * second[1] - first[1] * second[0]).sum() / 2
    assert area == pytest.approx(0.7 * 1.0 * MM**2, rel=1e-9, abs=0)


def test_a_land_below_is_reached_round_the_rim():
    # The return flows on the upper face, under the strip above, which is whole whichever face the land lies on.
    upper, lower = (solve_plan(strip(side), math.inf, ROUGH).inductance[0, 0] for side in (Side.UPPER, Side.LOWER))
    assert upper < lower < 1.01 * upper


def test_a_land_on_vanishing_copper_is_one_on_a_single_sheet():
    thin, single = (
        solve_plan(replace(layout, sheets=tuple(replace(each, **changed) for each in layout.sheets)), math.inf, ROUGH)
        for layout, changed in ((strip(), {"thickness": 1e-6}), (strip(), {"faces": Faces.BOTH}))
    )
    assert thin.inductance[0, 0] == pytest.approx(single.inductance[0, 0], rel=5e-3, abs=0)


def even_and_odd(frequency):
    """Sum and difference of the faces' fields over that of their currents, times the plate's resistance's inverse."""
    copper = ring().sheets[0]
    own, other = face_impedances(copper, frequency)
    even = sheet_resistance(copper.thickness, copper.material.conductivity)
    return (own + other) / even, (own - other) / even


@pytest.mark.parametrize("frequency", [0.0, 1.0, 1e3])
def test_direct_current_is_shared_as_a_volume_shares_it(frequency):
    # Odd: E rises over the thickness, and sigma t^2/12 of that difference is the currents' dipole moment.
    assert even_and_odd(frequency) == pytest.approx((2, 6), rel=2e-3)


def test_the_series_of_thick_skins_joins_the_closed_form():
    at = 1.5e5  # half of 35 µm is 0.1 of the skin depth there
    below, above = (even_and_odd(at * factor)[1] for factor in (0.5, 0.5001))
    assert below == pytest.approx(above, rel=1e-4)


def test_an_even_current_has_the_inductance_inside_the_metal():
    # Uniform over the thickness the vector potential's mean exceeds that on the faces by mu0 t/12 per ampere and metre.
    copper, frequency = ring().sheets[0], 1e4
    found = sum(face_impedances(copper, frequency)).imag / 2 / (2 * math.pi * frequency)
    assert found == pytest.approx(4e-7 * math.pi * copper.thickness / 12, rel=1e-3)


def test_faces_part_as_the_skin_gets_thin():
    own, other = face_impedances(ring().sheets[0], 1e12)
    assert abs(other) < 1e-2 * abs(own)


def test_a_uniform_spread_on_joined_faces_is_refused():
    with pytest.raises(GeometryError, match="port 'source' has a uniform spread on copper 'upper' of joined faces"):
        strip(spread=Spread.UNIFORM)
