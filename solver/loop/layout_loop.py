"""A loop that its layout describes: copper, vias and parts term by term, over frequency, with its moment."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.board.capacitors import Capacitor, ElectrodeBody, LumpedEsl
from geometries.layout.laid_out import LaidOutLoop, LoopPart
from geometries.layout.part_bodies import BODY, FAR_END, with_bodies_raised
from solver.circuit.fitted import fitted_model
from solver.circuit.rl_network import RLNetwork, network, with_more_inductance
from solver.loop.capacitor_bank import CapacitorBank
from solver.loop.copper import end_caps, energy, of_bodies, via_energy
from solver.loop.ground_drop import LEAST_CARRIED, GroundDrop, ground_drop
from solver.loop.terms import CAPACITOR, COPPER, HEIGHT_SPREAD, PACKAGE, VIA_SPREAD, VIAS, SumOfTerms, Term
from solver.plan import MeshedCurrents, PlanMeshSettings, PlanSolution, solve_plan, solve_plan_over
from solver.plan.potentials import triangle_areas

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]

SETTINGS = PlanMeshSettings().coarser()
"""Half as fine as the plan view's default; a few tenths of a percent, which is less than parts leave open."""

MOMENT_OF_DIFFERENCE = 0.005
"""Mesh error of a moment as a part of what it is the difference of (validation/plan: finite planes)."""

