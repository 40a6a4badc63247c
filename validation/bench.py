"""Time against accuracy, beside a general-purpose finite-element library solving the same problem in the same run.

Run it with ``make bench``; it prints the tables of docs/benchmarks.md. Whole time means from the described section to
the number, mesh included, on one thread. Every case is solved by both sides in turn, five times after one warming-up
round; the medians of wall and processor time are printed, and the ratio is that of the processor times of each round,
with its smallest and largest value. The program's own times follow (bench_program.py); all takes about half an hour.

Both sides are set to reach a relative error of 1e-5 in the inductance in as little time as was found by trying; NGSolve
(https://ngsolve.org) once with elements of order 4 and once with the order that is quickest for the case. Its meshes
are refined geometrically towards the corners, and towards the faces where current crowds in a skin.
"""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import chain
from statistics import median

import ngsolve
import numpy as np
from bench_plan import plan_lines
from bench_program import ROUNDS, program_lines, spread
from netgen.geom2d import SplineGeometry
from threadpoolctl import threadpool_limits

from geometries import MM, Circle, CrossSection, Rectangle, Region, Ring
from solver import (
    MeshSettings,
    assemble_section,
    mesh_section,
    solve_at_dc,
    solve_at_frequency,
    solve_perfect_conductor,
)
from solver.constants import MU_0
from solver.formulas import coax_impedance
from solver.section.bounds import bracket_dc, bracket_perfect
from solver.section.fields import SectionSystem
from solver.section.linear_solver import solve_on

COPPER = 5.8e7


@dataclass(frozen=True, slots=True, kw_only=True)
class Ours:
    """How we solve a case: order, mesh, and whether the middle of the bracket is taken for the value."""

    order: int
    mesh: MeshSettings
    bracketed: bool = False

    def __str__(self) -> str:
        parts = [f"order {self.order}", f"growth {self.mesh.growth:g}", f"corners {self.mesh.corner_fraction:g}"]
        return ", ".join([*parts, *(["middle of bracket"] if self.bracketed else [])])


