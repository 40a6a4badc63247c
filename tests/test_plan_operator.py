"""The operator of near pairs and grid against the dense sum over all pairs of triangles."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse import csr_matrix

from geometries.board.materials import COPPER
from geometries.layout.layout import MIRROR, CopperSheet, Faces, MirrorPlane, PlanLayout, Port, RingPort, Via
from geometries.layout.layout import EdgeTerminal as Edge
from geometries.quantities import MM
from geometries.section.outline import Polygon, Rectangle
from solver.plan import PlanMeshSettings
from solver.plan.basis import plan_basis
from solver.plan.krylov import Impedances, driven_currents
from solver.plan.meshing import mesh_layout
from solver.plan.metal import metal_impedances, square_matrices, via_impedances
from solver.plan.near import near_part
from solver.plan.operator import (
    image_coupling,
    image_distances,
    inductance_operator,
    level_distances,
    plan_inductances,
)
from solver.plan.pairs import Pairs

ROUGH = PlanMeshSettings().coarser().coarser()


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def ring(height):
    return CopperSheet(
        name="ring", outline=box(-2.5, -1.5, 2.5, 1.5), holes=(box(-1.5, -0.5, 1.5, 0.5),), height=height
    )


DRIVEN = (RingPort(name="loop", sheet="ring", inside=(0.0, 0.0)),)


def on_images(height, **plane):
    return PlanLayout(name="images", sheets=(ring(height),), ports=DRIVEN, plane=MirrorPlane(height=0.0, **plane))


def on_sheets():
    """A ring over two planes of copper, one of them slotted, none of them tied."""
    near = CopperSheet(name="near", outline=box(-4, -3, 4, 3), holes=(box(-0.3, -2, 0.3, 2),), height=0.0)
    far = CopperSheet(name="far", outline=box(-3, -4, 3, 4), height=-1.2 * MM)
    return PlanLayout(name="sheets", sheets=(ring(0.2 * MM), near, far), ports=DRIVEN)


def on_posts():
    """Two pieces side by side, joined by posts into a plane of images."""
    corners = tuple((x * MM, y * MM) for x, y in ((0, 0.1), (5, 0.1), (6, 1.1), (5, 2.1), (0, 2.1)))
    upper = CopperSheet(name="upper", outline=Polygon(vertices=corners), height=0.2 * MM)
    lower = CopperSheet(name="lower", outline=box(0, -2, 6, 0), height=0.2 * MM)
    ends = [
        Edge(sheet=name, start=(0.5 * MM, y * MM), end=(1.5 * MM, y * MM)) for name, y in (("upper", 0.1), ("lower", 0))
    ]
    vias = tuple(
        Via(name=f"{name} {x}", centre=(x * MM, y * MM), radius=0.15 * MM, upper=name, lower=MIRROR)
        for name, y in (("upper", 1.1), ("lower", -1))
        for x in (3, 4)
    )
    port = Port(name="switch", entry=ends[0], leave=ends[1])
    plane = MirrorPlane(height=0.0, material=COPPER, thickness=35e-6)
    return PlanLayout(name="posts", sheets=(upper, lower), ports=(port,), vias=vias, plane=plane)


def joined_over(height):
    """A ring of two joined faces over copper, and a single sheet beside it on the level of its lower face."""
    beside = CopperSheet(name="beside", outline=Rectangle(left=3 * MM, right=4 * MM, bottom=-MM, top=MM), height=height)
    sheets = (replace(ring(height), faces=Faces.JOINED), beside)
    plane = MirrorPlane(height=0.0, material=COPPER, thickness=35e-6)
    return PlanLayout(name="two faces", sheets=sheets, ports=DRIVEN, plane=plane)


CASES = {
    "free": (PlanLayout(name="free", sheets=(ring(0.0),), ports=DRIVEN), math.inf),
    "perfect plane": (on_images(0.2 * MM), math.inf),
    "plane of copper": (on_images(0.1 * MM, material=COPPER, thickness=35e-6), 1e7),
    "thin plane at a low frequency": (on_images(0.2 * MM, material=COPPER, thickness=35e-6), 3e5),
    "two faces": (joined_over(0.2 * MM), 1e7),
    "meshed planes": (on_sheets(), 1e8),
    "posts": (on_posts(), 1e8),
}


def all_pairs(count):
    first, second = (index.astype(np.int32) for index in np.triu_indices(count))
    return Pairs(first=first, second=second)


def dense_potentials(system, distances):
    """Double integrals of 1/R between all triangles: close pairs exactly, all others over three points in either."""
    cloud, level = system.cloud, system.level
    every, footprints = (all_pairs(count) for count in (len(cloud.areas), cloud.stacks.shape[1]))
    apart = distances[level[every.first], level[every.second]]
    exact = near_part(cloud, footprints, lambda some: distances[level[some.first], level[some.second]], 1e-9)
    matrix = np.zeros((len(cloud.areas),) * 2, dtype=distances.dtype)
    for start in range(0, len(every), 100_000):
        part, drop = every.part(slice(start, start + 100_000)), apart[start : start + 100_000]
        gaps = cloud.points[:, :, None, part.first] - cloud.points[:, None, :, part.second]
        squares = (gaps**2).sum(axis=0) + drop**2 + np.where(part.first == part.second, 1e-30, 0.0)
        areas = cloud.areas[part.first] * cloud.areas[part.second]
        matrix[part.first, part.second] = (1 / np.sqrt(squares)).mean(axis=(0, 1)) * areas
    rows, columns = np.sort([exact.pairs.first[exact.close], exact.pairs.second[exact.close]], axis=0)
    matrix[rows, columns] = exact.plain
    return np.triu(matrix) + np.triu(matrix, 1).T


def dense_inductances(system, distances):
    potentials = dense_potentials(system, distances)
    return 1e-7 * sum(part.T @ (potentials @ part.toarray()) for part in system.density)


@pytest.fixture(scope="module", params=CASES, ids=str)
def both(request):
    """Operator, dense matrix, and the metal, for one case."""
    layout, frequency = CASES[request.param]
    basis = plan_basis(layout, mesh_layout(layout, ROUGH))
    system = plan_inductances(layout, basis)
    dense, images = dense_inductances(system, level_distances(system.levels)) + system.vias.toarray(), None
    if layout.plane is not None:
        distances = image_distances(layout.plane, system.levels, frequency)
        dense, images = dense - dense_inductances(system, distances), image_coupling(system, distances)
    metal = metal_impedances(layout, square_matrices(basis), frequency).toarray()
    metal = metal + basis.vias.T @ (via_impedances(layout, frequency)[:, None] * basis.vias)
    return inductance_operator(system, images), dense, metal, frequency, len(basis.loops)


def dense_impedance(dense, metal, frequency, loops):
    governing = dense if math.isinf(frequency) else metal + 2j * math.pi * frequency * dense
    free = len(governing) - loops
    currents = np.vstack([-np.linalg.solve(governing[:free, :free], governing[:free, free:]), np.eye(loops)])
    return currents.T @ governing @ currents


def test_inductance_and_resistance_are_those_of_the_dense_matrix(both):
    operator, dense, metal, frequency, loops = both
    acting = Impedances(metal=csr_matrix(metal), inductances=operator, frequency=frequency)
    currents = driven_currents(acting, loops)
    found = currents.T @ np.column_stack([acting.times(column) for column in currents.T.copy()])
    expected = dense_impedance(dense, metal, frequency, loops)
    if math.isinf(frequency):
        assert found.real == pytest.approx(expected, rel=3e-5, abs=0)
    else:
        assert found.imag == pytest.approx(expected.imag, rel=3e-5, abs=0)
        assert found.real == pytest.approx(expected.real, rel=1e-4, abs=0)


def test_the_operator_is_symmetric(both):
    operator = both[0]
    one, other = np.random.default_rng(3).standard_normal((2, operator.near.shape[0]))
    assert one @ operator.times(other) == pytest.approx(other @ operator.times(one), rel=1e-4, abs=0)


def test_complex_currents_are_two_real_ones(both):
    operator = both[0]
    one, other = np.random.default_rng(4).standard_normal((2, operator.near.shape[0]))
    together = operator.times(one + 1j * other)
    apart = operator.times(one) + 1j * operator.times(other)
    assert np.linalg.norm(together - apart) < 1e-5 * np.linalg.norm(apart)