_POINTS_PER_DECADE = 1.0
"""Of the frequencies at which the shape of R and L over frequency is solved, on a coarser mesh."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayoutLoop(SumOfTerms):
    """A loop on its layout, solved.

    Parameters
    ----------
    laid_out : LaidOutLoop
        What was solved.
    driven : PlanSolution
        The report frequency, one ampere through all loops together; the coarser mesh is left out.
    terms : tuple of Term
        Copper and vias, and where parts are described capacitor and package; they add up to the inductance.
    shares : (loops,) complex array
        Current of each loop of the layout per ampere [A/A].
    circuit : RLNetwork
        Resistance and inductance of the whole over the band; exact in its inductance at the report frequency.
    resistance_error : float
        Relative uncertainty of the copper's resistance, that of the circuit's fit in it [1].
    moment_vector : (3,) complex array
        Magnetic moment per ampere of the described copper with its eddy currents, heights counted from an endless
        plane [m²].
    ground : GroundDrop, optional
        What of it drives cables; none of a ring.
    seconds : float
        Time it took [s].

    Examples
    --------
    >>> from geometries import MM, CopperSheet, LaidOutLoop, PlanLayout, Rectangle, RingPort
    >>> from solver import layout_loop
    >>> frame = Rectangle(left=0.0, right=5 * MM, bottom=0.0, top=3 * MM)
    >>> hole = Rectangle(left=1 * MM, right=4 * MM, bottom=1 * MM, top=2 * MM)
    >>> sheet = CopperSheet(name="top", outline=frame, height=0.2 * MM, holes=(hole,))
    >>> ring = RingPort(name="loop", sheet="top", inside=(2 * MM, 1.5 * MM))
    >>> laid_out = LaidOutLoop(layout=PlanLayout(name="ring", sheets=(sheet,), ports=(ring,)))
    >>> loop = layout_loop(laid_out, (1e6, 1e8), 1e8)
    >>> f"{loop.inductance * 1e9:.1f} nH", [term.name for term in loop.terms]
    ('3.5 nH', ['copper', 'vias'])
    """

    laid_out: LaidOutLoop
    driven: PlanSolution
    terms: tuple[Term, ...]
    shares: Complexes
    circuit: RLNetwork
    resistance_error: float
    moment_vector: Complexes
    ground: GroundDrop | None
    seconds: float

    def lying_and_standing(self, moment: Complexes) -> tuple[float, float]:
        """Of a moment what lies on the board and what stands on it, vias and bodies [m²].

        An endless ground layer leaves nothing of what lies.
        """
        lying = abs(complex(moment[2])) if self.laid_out.layout.plane is None else 0.0
        return lying, math.hypot(*np.abs(moment[:2]))

    @property
    def pad_moment(self) -> float:
        """Of the lying moment what flows within pads and the ends of vias, not in meshed copper [m²]."""
        return abs(complex(self.moment_vector[2]) - sum(lying_moments(self.driven).values()))

    @property
    def moment_error(self) -> float:
        """What the magnitude of its moment is uncertain by: its mesh, and pads over layers of copper [m²]."""
        return math.hypot(self.mesh_moment, self.pad_moment if self.over_layers else 0.0)

    @property
    def over_layers(self) -> bool:
        """Whether its copper lies on several levels, none of which is an endless plane."""
        levels = {sheet.levels for sheet in self.laid_out.copper}
        return len(levels) > 1 and self.laid_out.layout.plane is None

    @property
    def mesh_moment(self) -> float:
        """What the mesh misses of its moment [m²]."""
        return MOMENT_OF_DIFFERENCE * self.gross_moment

    @property
    def gross_moment(self) -> float:
        """What the moment is a difference of: half of density times distance from the middle, over all copper [m²].

        Over a ground layer the net moment is the small rest of two large ones.
        """
        left, bottom, right, top = self.laid_out.bounds
        middle, total = np.array([left + right, bottom + top]) / 2, 0.0
        for sheet in self.driven.sheets:
            corners = sheet.points[sheet.triangles]
            flow = triangle_areas(corners) * np.linalg.norm(sheet.density[0], axis=1)
            total += float(flow @ np.linalg.norm(corners.mean(axis=1) - middle, axis=1)) / 2
        return total


def layout_loop(
    laid_out: LaidOutLoop, frequencies: Sequence[float], report: float, settings: PlanMeshSettings | None = None
) -> LayoutLoop:
    """Solve a loop on its layout.

    Parameters
    ----------
    laid_out : LaidOutLoop
        Copper, ports and parts.
    frequencies : sequence of float
        Ascending; the circuit holds from the first to the last of them [Hz].
    report : float
        Where inductance, terms and moment are taken, one of them [Hz].
    settings : PlanMeshSettings, optional
        How fine.

    Returns
    -------
    LayoutLoop

    Raises
    ------
    SolverError
        If the copper cannot be meshed or a solution is not to be trusted.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import PlanMeshSettings
    >>> coarse = PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0)
    >>> close = read_builtin_scenario("cold-frame-fan").variants[1]
    >>> loop = layout_loop(close.laid_out, (1e8,), 1e8, coarse)
    >>> [term.name for term in loop.terms], 0.86e-9 < loop.inductance < 0.96e-9
    (['copper', 'vias', 'capacitor', 'package'], True)
    """
    start = time.perf_counter()
    settings = settings or SETTINGS
    solution = solve_plan(laid_out.layout, report, settings)
    shares = _shares(laid_out, solution)
    terms = tuple(_terms(laid_out, solution, shares))
    circuit, misfit = _circuit(laid_out, solution, shares, frequencies, settings.coarser().coarser())
    beside = math.fsum(term.amount for term in terms) - _inductance_of(circuit, report)
    driven = driven_by(solution, shares)
    return LayoutLoop(
        laid_out=laid_out,
        driven=driven,
        terms=terms,
        shares=shares,
        circuit=with_more_inductance(circuit, beside),
        resistance_error=math.hypot(solution.resistance_error, misfit),
        moment_vector=loop_moment(driven),
        ground=ground_drop(driven),
        seconds=time.perf_counter() - start,
    )


def loop_moment(driven: PlanSolution) -> Complexes:
    """Magnetic moment per ampere of a layout's currents, (3,) [m²].

    What flows within pads and the ends of vias induces nothing in the plan view. Copper that only carries what is
    induced in it takes as much of that away here as it does of all else.
    """
    moment, lying = driven.copper_moment[0].copy(), lying_moments(driven)
    carrying = _carrying(driven)
    own, whole = sum(lying[name] for name in carrying), sum(lying.values())
    if carrying and abs(whole) < abs(own):
        moment[2] = whole + (moment[2] - whole) * abs(whole / own)
    return np.asarray(moment, dtype=complex)


def _carrying(driven: PlanSolution) -> set[str]:
    """Sheets that parts or vias bring the loop's current to."""
    layout = driven.layout
    brought = zip(layout.vias, driven.via_currents[:, 0], strict=True)
    joined = {name for via, current in brought if abs(current) > LEAST_CARRIED for name in (via.upper, via.lower)}
    parts = {end.sheet for port in layout.cut_ports for end in port.terminals()}
    return (parts | joined) & {sheet.name for sheet in layout.sheets}