@dataclass(frozen=True, slots=True, kw_only=True)
class Theirs:
    """How NGSolve solves it: order, mesh grading, geometric refinement towards corners (and faces), largest element."""

    order: int
    grading: float
    levels: int = 0
    factor: float = 0.125
    faces: bool = False
    largest: float = 1e9

    def __str__(self) -> str:
        return f"NGSolve, order {self.order}, grading {self.grading:g}, {self.levels} refinements"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A section, its exact inductance and where that comes from."""

    name: str
    section: CrossSection
    frequency: float
    reference: float
    source: str
    ours: tuple[Ours, ...]
    theirs: tuple[Theirs, ...]


def _strip(name: str, left: float, right: float, bottom: float, top: float, role: str) -> Region:
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role=role)


def _wire(name: str, x: float, role: str) -> Region:
    return Region(name=name, outline=Circle(centre=(x * MM, 0.0), radius=0.5 * MM), role=role)


def _section(*regions: Region) -> CrossSection:
    return CrossSection(name="fixture", regions=regions)


STRIP = Case(
    name="strip 1 mm × 35 µm, 0.2 mm above a plane 20 mm × 35 µm, perfect conductors",
    section=_section(_strip("strip", -0.5, 0.5, 0.2, 0.235, "go"), _strip("plane", -10, 10, -0.035, 0, "return")),
    frequency=math.inf,
    reference=159.73176e-9,
    source="our own bracket, 159.731756 to 159.731762 nH/m",
    ours=(
        Ours(order=3, mesh=MeshSettings(growth=0.5, corner_fraction=0.01)),
        Ours(order=4, mesh=MeshSettings(growth=1.0, corner_fraction=0.003, layer_growth=1.0)),
        Ours(order=3, mesh=MeshSettings(growth=1.0, corner_fraction=0.03, layer_growth=1.0), bracketed=True),
        Ours(order=4, mesh=MeshSettings(growth=0.8, corner_fraction=0.01), bracketed=True),
    ),
    theirs=(
        Theirs(order=4, grading=0.3, levels=2),
        Theirs(order=5, grading=0.5, levels=2),
    ),
)
WIRES = Case(
    name="two wires of radius 0.5 mm, 1.5 mm apart, perfect conductors",
    section=_section(_wire("a", 0.0, "go"), _wire("b", 1.5, "return")),
    frequency=math.inf,
    reference=MU_0 / math.pi * math.acosh(1.5),
    source="exact: μ0/π · arcosh 1.5",
    ours=(
        Ours(order=3, mesh=MeshSettings(growth=0.5, corner_fraction=0.3, layer_growth=1.5)),
        Ours(order=4, mesh=MeshSettings(growth=0.7, corner_fraction=0.3, layer_growth=1.5)),
    ),
    theirs=(Theirs(order=4, grading=0.5), Theirs(order=5, grading=0.5)),
)
COAX = Case(
    name="coaxial line, radii 0.5, 1.75 and 2 mm, copper, 1 MHz",
    section=_section(
        _wire("core", 0.0, "go"),
        Region(name="shell", outline=Ring(centre=(0, 0), inner_radius=1.75 * MM, outer_radius=2 * MM), role="return"),
    ),
    frequency=1e6,
    reference=coax_impedance(1e6, 0.5 * MM, 1.75 * MM, 2 * MM, COPPER).imag / (2e6 * math.pi),
    source="exact: Schelkunoff 1934",
    ours=(
        Ours(order=3, mesh=MeshSettings(growth=0.8, corner_fraction=0.2, layers_per_skin_depth=0.6)),
        Ours(order=4, mesh=MeshSettings(growth=1.0, corner_fraction=0.3, layers_per_skin_depth=0.4)),
    ),
    theirs=(Theirs(order=4, grading=0.7, largest=0.1), Theirs(order=5, grading=0.7)),
)
PAIR = Case(
    name="two strips 3 mm × 35 µm side by side, 0.2 mm above a floating plane, copper, 100 MHz",
    section=_section(
        _strip("go", -3.5, -0.5, 0, 0.035, "go"),
        _strip("return", 0.5, 3.5, 0, 0.035, "return"),
        _strip("plane", -8, 8, -0.235, -0.2, "floating"),
    ),
    frequency=1e8,
    reference=137.13370e-9,
    source="our own finest value, 217,537 unknowns of order 4; NGSolve's finest agrees to 2e-8",
    ours=(
        Ours(order=3, mesh=MeshSettings()),
        Ours(order=4, mesh=MeshSettings(growth=0.8, corner_fraction=0.1, layers_per_skin_depth=0.6)),
    ),
    theirs=(Theirs(order=4, grading=0.5, levels=2, factor=0.25, faces=True),),
)
CASES = (STRIP, WIRES, COAX, PAIR)


def solve_ours(case: Case, how: Ours) -> tuple[float, int]:
    """Inductance per length [H/m] and number of unknowns."""
    highest = 0.0 if math.isinf(case.frequency) else case.frequency
    system = assemble_section(mesh_section(case.section, highest_frequency=highest, settings=how.mesh), order=how.order)
    if math.isfinite(case.frequency):
        return float(solve_at_frequency(system, case.frequency).inductance_per_length[0, 0]), int(system.basis.N)
    perfect = solve_perfect_conductor(system)
    if how.bracketed:
        return float(bracket_perfect(perfect).bracket.middle[0, 0]), int(system.basis.N)
    return float(perfect.inductance_per_length[0, 0]), int(system.basis.N)


def solve_theirs(case: Case, how: Theirs) -> tuple[float, int]:
    """Inductance per length [H/m] and number of unknowns, by NGSolve."""
    perfect = math.isinf(case.frequency)
    mesh = _their_mesh(case, how, hollow=perfect)
    if perfect:
        return _their_perfect(case, how, mesh)
    return _their_eddy(case, how, mesh)


def _their_mesh(case: Case, how: Theirs, *, hollow: bool) -> ngsolve.Mesh:
    """Lengths in millimetres; the air is domain 1, the conductors follow or are left out."""
    geometry = SplineGeometry()
    left, bottom, right, top = (length / MM for length in case.section.extent)
    radius = MeshSettings().far_radius * max(right - left, top - bottom)
    geometry.AddCircle(((left + right) / 2, (bottom + top) / 2), radius, bc="far", leftdomain=1, rightdomain=0)
    geometry.SetMaterial(1, "air")
    for number, region in enumerate(case.section.regions, start=2):
        domain = 0 if hollow else number
        if not hollow:
            geometry.SetMaterial(number, region.name)
        _draw(geometry, region, domain, how)
    mesh = ngsolve.Mesh(geometry.GenerateMesh(maxh=radius / 4, grading=how.grading))
    if how.levels:
        mesh.RefineHP(how.levels, how.factor)
    mesh.Curve(how.order)
    return mesh


def _draw(geometry: SplineGeometry, region: Region, domain: int, how: Theirs) -> None:
    outline, sides = region.outline, {"bc": region.name, "maxh": how.largest}
    if isinstance(outline, Rectangle):
        corners = [geometry.AppendPoint(x / MM, y / MM, hpref=1) for x, y in outline.vertices]
        for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
            geometry.Append(["line", start, end], leftdomain=domain, rightdomain=1, hpref=how.faces, **sides)
        return
    centre = tuple(length / MM for length in outline.centre)
    outer = outline.radius if isinstance(outline, Circle) else outline.outer_radius
    geometry.AddCircle(centre, outer / MM, leftdomain=domain, rightdomain=1, **sides)
    if isinstance(outline, Ring):
        geometry.AddCircle(centre, outline.inner_radius / MM, leftdomain=1, rightdomain=domain, **sides)


def _their_perfect(case: Case, how: Theirs, mesh: ngsolve.Mesh) -> tuple[float, int]:
    names = [region.name for region in case.section.regions]
    fixed = "|".join([*names, "far"])
    space = ngsolve.H1(mesh, order=how.order, dirichlet=fixed)
    u, v = space.TnT()
    energy = ngsolve.BilinearForm(space, symmetric=True)
    energy += ngsolve.grad(u) * ngsolve.grad(v) * ngsolve.dx
    energy.Assemble()
    inverse = energy.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
    fields = []
    for name in names:
        field = ngsolve.GridFunction(space)
        field.Set(mesh.BoundaryCF({name: 1}, 0), definedon=mesh.Boundaries(fixed))
        force = field.vec.CreateVector()
        force.data = energy.mat * field.vec
        field.vec.data -= inverse * force
        fields.append(field.vec)
    pairs = np.array([[ngsolve.InnerProduct(energy.mat * a, b) for b in fields] for a in fields])
    currents = _currents(case)
    return float(MU_0 * currents @ np.linalg.solve(pairs, currents)), space.ndof


def _their_eddy(case: Case, how: Theirs, mesh: ngsolve.Mesh) -> tuple[float, int]:
    names, s = [region.name for region in case.section.regions], 2j * math.pi * case.frequency
    space = ngsolve.H1(mesh, order=how.order, dirichlet="far", complex=True)
    u, v = space.TnT()
    sigma = mesh.MaterialCF(dict.fromkeys(names, COPPER * MM**2), 0)
    system = ngsolve.BilinearForm(space, symmetric=True)
    system += 1 / MU_0 * ngsolve.grad(u) * ngsolve.grad(v) * ngsolve.dx
    system += s * sigma * u * v * ngsolve.dx("|".join(names))
    system.Assemble()
    inverse = system.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
    driven, answers, conductance = [], [], []
    for name in names:
        drive = ngsolve.LinearForm(space)
        drive += sigma * v * ngsolve.dx(name)
        drive.Assemble()
        answer = drive.vec.CreateVector()
        answer.data = inverse * drive.vec
        driven.append(drive.vec.FV().NumPy().copy())
        answers.append(answer.FV().NumPy().copy())
        area = ngsolve.Integrate(sigma, mesh, definedon=mesh.Materials(name), order=2 * how.order)
        conductance.append(area.real)
    admittance = np.diag(conductance) - s * np.array(driven) @ np.array(answers).T
    currents = _currents(case)
    impedance = currents @ np.linalg.solve(admittance, currents)
    return float(impedance.imag / s.imag), space.ndof


def _currents(case: Case) -> np.ndarray:
    """Current of each region per ampere of the loop; no two regions are bonded here."""
    return np.array([{"go": 1.0, "return": -1.0}.get(region.role.value, 0.0) for region in case.section.regions])


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """What one way of solving gave and took."""

    value: float
    unknowns: int
    wall: tuple[float, ...]
    processor: tuple[float, ...]


def measure(ways: list[Callable[[], tuple[float, int]]]) -> list[Timing]:
    """Time all ways in turn, round by round, so that a drift of the machine's speed meets them all."""
    clocks: list[list[tuple[float, float]]] = [[] for _ in ways]
    for way in ways:
        way()
    for _ in range(ROUNDS):
        for way, clock in zip(ways, clocks, strict=True):
            wall, processor = time.perf_counter(), time.process_time()
            way()
            clock.append((time.perf_counter() - wall, time.process_time() - processor))
    found = [way() for way in ways]
    return [
        Timing(value=value, unknowns=unknowns, wall=tuple(w for w, _ in clock), processor=tuple(p for _, p in clock))
        for (value, unknowns), clock in zip(found, clocks, strict=True)
    ]


