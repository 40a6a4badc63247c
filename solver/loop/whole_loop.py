r"""The whole loop of a placement in nanohenries: copper from the plan view, capacitor, vias and package, term by term.

With the current shares :math:`i` of the capacitors, all terms are parts of the energy :math:`\tfrac12 i^H L\,i` at one
ampere. Vertical currents and currents in the board's plane have no mutual inductance, so that copper and vias part
exactly; of a body at electrode height it is the integral of the vector potential times its own current.
"""

from __future__ import annotations

import math
import time

import numpy as np
from numpy.typing import NDArray

from geometries.board.capacitors import LumpedEsl
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import ELECTRODE_HEIGHT, Dimension, MirroredPair, PlacedLoop, dimensions
from geometries.layout.real_planes import real_planes
from solver.loop.capacitor_bank import CapacitorBank, capacitor_bank
from solver.loop.copper import CopperLoops, energy, solve_copper
from solver.loop.real_layers import over_real_layers, taken_words
from solver.loop.sensitivities import sensitivities
from solver.loop.terms import (
    CAPACITOR,
    COPPER,
    HEIGHT_SPREAD,
    PACKAGE,
    UNEVEN,
    VIA_SPREAD,
    VIAS,
    PairFacts,
    RealLayers,
    Sensitivity,
    Term,
    WholeLoop,
)
from solver.plan import PlanMeshSettings

Complexes = NDArray[np.complex128]


def whole_loop(
    name: str,
    placed: PlacedLoop,
    frequency: float,
    settings: PlanMeshSettings | None = None,
    vary: tuple[Dimension, ...] | None = None,
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
        How fine the plan view is meshed.
    vary : tuple of Dimension, optional
        By which lengths derivatives are taken; by default all that
        :func:`geometries.layout.placements.dimensions` lists. Without any the uncertainty of an electrode's height is
        left out.

    Returns
    -------
    WholeLoop

    Raises
    ------
    GeometryError
        If copper, terminals or vias meet where they must not.
    SolverError
        If the plan view cannot be meshed or solved.

    Examples
    --------
    >>> from geometries import Capacitor, LumpedEsl, PlacedLoop, Plane, SameSide, Site
    >>> from geometries import capacitor_case, named_stackup, switch_package, via_type
    >>> from solver import PlanMeshSettings, whole_loop
    >>> body = LumpedEsl(inductance=0.35e-9)
    >>> part = Capacitor(case=capacitor_case("0603"), capacitance=2.2e-6, resistance=4e-3, body=body)
    >>> placement = SameSide(
    ...     distance=0.6e-3,
    ...     copper_width=1.6e-3,
    ...     gap=0.6e-3,
    ...     capacitors=(part,),
    ...     package=switch_package("flip-chip"),
    ...     via=via_type("standard"),
    ... )
    >>> site = Site(stackup=named_stackup("4L-7628"), planes=(Plane(layer="L2", tie="switch end", width=40e-3),))
    >>> coarse = PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0)
    >>> loop = whole_loop("same side", PlacedLoop(placement=placement, site=site), 100e6, coarse, vary=())
    >>> [term.name for term in loop.terms]
    ['copper', 'capacitor', 'vias', 'package']
    """
    start = time.perf_counter()
    settings = settings or PlanMeshSettings()
    plan = placement_plan(name, placed)
    solved = solve_copper(plan, placed, frequency, settings)
    bank = _bank(placed, solved)
    shares = bank.shares(frequency)
    found = sensitivities(name, solved, shares, dimensions(placed) if vary is None else vary)
    planes = real_planes(name, placed, int(np.abs(shares).argmax()))
    layers = None if planes is None else over_real_layers(planes, frequency, shares)
    more = 0.0 if layers is None else layers.more_resistance
    return WholeLoop(
        placed=placed,
        plan=plan,
        frequency=frequency,
        terms=_terms(placed, solved, shares, found, layers),
        bank=bank,
        shares=shares,
        moments=solved.moments,
        pair=_pair_facts(bank, solved, frequency) if isinstance(placed.placement, MirroredPair) else None,
        sensitivities=found,
        seconds=time.perf_counter() - start,
        resistance=energy(solved.resistance, shares) + more,
        resistance_uncertainty=math.hypot(energy(solved.resistance_spread, shares), more),
        real_layers=layers,
    )


def _bank(placed: PlacedLoop, solved: CopperLoops) -> CapacitorBank:
    names = [f"C{number}" for number in range(1, len(placed.placement.capacitors) + 1)]
    return capacitor_bank(names, placed.placement.capacitors, solved.inductance, solved.resistance)


def _terms(
    placed: PlacedLoop,
    solved: CopperLoops,
    shares: Complexes,
    found: tuple[Sensitivity, ...],
    layers: RealLayers | None,
) -> tuple[Term, ...]:
    placement = placed.placement
    lumped = np.diag([each.inductance for each in placement.capacitors])
    total, vias, body = energy(solved.inductance, shares), energy(solved.vias, shares), solved.of_bodies(shares)
    copper = Term(
        name=COPPER,
        amount=total - vias - body,
        uncertainty=energy(solved.spread, shares),
        source="plan view of the copper with its thickness, "
        f"{taken_words(solved.plan.near, None if layers is None else layers.planes)}; the uncertainty is that of the "
        "mesh, bodies of capacitors included",
    )
    via = Term(
        name=VIAS,
        amount=vias,
        uncertainty=VIA_SPREAD * vias,
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
    capacitor = _capacitor_term(placed, body + energy(lumped, shares), shares, found)
    return copper, capacitor, via, package, *(() if layers is None else (layers.term,))


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
        uncertainty=math.hypot(float(spread), slope * HEIGHT_SPREAD),
        source="; ".join(words),
    )


def _moment(moments: Complexes, shares: Complexes) -> float:
    return float(np.linalg.norm(shares @ moments))


def _pair_facts(bank: CapacitorBank, solved: CopperLoops, frequency: float) -> PairFacts:
    """One side alone against both, and what is left of the moment where the shares are uneven."""
    shares = bank.shares(frequency)
    uneven = np.array([UNEVEN, 1 - UNEVEN], dtype=complex)
    return PairFacts(
        single=float(bank.inductance[0, 0]),
        pair=energy(bank.inductance, shares),
        single_moment=_moment(solved.moments[:1, 2:], np.ones(1, dtype=complex)),
        pair_moment=_moment(solved.moments[:, 2:], shares),
        uneven_moment=_moment(solved.moments[:, 2:], uneven),
        upright_moment=_moment(solved.moments[:, :2], shares),
    )
