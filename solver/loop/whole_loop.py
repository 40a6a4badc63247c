r"""The whole loop of a placement in nanohenries: copper from the plan view, capacitor, vias and package, term by term.

With the current shares :math:`i` of the capacitors, all terms are parts of the energy :math:`\tfrac12 i^H L\,i` at one
ampere. Vertical currents and currents in the board's plane have no mutual inductance, so that copper and vias part
exactly. What a body at electrode height adds is the plan view with it less the plan view with ports in its place.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometries.board.capacitors import ElectrodeBody, LumpedEsl
from geometries.errors import GeometryError
from geometries.layout.placement_copper import PlacementPlan, ViaPassage, placement_plan
from geometries.layout.placements import (
    ELECTRODE_HEIGHT,
    Dimension,
    MirroredPair,
    PlacedLoop,
    dimensions,
    with_dimension,
)
from solver.circuit.capacitor_bank import CapacitorBank, capacitor_bank
from solver.formulas import filaments_partial_mutual, via_field, via_field_plane_matrix
from solver.loop.terms import (
    CAPACITOR,
    COPPER,
    PACKAGE,
    UNEVEN,
    VIAS,
    PairFacts,
    Sensitivity,
    Term,
    WholeLoop,
)
from solver.plan import PlanMeshSettings, PlanSolution, solve_plan
from solver.plan.vias import via_inductances

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_STEP = 0.1
"""Part of a dimension by which it is changed to either side for its derivative."""

_HEIGHT_SPREAD = 0.1e-3
"""Uncertainty of an electrode's height [m]: 0.1 to 0.3 mm over the copper (common practice)."""

_VIA_SPREAD = 0.1
"""Part by which a via's closed form is off: current even around it, its pads left out (our estimate)."""