def compare(case: Case) -> None:
    """Print one case as a table: ours first, then NGSolve's; the ratios are ours over NGSolve's quickest."""
    ways: list[Callable[[], tuple[float, int]]] = [lambda how=how: solve_ours(case, how) for how in case.ours]
    ways += [lambda how=how: solve_theirs(case, how) for how in case.theirs]
    timings = measure(ways)
    theirs = timings[len(case.ours) :]
    order_four, quickest = theirs[0], min(theirs, key=lambda each: median(each.processor))
    print(f"\n### {case.name}\n\nReference {case.reference * 1e9:.5f} nH/m ({case.source}).\n")
    print("| solved by | unknowns | wall ms | processor ms | relative error | ratio, order 4 | ratio, quickest |")
    print("|---|---:|---:|---:|---:|---:|---:|")
    for label, each in zip([*map(str, case.ours), *map(str, case.theirs)], timings, strict=True):
        cells = [
            label,
            f"{each.unknowns}",
            f"{1e3 * median(each.wall):.0f}",
            f"{1e3 * median(each.processor):.0f}",
            f"{each.value / case.reference - 1:+.1e}",
            *(_ratio(each, other) for other in (order_four, quickest)),
        ]
        print("| " + " | ".join(cells) + " |")


def _ratio(ours: Timing, theirs: Timing) -> str:
    return spread([a / b for a, b in zip(ours.processor, theirs.processor, strict=True)])