def lying_moments(driven: PlanSolution) -> dict[str, complex]:
    """Of what flows in the triangles of each sheet [m²], about the middle of the parts."""
    ends = [end.middle for port in driven.layout.cut_ports for end in port.terminals()] or [(0.0, 0.0)]
    middle, found = np.mean(ends, axis=0), {}
    for sheet in driven.sheets:
        corners, flow = sheet.points[sheet.triangles], sheet.density[0]
        x, y = (corners.mean(axis=1) - middle).T
        found[sheet.sheet.name] = complex(triangle_areas(corners) @ (x * flow[:, 1] - y * flow[:, 0])) / 2
    return found


def driven_by(solution: PlanSolution, shares: Complexes) -> PlanSolution:
    """A solution with its loops as one, of which each carries its share of one ampere; the coarser mesh is left out."""
    sheets = (replace(sheet, density=np.einsum("l,ltc->tc", shares, sheet.density)[None]) for sheet in solution.sheets)
    return replace(
        solution,
        loops=(solution.layout.ports[0].name,),
        inductance=np.array([[energy(solution.inductance, shares)]]),
        via_currents=(solution.via_currents @ shares)[:, None],
        copper_moment=(shares @ solution.copper_moment)[None],
        sheets=tuple(sheets),
        coarse=MeshedCurrents(meshes=(), fluxes=(), vias=np.zeros((0, 1))),
    )


def _shares(laid_out: LaidOutLoop, solution: PlanSolution) -> Complexes:
    """Of the loops in parallel, by inductance, resistance and capacitance."""
    passed = passed_currents(solution)
    parts = [part for name in passed if isinstance(part := laid_out.part_at.get(name), Capacitor)]
    through = np.array([passed[name] for name in passed if isinstance(laid_out.part_at.get(name), Capacitor)])
    through = through.reshape(len(parts), len(solution.loops))
    elastance = through.T**2 @ np.array([1 / part.capacitance for part in parts])
    with np.errstate(divide="ignore"):
        bank = CapacitorBank(
            names=solution.loops,
            inductance=solution.inductance + _across(through, [part.inductance for part in parts]),
            resistance=solution.resistance + _across(through, [part.resistance for part in parts]),
            capacitance=1 / elastance,
        )
    return bank.shares(solution.frequency)


def _across(through: Floats, values: Sequence[float]) -> Floats:
    return np.asarray(through.T @ np.diag(values) @ through)


def passed_currents(solution: PlanSolution) -> dict[str, Floats]:
    """Current of each loop through each part, by its port."""
    currents = zip(solution.layout.cut_ports, solution.port_currents, strict=True)
    return {port.name: np.asarray(current) for port, current in currents if not port.name.endswith(FAR_END)}


def _terms(laid_out: LaidOutLoop, solution: PlanSolution, shares: Complexes) -> Iterator[Term]:
    caps = end_caps(solution.layout)
    whole, vias = energy(solution.inductance, shares), energy(via_energy(solution), shares)
    passed, flat = passed_currents(solution), of_bodies(solution, shares)
    bodies = {name: flat[name] + cap * float(abs(passed[name] @ shares)) ** 2 for name, cap in caps.items()}
    copper = whole - vias - math.fsum(flat.values())
    yield Term(
        name=COPPER,
        amount=copper,
        uncertainty=math.hypot(solution.inductance_error, laid_out.left_out) * copper,
        source="plan view of the copper as it is described; the uncertainty is that of its mesh, and for copper beyond "
        "it if it is cut out of a board",
    )
    yield Term(
        name=VIAS,
        amount=vias,
        uncertainty=VIA_SPREAD * abs(vias),
        source="vias by partial inductances with images; 10 % for uneven current and pads (our estimate)"
        if vias
        else "no vias in the loop",
    )
    if laid_out.parts:
        yield _part_term(CAPACITOR, laid_out, solution, shares, bodies)
        yield _part_term(PACKAGE, laid_out, solution, shares, bodies)


