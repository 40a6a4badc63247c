"""Numbers read off a field: current shares, field strength, potential, line moment, plane inductance, energy."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from geometries.section.section import Region, View
from solver.constants import MU_0
from solver.section.coordinates import field_sense, flux_weight, off_axis, point_weight
from solver.section.element_size import Points
from solver.section.elements import TriangleBasis
from solver.section.fields import FieldSolution, SectionSystem
from solver.section.results import FieldMap, PotentialMap

_SUBDIVISIONS = {2: 3, 3: 3, 4: 6}
"""Of a triangle's edge for drawings, by the order of its elements: those of fourth order are larger."""

_NEWTON_STEPS = 4
"""From the straight triangle's coordinates, off by a hundredth; every step squares that."""

_PARTS_OF_AN_EDGE = 8
_MOST_PARTS = 16
"""Of a triangle's edge, so that a point close to copper sees what is near of it in pieces."""


def current_share(field: FieldSolution, region: str, *, loop: int = 0) -> float:
    """Return the part of the loop current that a conductor carries, with sign, in phase with the loop current.

    Parameters
    ----------
    field : FieldSolution
        The solved field.
    region : str
        Name of the conductor.
    loop : int
        Index of the loop.

    Returns
    -------
    float
        Real part of the conductor's current per ampere [1]; -0.78 means 78 % of the return.

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, current_share, mesh_section, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> round(current_share(field, "return"), 6)
    -1.0
    """
    names = [each.name for each in field.system.meshed.section.regions]
    return float(field.region_currents[names.index(region), loop].real)


def vector_potential(field: FieldSolution, points: Points, *, loop: int = 0) -> NDArray[np.complex128]:
    """Vector potential per ampere [Wb/m/A] at points (n, 2) -> (n,): A_z, or A_phi in the axisymmetric view.

    Parameters
    ----------
    field : FieldSolution
        The solved field.
    points : (n, 2) array
        Where [m], inside the far circle.
    loop : int
        Index of the loop.

    Returns
    -------
    (n,) complex array
        A_z, or A_phi in the axisymmetric view [Wb/m/A]; zero on the far circle.

    Examples
    --------
    >>> import numpy as np
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, mesh_section, solve_at_frequency, vector_potential
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> middle_of_go, middle_of_gap = vector_potential(field, np.array([[-2e-3, 0.0], [0.0, 0.0]])).real
    >>> bool(middle_of_go > 100 * abs(middle_of_gap))
    True
    """
    values, _ = _evaluate(field.system.basis, field.potential[:, loop], points)
    return np.asarray(point_weight(field.system.view, points, field.system.meshed.section.size) * values)


def field_strength(field: FieldSolution, points: Points, *, loop: int = 0) -> NDArray[np.complex128]:
    """Field strength H per ampere.

    Parameters
    ----------
    field, points, loop : FieldSolution, (n, 2) array, int
        As for :func:`vector_potential`.

    Returns
    -------
    (n, 2) complex array
        H_x and H_y [A/m per A], peak phasors: H = (dA/dy, -dA/dx) / mu_0. In the axisymmetric view H_r and H_z,
        H = (-dPhi/dz, dPhi/dr) / (2 pi r mu_0).

    Examples
    --------
    >>> import numpy as np
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, field_strength, mesh_section, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> across, up = abs(field_strength(field, np.array([[0.0, 3e-3]]))[0])
    >>> f"{across:.1f} and {up:.1f} A/m per A, 3 mm above the middle of the gap"
    '0.0 and 38.7 A/m per A, 3 mm above the middle of the gap'
    """
    view, size = field.system.view, field.system.meshed.section.size
    _, gradient = _evaluate(field.system.basis, field.potential[:, loop], off_axis(view, points, size))
    factor = field_sense(view) * point_weight(view, points, size) / MU_0
    return np.asarray(factor[:, None] * np.column_stack([gradient[:, 1], -gradient[:, 0]]))


def axis_field(field: FieldSolution, heights: NDArray[np.float64], *, loop: int = 0) -> NDArray[np.complex128]:
    """Field strength along the axis of an axisymmetric section, summed over its currents.

    A circle of current I and radius r has the field I r²/(2 (r² + z²)^1.5) on its axis. The sum takes the density as a
    whole, and is far more exact than the slope of the flux in the large triangles at the axis.

    Parameters
    ----------
    field : FieldSolution
        In the axisymmetric view, at a finite frequency.
    heights : (n,) array
        Positions on the axis [m].
    loop : int
        Index of the loop.

    Returns
    -------
    (n,) complex array
        H_z per ampere [A/m per A].
    """

    def circles(r: NDArray[np.float64], z: NDArray[np.float64], height: float) -> NDArray[np.float64]:
        return np.asarray(r**2 / (2 * (r**2 + (z - height) ** 2) ** 1.5))

    parts = list(_current_elements(field, loop, field.system.meshed.section.regions))
    return np.array([sum((circles(r, z, height) * current).sum() for r, z, current in parts) for height in heights])