def stages(case: Case, settings: list[Ours]) -> None:
    """Print where the time goes, and the certified gaps that each mesh reaches."""
    print(f"\n### Where the time goes: {case.name}\n")
    print("Processor time in ms; the floor is one factorisation and solution of the perfect-conductor problem.\n")
    print("| settings | unknowns | mesh | assemble | floor | perfect | its bounds | DC | its bounds | gap | DC gap |")
    print("|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|")
    for how in settings:
        rows = [_stages(case, how) for _ in range(ROUNDS + 1)][1:]
        times = [f"{1e3 * median(column):.0f}" for column in zip(*(row[1] for row in rows), strict=True)]
        unknowns, _, gaps = rows[0]
        print(f"| {how} | {unknowns} | " + " | ".join([*times, *(f"{gap:.1e}" for gap in gaps)]) + " |")


def _stages(case: Case, how: Ours) -> tuple[int, list[float], tuple[float, float]]:
    clock = [time.process_time()]
    meshed = mesh_section(case.section, highest_frequency=0, settings=how.mesh)
    clock.append(time.process_time())
    system = assemble_section(meshed, order=how.order)
    clock.append(time.process_time())
    _floor(system)
    clock.append(time.process_time())
    perfect = solve_perfect_conductor(system)
    clock.append(time.process_time())
    ideal = bracket_perfect(perfect).bracket
    clock.append(time.process_time())
    static = solve_at_dc(system)
    clock.append(time.process_time())
    direct = bracket_dc(static).bracket
    clock.append(time.process_time())
    return int(system.basis.N), list(np.diff(clock)), (ideal.relative_gap, direct.relative_gap)


def _floor(system: SectionSystem) -> None:
    """One factorisation with one right-hand side on the unknowns outside the conductors."""
    inside = np.concatenate([system.unknowns(region.name) for region in system.meshed.section.regions])
    outside = np.setdiff1d(system.free, inside)
    solve_on(system.reluctance, system.reluctance @ np.ones(system.basis.N) + 1.0, outside, inner=system.inner)


SETTINGS = [
    Ours(order=order, mesh=MeshSettings(growth=growth, corner_fraction=corner, layer_growth=max(0.8, growth)))
    for order, growth, corner in (
        (3, 1.0, 0.1),
        (4, 1.0, 0.3),
        (3, 1.0, 0.03),
        (3, 0.65, 0.03),
        (4, 1.0, 0.03),
        (4, 1.0, 0.003),
        (3, 0.5, 0.01),
        (4, 0.8, 0.01),
        (3, 0.3, 0.001),
        (4, 0.65, 0.001),
        (4, 0.5, 0.003),
    )
]


def main() -> None:
    """Print every table."""
    with threadpool_limits(limits=1):
        for case in CASES:
            compare(case)
        stages(STRIP, SETTINGS)
        for line in chain(plan_lines(), program_lines()):
            print(line, flush=True)


if __name__ == "__main__":
    main()
