"""The plan view's time and memory as it grows, with what no solution of the kind can do without: called by bench.py.

Every row is one mesh of one layout of invented copper, on one thread: the mesh, the sums over near pairs (with the
first operator), one product of the operator with a vector, and the whole solution at two frequencies. The first layout
is a power loop of 266 mm² 0.1 mm over a plane of copper, the others its copper between three more pours.
"""

import resource
import time
from collections.abc import Iterator

import numpy as np

from geometries import MM
from geometries.board.materials import COPPER
from geometries.layout.layout import CopperSheet, MirrorPlane, PadTerminal, PlanLayout, Port
from geometries.section.outline import Polygon, Rectangle
from solver.plan import PlanMeshSettings, plan_estimate, solve_plan_over
from solver.plan.basis import plan_basis
from solver.plan.meshing import mesh_layout
from solver.plan.operator import inductance_operator, plan_inductances

FREQUENCIES = (1e7, 1e8)
HEIGHTS = (0.2, 1.4, 1.5)


def wavy(left: float, bottom: float, right: float, top: float, waves: int) -> Polygon:
    """A rectangle whose long edges are cut by waves, as pours are by clearances [mm]."""
    x = np.linspace(left, right, 6 * waves + 1)
    dip = 0.25 * (1 - np.cos(2 * np.pi * waves * (x - left) / (right - left)))
    points = [*zip(x, bottom + dip, strict=True), *zip(x[::-1], top - dip[::-1], strict=True)]
    return Polygon(vertices=tuple((float(a) * MM, float(b) * MM) for a, b in points))


def power_loop(pours: int = 0) -> PlanLayout:
    """Input, switch node and ground of a converter side by side: 266 mm²; a capacitor and two switches close it."""
    spans = {"input": (0.0, 8.0), "node": (8.3, 14.3), "ground": (14.6, 20.6)}
    sheets = tuple(
        CopperSheet(name=name, outline=wavy(0.0, low, 14.4, high, 4), height=0.1 * MM)
        for name, (low, high) in spans.items()
    )
    places = {
        "high side": ("input", "node", 4.0),
        "low side": ("node", "ground", 6.0),
        "capacitor": ("ground", "input", 11.0),
    }
    ports = tuple(
        Port(name=name, entry=_land(entry, x, spans, 1.5), leave=_land(leave, x, spans, -1.5))
        for name, (leave, entry, x) in places.items()
    )
    more = tuple(
        CopperSheet(
            name=f"pour {z:g}", outline=Rectangle(left=-MM, bottom=-MM, right=15.4 * MM, top=21.6 * MM), height=z * MM
        )
        for z in HEIGHTS[:pours]
    )
    plane = MirrorPlane(height=0.0, material=COPPER, thickness=35e-6)
    return PlanLayout(name="power loop", sheets=(*sheets, *more), ports=ports, plane=plane)


def _land(sheet: str, x: float, spans: dict[str, tuple[float, float]], offset: float) -> PadTerminal:
    y = sum(spans[sheet]) / 2 + offset
    box = Rectangle(left=(x - 0.6) * MM, bottom=(y - 0.4) * MM, right=(x + 0.6) * MM, top=(y + 0.4) * MM)
    return PadTerminal(sheet=sheet, outline=box)


def plan_lines() -> Iterator[str]:
    """Lines of the table, row by row as they are measured."""
    usual = PlanMeshSettings()
    yield "\n### The plan view as it grows\n\nProcessor seconds; the peak of memory is that of the run so far.\n"
    yield "| layout | unknowns | mesh | sums | a product | both meshes, two frequencies | foreseen GB | peak GB | nH |"
    yield "|---|---:|---:|---:|---:|---:|---:|---:|---:|"
    for name, layout, settings in (
        ("power loop, coarser", power_loop(), usual.coarser()),
        ("power loop", power_loop(), usual),
        ("between three pours", power_loop(len(HEIGHTS)), usual),
    ):
        yield f"| {name} | {_row(layout, settings)} |"


def _row(layout: PlanLayout, settings: PlanMeshSettings) -> str:
    clock = [time.process_time()]
    basis = plan_basis(layout, mesh_layout(layout, settings))
    clock.append(time.process_time())
    operator = inductance_operator(plan_inductances(layout, basis), None)
    clock.append(time.process_time())
    operator.times(np.ones(basis.size, dtype=complex))
    clock.append(time.process_time())
    solved = solve_plan_over(layout, FREQUENCIES, settings)[-1]
    clock.append(time.process_time())
    memory = plan_estimate(layout, len(FREQUENCIES), settings).memory / 1e9
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    times = " | ".join(f"{each:.2f}" for each in np.diff(clock))
    return f"{basis.size} | {times} | {memory:.2f} | {peak:.2f} | {solved.loop_inductance * 1e9:.4f}"