def field_from_currents(field: FieldSolution, points: Points, *, loop: int = 0) -> NDArray[np.complex128]:
    """Field strength H per ampere outside the conductors of a section view, summed over its currents.

    A straight current I at z' has H_y + j H_x = I/(2 pi (z - z')) at z = x + j y. The sum knows no far circle, and does
    not depend on the triangles between the conductors and the points.

    Parameters
    ----------
    field : FieldSolution
        At a finite frequency, in the section view.
    points : (n, 2) array
        Where [m], outside all conductors.
    loop : int
        Index of the loop.

    Returns
    -------
    (n, 2) complex array
        H_x and H_y [A/m per A], peak phasors.
    """
    sources, currents = line_currents(field, points, field.system.meshed.section.regions, loop=loop)
    across = np.column_stack([currents.real, currents.imag]) / (2 * math.pi)
    # in real numbers, ten times as quick as 1/(z - z')
    parts = [_inverse_distances(part, sources, across) for part in np.array_split(points, len(points) // 32 + 1)]
    upright, along = (np.concatenate(each) for each in zip(*parts, strict=True))
    return np.column_stack([-along[:, 0] - 1j * along[:, 1], upright[:, 0] + 1j * upright[:, 1]])


def _inverse_distances(
    points: Points, sources: NDArray[np.complex128], across: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sums of (x - x')/r² and of (y - y')/r² at points, weighted with columns (sources, 2)."""
    x, y = points[:, :1] - sources.real, points[:, 1:] - sources.imag
    squares = x * x
    squares += y * y
    x /= squares
    y /= squares
    return x @ across, y @ across


def line_currents(
    field: FieldSolution, points: NDArray[np.float64], regions: Iterable[Region], *, loop: int = 0
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """Places x + j y (n,) [m] and currents per ampere (n,) that stand for those of regions at points outside them."""
    chosen = list(regions)
    clearance = min(float(shapely.distance(each.outline.shape, shapely.points(points)).min()) for each in chosen)
    elements = list(_current_elements(field, loop, chosen, clearance))
    sources = np.concatenate([(x + 1j * y).ravel() for x, y, _ in elements])
    return sources, np.concatenate([current.ravel() for *_, current in elements])


def field_magnitude(field: FieldSolution, points: Points, *, loop: int = 0) -> NDArray[np.float64]:
    """Root of |H_x|² + |H_y|² per ampere [A/m per A] at points (n, 2) -> (n,); peak phasors.

    Parameters
    ----------
    field, points, loop : FieldSolution, (n, 2) array, int
        As for :func:`field_strength`.

    Returns
    -------
    (n,) array
        Peak phasors [A/m per A].

    Examples
    --------
    >>> import numpy as np
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, field_magnitude, mesh_section, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> f"{field_magnitude(field, np.array([[0.0, 3e-3]]))[0]:.1f} A/m per A, 3 mm above the middle of the gap"
    '38.7 A/m per A, 3 mm above the middle of the gap'
    """
    return np.asarray(np.linalg.norm(field_strength(field, points, loop=loop), axis=1))


def current_density(field: FieldSolution, region: str, points: Points, *, loop: int = 0) -> NDArray[np.complex128]:
    """Current density J = sigma (g - j omega A) per ampere [A/m² per A] at points inside one conductor, (n,).

    In the axisymmetric view J = sigma (V/(2 pi r) - j omega A_phi).

    Parameters
    ----------
    field, region, loop : FieldSolution, str, int
        As for :func:`current_share`.
    points : (n, 2) array
        Where [m], inside that conductor.

    Returns
    -------
    (n,) complex array
        [A/m² per A].

    Raises
    ------
    ValueError
        In the perfect-conductor limit, where the current flows in the surface.

    Examples
    --------
    >>> import numpy as np
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, current_density, mesh_section, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> far, near = abs(current_density(field, "go", np.array([[-3.4e-3, 0.0], [-0.6e-3, 0.0]])))
    >>> bool(near > far)  # the current crowds towards the gap
    True
    """
    if math.isinf(field.frequency):
        raise ValueError("in the perfect-conductor limit the current is a surface current; no density exists")
    section = field.system.meshed.section
    driven = point_weight(section.view, points, section.size) * field.voltage(region, loop=loop)
    induced = 2j * math.pi * field.frequency * vector_potential(field, points, loop=loop)
    return np.asarray(section.region(region).material.conductivity * (driven - induced))


def sheet_current(
    field: FieldSolution, region: str, x: NDArray[np.float64], *, loop: int = 0, samples: int = 60
) -> NDArray[np.complex128]:
    """Current per width K(x) of a horizontal sheet: its density summed over the thickness [A/m per A], (n,).

    Gauss points are stacked on both faces, so that a current within a skin depth of either is resolved.

    Parameters
    ----------
    field : FieldSolution
        The solved field.
    region : str
        Name of the sheet, a rectangle.
    x : (n,) array
        Where across it [m].
    loop : int
        Index of the loop.
    samples : int
        Gauss points over the thickness.

    Returns
    -------
    (n,) complex array
        [A/m per A].

    Examples
    --------
    >>> import numpy as np
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, mesh_section, sheet_current, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> far, near = abs(sheet_current(field, "go", np.array([-3.4e-3, -0.6e-3])))
    >>> bool(near > far > 0)
    True
    """
    _, bottom, _, top = field.system.meshed.section.region(region).outline.bounds
    nodes, weights = np.polynomial.legendre.leggauss(samples // 2)
    t = np.concatenate([(nodes + 1) ** 2 / 8, 1 - (nodes + 1) ** 2 / 8])
    w = np.tile(weights * (nodes + 1) / 4, 2)
    y = bottom + t * (top - bottom)
    grid = np.column_stack([np.repeat(x, len(y)), np.tile(y, len(x))])
    density = current_density(field, region, grid, loop=loop).reshape(len(x), len(y))
    return np.asarray(density @ w * (top - bottom))


def line_moment(field: FieldSolution, *, loop: int = 0, left_out: Collection[str] = ()) -> tuple[complex, complex]:
    """Magnetic moment per length, (integral of y J, minus integral of x J) dS, of all currents per ampere [m].

    A pair +I at x1 and -I at x2 has the moment (0, I (x2 - x1)): current times distance.

    Parameters
    ----------
    field : FieldSolution
        The solved field.
    loop : int
        Index of the loop.
    left_out : collection of str
        Regions whose currents do not count; what is left should sum to zero, or the moment depends on the origin.

    Returns
    -------
    tuple of complex
        Integral of y J and minus integral of x J [m].

    Raises
    ------
    ValueError
        In the perfect-conductor limit, where the current has no density (use a high finite frequency), and in the round
        view (use :func:`axial_moment`).

    Examples
    --------
    >>> from geometries import SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, line_moment, mesh_section, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop)
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> f"{abs(line_moment(field)[1]) * 1e3:.2f} mm"  # less than 4 mm, the distance of the middles
    '3.38 mm'
    """
    if field.system.view is not View.SECTION:
        raise ValueError("a line moment belongs to the section view; axial_moment is that of an axisymmetric loop")
    counted = [each for each in field.system.meshed.section.regions if each.name not in left_out]
    upright, lying = _summed_currents(field, (lambda x, y: y, lambda x, y: -x), loop, counted)
    return upright, lying


def moment_magnitude(field: FieldSolution, *, loop: int = 0) -> float:
    """Magnitude of the magnetic moment per ampere: per length [m], or of a whole turn in the axisymmetric view [m²]."""
    if field.system.view is View.AXISYMMETRIC:
        return abs(axial_moment(field, loop=loop))
    return float(np.linalg.norm(line_moment(field, loop=loop)))


def axial_moment(field: FieldSolution, *, loop: int = 0) -> complex:
    """Magnetic moment along the axis of all currents per ampere, pi times the integral of r² J [m²].

    It is the loop's own area less what the currents in discs and rings oppose to it.

    Parameters
    ----------
    field, loop : FieldSolution, int
        As for :func:`line_moment`.

    Returns
    -------
    complex
        [m²].

    Raises
    ------
    ValueError
        In the perfect-conductor limit and in the section view.

    Examples
    --------
    >>> import math
    >>> from geometries import RingLoop, named_stackup, ring_section
    >>> from solver import assemble_section, axial_moment, mesh_section, solve_at_frequency
    >>> ring = RingLoop(radius=6e-3, width=0.2e-3)
    >>> section = ring_section("ring", named_stackup("2L-1.6"), ring)
    >>> field = solve_at_frequency(assemble_section(mesh_section(section, highest_frequency=1e6)), 1e6)
    >>> f"{axial_moment(field).real / (math.pi * 6e-3**2):.2f} of the area of its middle line"
    '1.00 of the area of its middle line'
    """
    if field.system.view is not View.AXISYMMETRIC:
        raise ValueError("an axial moment belongs to the axisymmetric view; line_moment is that of a long loop")
    return _summed_currents(field, (lambda r, _: math.pi * r**2,), loop, field.system.meshed.section.regions)[0]


_Arm = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]]


def _summed_currents(
    field: FieldSolution, arms: Sequence[_Arm], loop: int, regions: Iterable[Region]
) -> tuple[complex, ...]:
    """Integrals of the current density of these conductors times functions of position."""
    parts = [[(arm(x, y) * current).sum() for arm in arms] for x, y, current in _current_elements(field, loop, regions)]
    return tuple(complex(each) for each in np.sum(np.reshape(parts, (-1, len(arms))), axis=0))


def _current_elements(
    field: FieldSolution, loop: int, regions: Iterable[Region], longest: float = math.inf
) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.complex128]]]:
    """Where current flows in conductors, and how much there, per ampere: arrays (e, q) [m], [m], [A/A].

    Triangles are cut into equal parts none of which is longer than `longest` [m].
    """
    if math.isinf(field.frequency):
        raise ValueError("in the perfect-conductor limit the current has no density; use a finite frequency")
    system, potential = field.system, np.array(field.potential[:, loop])
    basis, mesh = system.basis, system.meshed.mesh
    for region in regions:
        cells = system.meshed.elements(region.name)
        corners = mesh.p[:, mesh.t[:, cells]]
        edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=0).max(axis=0)
        parts = np.exp2(np.ceil(np.log2(np.clip(edges / longest, 1, _MOST_PARTS)))).astype(int)
        for count in np.unique(parts):
            rule = _cut(basis.X, basis.W, int(count))
            inside = TriangleBasis(mesh, basis.elem, elements=cells[parts == count], quadrature=rule, dofs=basis.dofs)
            weight = flux_weight(system.view, inside).reshape(inside.nelems, -1) * inside.dx
            induced = 2j * math.pi * field.frequency * np.asarray(inside.interpolate(potential))
            current = region.material.conductivity * weight * (field.voltage(region.name, loop=loop) - induced)
            x, y = np.asarray(inside.global_coordinates())
            yield x, y, current


def _cut(
    places: NDArray[np.float64], weights: NDArray[np.float64], parts: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A quadrature rule of the reference triangle, applied to each of parts² equal triangles."""
    lattice, corners = _lattice(parts)
    origin, first, second = lattice[:, corners].transpose(2, 0, 1)[..., None]
    cut = origin + (first - origin) * places[0] + (second - origin) * places[1]
    return cut.reshape(2, -1), np.tile(weights, parts**2) / parts**2


def plane_net_inductance(field: FieldSolution, region: str, *, loop: int = 0, samples: int = 101) -> float:
    """Net partial inductance of a plane per length: minus A on its underside per ampere, averaged over its width [H/m].

    It is the flux per ampere of loop current that passes beyond the plane, whose voltage drives attached cables;
    positive where the plane carries the return, near zero where it floats. The potential is referred to infinity,
    which is meaningful because the section's currents sum to zero.

    Parameters
    ----------
    field : FieldSolution
        The solved field.
    region : str
        Name of the plane.
    loop : int
        Index of the loop.
    samples : int
        Places across its width at which the potential is read.

    Returns
    -------
    float
        [H/m].

    Raises
    ------
    ValueError
        In the axisymmetric view, which has no current along a plane.

    Examples
    --------
    >>> from geometries import Plane, SameLayerLoop, cross_section, named_stackup
    >>> from solver import assemble_section, mesh_section, plane_net_inductance, solve_at_frequency
    >>> loop = SameLayerLoop(width=3e-3, return_width=3e-3, gap=1e-3, length=8e-3, layer="L1")
    >>> pair = cross_section("pair", named_stackup("2L-1.6"), loop, [Plane(layer="L2", tie="both ends", width=40e-3)])
    >>> field = solve_at_frequency(assemble_section(mesh_section(pair, highest_frequency=1e6)), 1e6)
    >>> f"{plane_net_inductance(field, 'L2') * 1e9:.0f} nH/m"
    '13 nH/m'
    """
    if field.system.view is not View.SECTION:
        raise ValueError("the net partial inductance of a plane belongs to the section view")
    nodes, weights = np.polynomial.legendre.leggauss(samples)
    return -float((_potential_beyond(field, region, nodes, loop).real @ weights) / 2)


def plane_peak_inductance(field: FieldSolution, region: str, *, loop: int = 0, samples: int = 101) -> float:
    """Largest flux per ampere and length that passes beyond a plane, anywhere along its underside [H/m].

    A floating plane's net partial inductance vanishes by symmetry, but there is a voltage along its edges.
    """
    nodes = np.linspace(-1.0, 1.0, samples)
    return float(np.abs(_potential_beyond(field, region, nodes, loop)).max())


def _potential_beyond(
    field: FieldSolution, region: str, nodes: NDArray[np.float64], loop: int
) -> NDArray[np.complex128]:
    """Vector potential on a conductor's underside at nodes from -1 to 1, (n,)."""
    left, bottom, right, _ = field.system.meshed.section.region(region).outline.bounds
    points = np.column_stack([(left + right) / 2 + nodes * (right - left) / 2, np.full(len(nodes), bottom)])
    return vector_potential(field, points, loop=loop)


def magnetic_energy(field: FieldSolution, *, loop: int = 0) -> float:
    """Peak magnetic energy per length of one loop at one ampere, half of A^H K A [J/m per A²]."""
    potential = field.potential[:, loop]
    return float((potential.conj() @ (field.system.reluctance @ potential)).real / 2)


def dissipated_power(field: FieldSolution, *, loop: int = 0) -> float:
    """Time-averaged loss per length of one loop at a peak current of one ampere, half of |J|²/sigma [W/m per A²]."""
    system, omega = field.system, 2 * math.pi * field.frequency
    potential = field.potential[:, loop]
    voltages = system.membership @ field.group_voltages[:, loop]
    driven = float((system.conductance * np.abs(voltages) ** 2).sum())
    crossed = (voltages.conj() * (1j * omega * system.drive.T @ potential)).sum()
    induced = omega**2 * (potential.conj() @ (system.eddy @ potential)).real
    return float((driven - 2 * crossed.real + induced) / 2)


def sample_field_map(field: FieldSolution, window: tuple[float, float, float, float], *, loop: int = 0) -> FieldMap:
    """Sample potential and current density on small triangles inside a window, for drawings and files.

    Parameters
    ----------
    field : FieldSolution
        Solved at a finite frequency.
    window : (left, bottom, right, top)
        Triangles with their centre in this box [m] are taken.
    loop : int
        Index of the loop.

    Returns
    -------
    FieldMap
        Every mesh triangle becomes nine, one of fourth order 36.
    """
    system = field.system
    section, mesh = system.meshed.section, system.meshed.mesh
    basis, corners = _samples(system, window)
    inside = basis.tind
    potential = np.asarray(basis.interpolate(np.array(field.potential[:, loop])))
    owner = np.full(mesh.nelements, -1)
    sigma, voltage = np.zeros(mesh.nelements), np.zeros(mesh.nelements, dtype=complex)
    for index, region in enumerate(section.regions):
        elements = system.meshed.elements(region.name)
        owner[elements] = index
        sigma[elements] = region.material.conductivity
        voltage[elements] = field.voltage(region.name, loop=loop)
    omega = 2 * math.pi * field.frequency
    points = np.asarray(basis.global_coordinates()).reshape(2, -1).T
    weight = point_weight(section.view, points, section.size).reshape(potential.shape)
    density = weight * sigma[inside, None] * (voltage[inside, None] - 1j * omega * potential)
    return FieldMap(
        points=points,
        triangles=corners,
        regions=np.repeat(owner[inside], len(corners) // basis.nelems),
        potential=potential.ravel(),
        density=density.ravel(),
    )


def sample_potential_map(
    system: SectionSystem, potential: NDArray[np.float64], window: tuple[float, float, float, float]
) -> PotentialMap:
    """Sample an electric potential, given by its coefficients (n,), on small triangles inside a window."""
    basis, corners = _samples(system, window)
    return PotentialMap(
        points=np.asarray(basis.global_coordinates()).reshape(2, -1).T,
        triangles=corners,
        potential=np.asarray(basis.interpolate(np.array(potential))).ravel(),
    )


def _samples(
    system: SectionSystem, window: tuple[float, float, float, float]
) -> tuple[TriangleBasis, NDArray[np.int64]]:
    """Points on the triangles with their centre in a box, as a basis, and the corners (m, 3) of small triangles."""
    mesh = system.meshed.mesh
    left, bottom, right, top = window
    x, y = mesh.p[:, mesh.t].mean(axis=1)
    inside = np.flatnonzero((x >= left) & (x <= right) & (y >= bottom) & (y <= top))
    lattice, corners = _lattice(_SUBDIVISIONS[system.basis.elem.maxdeg])
    rule = lattice, np.ones(lattice.shape[1])
    basis = TriangleBasis(mesh, system.basis.elem, elements=inside, quadrature=rule, dofs=system.basis.dofs)
    offsets = lattice.shape[1] * np.arange(len(inside))
    return basis, (offsets[:, None, None] + corners).reshape(-1, 3)


def _lattice(parts: int) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Points of a triangle cut into parts² equal triangles, (2, n), and the corners of those, (parts², 3)."""
    steps = [(i, j) for j in range(parts + 1) for i in range(parts + 1 - j)]
    index = {step: number for number, step in enumerate(steps)}
    corners = []
    for i, j in steps:
        if i + j < parts:
            corners.append((index[i, j], index[i + 1, j], index[i, j + 1]))
        if i + j < parts - 1:
            corners.append((index[i + 1, j], index[i + 1, j + 1], index[i, j + 1]))
    return np.array(steps, dtype=float).T / parts, np.array(corners)


def _evaluate(
    basis: TriangleBasis, coefficients: NDArray[np.complex128], points: Points
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """Value (n,) and gradient (n, 2) of a finite-element function at points (n, 2)."""
    cells = _locate(basis, points)
    local = _in_reference_triangle(basis, cells, points)
    shapes = [basis.elem.lbasis(local[..., 0], index) for index in range(basis.Nbfun)]
    own = coefficients[basis.element_dofs[:, cells]]
    values = np.einsum("in,in->n", own, [value for value, _ in shapes])
    slopes = np.einsum("in,ian->an", own, [slope for _, slope in shapes])
    return values, np.einsum("abn,an->nb", basis.mapping.invDF(local, tind=cells)[..., 0], slopes)


def _in_reference_triangle(basis: TriangleBasis, cells: NDArray[np.int64], points: Points) -> NDArray[np.float64]:
    """Where points (n, 2) of given triangles come from in the reference triangle, (2, n, 1); by Newton's method."""
    mesh, mapping = basis.mesh, basis.mapping
    origin, first, second = mesh.p[:, mesh.t[:, cells]].transpose(1, 2, 0)
    edges = np.stack([first - origin, second - origin], axis=2)
    local = np.linalg.solve(edges, (points - origin)[..., None]).swapaxes(0, 1)
    for _ in range(0 if mesh.affine else _NEWTON_STEPS):
        missed = points.T[..., None] - mapping.F(local, tind=cells)
        local = local + np.einsum("ijkl,jkl->ikl", mapping.invDF(local, tind=cells), missed)
    return np.asarray(local)


def _outlines(basis: TriangleBasis) -> NDArray[np.float64]:
    """Nodes round every triangle, (e, k, 2); on curved edges as many as tell their sides apart."""
    mesh = basis.mesh
    if mesh.affine:
        return np.asarray(mesh.p[:, mesh.t].transpose(2, 1, 0))
    t = np.linspace(0, 1, _PARTS_OF_AN_EDGE, endpoint=False)
    around = np.hstack([[t, 0 * t], [1 - t, t], [0 * t, 1 - t]])
    return np.asarray(basis.mapping.F(around).transpose(1, 2, 0))


@lru_cache(maxsize=1)
def _triangles(basis: TriangleBasis) -> STRtree:
    """All triangles by their place; kept, since many lines and frequencies are read on one mesh after the other."""
    return STRtree(np.asarray(shapely.polygons(_outlines(basis))))


def _locate(basis: TriangleBasis, points: Points) -> NDArray[np.int64]:
    """Triangle that holds each point, the nearest one for points that rounding puts outside all of them."""
    triangles = _triangles(basis)
    places = shapely.points(points)
    which, cell = triangles.query(places, predicate="intersects")
    cells = np.full(len(points), -1)
    cells[which[::-1]] = cell[::-1]
    lost = cells < 0
    if lost.any():
        cells[lost] = triangles.nearest(np.asarray(places)[lost])
    return cells