def _part_term(
    name: str, laid_out: LaidOutLoop, solution: PlanSolution, shares: Complexes, bodies: dict[str, float]
) -> Term:
    """All capacitors, or everything else that bridges a port."""
    passed = passed_currents(solution)
    chosen = {
        port: part for port, part in laid_out.part_at.items() if isinstance(part, Capacitor) == (name == CAPACITOR)
    }
    weights = {port: abs(passed[port] @ shares) ** 2 for port in chosen}
    amount = math.fsum(weights[port] * part.inductance + bodies.get(port, 0.0) for port, part in chosen.items())
    lumped = math.fsum(weights[port] * own_spread(part) for port, part in chosen.items())
    raised = _height_change(solution, shares, [BODY + port for port in chosen if port in bodies])
    sources = dict.fromkeys(_source(part) for part in chosen.values())
    return Term(
        name=name,
        amount=amount,
        uncertainty=math.hypot(lumped, raised),
        source="; ".join(sources) or "none in the loop",
    )


def own_spread(part: LoopPart) -> float:
    """Uncertainty of a part's own inductance [H]."""
    if isinstance(part, Capacitor):
        return part.body.inductance * part.body.spread if isinstance(part.body, LumpedEsl) else 0.0
    return part.uncertainty


def _source(part: LoopPart) -> str:
    if not isinstance(part, Capacitor):
        return part.source
    if isinstance(part.body, ElectrodeBody):
        return "body as a conductor at electrode height in the plan view; uncertainty for 0.1 mm of height"
    return "lumped ESL as given; makers' figures differ, 30 % unless said otherwise"


def _height_change(solution: PlanSolution, shares: Complexes, bodies: Sequence[str]) -> float:
    """What 0.1 mm of height of some parts changes, at the currents as they are [H]."""
    if not bodies:
        return 0.0
    raised = with_bodies_raised(solution.layout, HEIGHT_SPREAD, bodies)
    return abs(energy(solution.moved(raised) - solution.coarse_inductance, shares))


def _circuit(
    laid_out: LaidOutLoop,
    solution: PlanSolution,
    shares: Complexes,
    frequencies: Sequence[float],
    settings: PlanMeshSettings,
) -> tuple[RLNetwork, float]:
    """Of the copper over the band, and how far its resistance is off at a frequency that was solved [1].

    Its shape is solved on a coarser mesh: the inductance counts in the ratio of both meshes at the report frequency, of
    the resistance what it has risen by, which is what depends on the mesh.
    """
    places = _places(laid_out, frequencies, solution.frequency)
    solved = solve_plan_over(laid_out.layout, places, settings)
    inductance = np.array([energy(each.inductance, shares) for each in solved])
    resistance = np.array([energy(each.resistance, shares) for each in solved])
    at, least = places.index(solution.frequency), resistance[0]
    risen = energy(solution.resistance, shares) - least
    ratio = risen / (resistance[at] - least) if resistance[at] > least else 1.0
    model = fitted_model(
        np.array(places),
        least + ratio * (resistance - least),
        inductance * energy(solution.inductance, shares) / inductance[at],
        solution.frequency,
    )
    return network(model), model.resistance_residual


def _places(laid_out: LaidOutLoop, frequencies: Sequence[float], report: float) -> list[float]:
    """Frequencies over the band, the report frequency among them; DC and perfect conductors where they have a meaning.

    A plane of metal that is endless is transparent at DC.
    """
    lowest, highest = min(frequencies), max(frequencies)
    count = 1 + math.ceil(_POINTS_PER_DECADE * math.log10(highest / lowest)) if highest > lowest else 1
    plane = laid_out.layout.plane
    still = [] if plane is not None and plane.material is not None else [0.0]
    inside = {float(f"{each:.6g}") for each in np.geomspace(lowest, highest, count)}
    return [*still, *sorted({*inside, lowest, highest, report}), math.inf]


def _inductance_of(circuit: RLNetwork, frequency: float) -> float:
    return float(circuit.impedance(frequency)[0, 0].imag) / (2 * math.pi * frequency)