def whole_loop(
    name: str,
    placed: PlacedLoop,
    frequency: float,
    settings: PlanMeshSettings | None = None,
    *,
    derivatives: bool = True,
) -> WholeLoop:
    """Assemble the whole loop of a placement.

    Parameters
    ----------
    name : str
        For messages.
    placed : PlacedLoop
        The placement on its board.
    frequency : float
        Frequency of the currents [Hz], > 0; usually that of the ringing.
    settings : PlanMeshSettings, optional
        How fine the plan view is meshed; derivatives are taken from coarser meshes (two steps).
    derivatives : bool
        Whether derivatives by every dimension are asked for; that by the height of an electrode, on which an
        uncertainty rests, is always taken.

    Returns
    -------
    WholeLoop

    Raises
    ------
    GeometryError
        If copper, terminals or vias meet where they must not.
    SolverError
        If the plan view cannot be meshed or solved.
    """
    start = time.perf_counter()
    settings = settings or PlanMeshSettings()
    plan = placement_plan(name, placed)
    solved = _solve(plan, placed, frequency, settings)
    bare = solved
    if placed.has_bodies:
        bare = _solve(placement_plan(name, placed.lumped), placed.lumped, frequency, settings)
    bank = _bank(placed, solved)
    shares = bank.shares(frequency)
    wanted = [each for each in dimensions(placed) if derivatives or each.name == ELECTRODE_HEIGHT]
    found = _sensitivities(name, placed, frequency, settings.coarser().coarser(), wanted)
    return WholeLoop(
        placed=placed,
        plan=plan,
        frequency=frequency,
        terms=_terms(placed, solved, bare, shares, found),
        bank=bank,
        shares=shares,
        moment=_moment(solved.moments, shares),
        net_moment=_moment(solved.net_moments, shares),
        pair=_pair_facts(bank, solved, frequency) if isinstance(placed.placement, MirroredPair) else None,
        sensitivities=found,
        seconds=time.perf_counter() - start,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """Matrices of the capacitors' loops, all and the vias alone; their moments per ampere without and with images."""

    inductance: Floats
    vias: Floats
    resistance: Floats
    moments: Complexes
    net_moments: Complexes
    error: float


def _solve(plan: PlacementPlan, placed: PlacedLoop, frequency: float, settings: PlanMeshSettings) -> _Solved:
    """Near side, passage and far side in series; a part that all capacitors share adds to every element."""
    size = len(placed.placement.capacitors)
    views = [solve_plan(layout, frequency, settings) for layout in plan.layouts]
    views = [views[0], *(_turned(view) for view in views[1:])]
    passage = _passage_inductance(plan.passage)
    inductance = sum((_spread(view.inductance, size) for view in views), np.zeros((size, size))) + passage
    return _Solved(
        inductance=inductance + _end_caps(placed, plan),
        vias=sum((_spread(_via_energy(view), size) for view in views), np.zeros((size, size))) + passage,
        resistance=sum((_spread(view.resistance, size) for view in views), np.zeros((size, size))),
        moments=sum((np.resize(view.copper_moment, (size, 3)) for view in views), np.zeros((size, 3), dtype=complex)),
        net_moments=sum((np.resize(view.moment, (size, 3)) for view in views), np.zeros((size, 3), dtype=complex)),
        error=sum(view.inductance_error * float(view.inductance.max()) for view in views) / float(inductance.max()),
    )


def _turned(view: PlanSolution) -> PlanSolution:
    """A far side was solved upside down: its moments along x and y point the other way when z does."""
    turn = np.array([-1.0, -1.0, 1.0])
    return replace(view, moment=view.moment * turn, copper_moment=view.copper_moment * turn)


def _spread(matrix: Floats, size: int) -> Floats:
    """A loop that all capacitors share, or each capacitor's own."""
    return matrix if len(matrix) == size else np.full((size, size), matrix[0, 0])


def _via_energy(view: PlanSolution) -> Floats:
    """The vias' part of the inductances: real part of p^H L p with the current of each via per ampere of each loop."""
    if not view.layout.vias:
        return np.zeros_like(view.inductance)
    currents = view.via_currents
    return np.asarray((currents.conj().T @ via_inductances(view.layout) @ currents).real)


def _passage_inductance(passage: ViaPassage | None) -> float:
    """Vias between two ground layers, whose images make them endless."""
    if passage is None or not passage.height > 0:
        return 0.0
    matrix = via_field_plane_matrix(passage.height, passage.radius, passage.positions)
    return via_field(matrix, passage.senses).inductance


def _end_caps(placed: PlacedLoop, plan: PlacementPlan) -> Floats:
    """The upright ends of bodies: flat strips of width w as wires of radius w/4, and their images in a plane."""
    added = np.zeros((len(placed.placement.capacitors),) * 2)
    layout = plan.layouts[-1]
    heights = {sheet.name: sheet.height for sheet in layout.sheets}
    for index, capacitor in enumerate(placed.placement.capacitors):
        if not isinstance(capacitor.body, ElectrodeBody):
            continue
        port = next(port for port in layout.cut_ports if port.name == f"C{index + 1}")
        low, high = sorted((heights[port.entry.sheet], heights[port.leave.sheet]))
        radius, apart = capacitor.case.width / 4, capacitor.case.length - capacitor.terminal
        rises = [0.0] if layout.plane is None else [0.0, low + high - 2 * layout.plane.height]
        for offset in rises:
            own, across = (filaments_partial_mutual(high - low, high - low, offset, each) for each in (radius, apart))
            added[index, index] += 2 * (own - across)
    return added


def _bank(placed: PlacedLoop, solved: _Solved) -> CapacitorBank:
    names = [f"C{number}" for number in range(1, len(placed.placement.capacitors) + 1)]
    return capacitor_bank(names, placed.placement.capacitors, solved.inductance, solved.resistance)


def _energy(matrix: Floats, shares: Complexes) -> float:
    return float((shares.conj() @ matrix @ shares).real)


def _terms(
    placed: PlacedLoop, solved: _Solved, bare: _Solved, shares: Complexes, found: tuple[Sensitivity, ...]
) -> tuple[Term, ...]:
    placement = placed.placement
    lumped = np.diag([each.inductance for each in placement.capacitors])
    total, vias = _energy(bare.inductance, shares), _energy(bare.vias, shares)
    body = _energy(solved.inductance, shares) - total
    copper = Term(
        name=COPPER,
        amount=total - vias,
        uncertainty=bare.error * (total - vias),
        source="plan view of the copper over a whole endless plane or none; the uncertainty is that of its mesh",
    )
    via = Term(
        name=VIAS,
        amount=vias,
        uncertainty=_VIA_SPREAD * vias,
        source="vias of the plan view by partial inductances with images, between planes as endless lines; "
        "10 % for uneven current and pads (our estimate)"
        if vias
        else "no vias in the loop",
    )
    package = Term(
        name=PACKAGE,
        amount=placement.package.inductance,
        uncertainty=placement.package.uncertainty,
        source=placement.package.source,
    )
    return copper, _capacitor_term(placed, body + _energy(lumped, shares), shares, found), via, package


def _capacitor_term(placed: PlacedLoop, amount: float, shares: Complexes, found: tuple[Sensitivity, ...]) -> Term:
    capacitors = placed.placement.capacitors
    spread = sum(
        abs(share) ** 2 * each.body.inductance * each.body.spread
        for share, each in zip(shares, capacitors, strict=True)
        if isinstance(each.body, LumpedEsl)
    )
    slope = next((each.derivative for each in found if each.dimension == ELECTRODE_HEIGHT), 0.0)
    words = []
    if spread:
        words.append("lumped ESL as given; makers' figures differ, 30 % unless said otherwise")
    if placed.has_bodies:
        words.append("body as a conductor at electrode height in the plan view; uncertainty for 0.1 mm of height")
    return Term(
        name=CAPACITOR,
        amount=amount,
        uncertainty=math.hypot(float(spread), slope * _HEIGHT_SPREAD),
        source="; ".join(words),
    )


def _moment(moments: Complexes, shares: Complexes) -> float:
    return float(np.linalg.norm(shares @ moments))


def _pair_facts(bank: CapacitorBank, solved: _Solved, frequency: float) -> PairFacts:
    """One side alone against both, and what is left of the moment where the shares are uneven."""
    shares = bank.shares(frequency)
    uneven = np.array([UNEVEN, 1 - UNEVEN], dtype=complex)
    return PairFacts(
        single=float(bank.inductance[0, 0]),
        pair=_energy(bank.inductance, shares),
        single_moment=_moment(solved.moments[:1, 2:], np.ones(1, dtype=complex)),
        pair_moment=_moment(solved.moments[:, 2:], shares),
        uneven_moment=_moment(solved.moments[:, 2:], uneven),
        upright_moment=_moment(solved.moments[:, :2], shares),
    )


def _sensitivities(
    name: str, placed: PlacedLoop, frequency: float, settings: PlanMeshSettings, wanted: Iterable[Dimension]
) -> tuple[Sensitivity, ...]:
    """Central differences of the whole inductance; a dimension is left out where a part would no longer fit."""
    found = []
    for dimension in wanted:
        step = _STEP * dimension.value
        try:
            ends = [with_dimension(placed, dimension.name, dimension.value + sign * step) for sign in (1, -1)]
            plans = [placement_plan(name, end) for end in ends]
        except GeometryError:  # the other dimensions still say what to change
            continue
        above, below = (
            _total(_solve(plan, end, frequency, settings), end, frequency)
            for plan, end in zip(plans, ends, strict=True)
        )
        derivative = (above - below) / (2 * step)
        found.append(Sensitivity(dimension=dimension.name, value=dimension.value, derivative=derivative, step=step))
    return tuple(sorted(found, key=lambda each: -abs(each.derivative)))


def _total(solved: _Solved, placed: PlacedLoop, frequency: float) -> float:
    """Inductance of the loop without the package, which does not change [H]."""
    bank = _bank(placed, solved)
    return _energy(bank.inductance, bank.shares(frequency))
