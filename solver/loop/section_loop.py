r"""The loop of copper that a bare section stands for: its plan from land to land, with its ends.

The plan's ground layers are whole and endless. What they are less than that is taken from the section, its inductance
over the layers as they are less that over whole and endless ones, times the length; or, of layers with a length, from
the closed loop over them as large as they are. Vertical currents and currents in the board's plane have no mutual
inductance, so that walls at the ends are a term of their own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from geometries.layout.layout import PlanLayout
from geometries.layout.section_plan import LONGER, SectionPlan, Walls
from solver.formulas import filaments_partial_mutual, via_field, via_field_plane_matrix
from solver.loop.copper import via_energy
from solver.loop.real_layers import over_real_layers, taken_words
from solver.loop.terms import COPPER, LANDS, LAYERS, VIA_SPREAD, VIAS, RealLayers, SumOfTerms, Term
from solver.plan import PlanMeshSettings, PlanSolution, solve_plan

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]

MESH = PlanMeshSettings(
    layer_fraction=0.012,
    along_fraction=0.6,
    corner_fraction=0.02,
    pad_fraction=0.4,
    pad_corner_fraction=0.1,
    growth=0.7,
)
"""Coarser than that of placements: good to half a per cent, in half a second."""

_FACTOR_OF_LANDS = 2.0
"""How far the length of lands that nobody states may be off, to both sides (our estimate)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionLoop(SumOfTerms):
    """The copper loop of a bare section with its ends; capacitor and package are ports without a length.

    Parameters
    ----------
    plan : SectionPlan
        Its copper seen from above.
    frequency : float
        Where it was solved [Hz].
    terms : tuple of Term
        Copper, vertical copper (vias), lands, ground layers; they add up to the inductance.
    moment_vector : (3,) complex array
        Magnetic moment per ampere of the loop's own currents along the loop, across it and upright, heights counted
        from the uppermost ground layer [m²].
    resistance, resistance_uncertainty : float
        Of copper, vias and ground layers at that frequency [ohm].
    real_layers : RealLayers, optional
        What ground layers as large as they are change, where their length is stated; else they are endless along the
        loop.
    """

    plan: SectionPlan
    frequency: float
    terms: tuple[Term, ...]
    moment_vector: Complexes
    resistance: float
    resistance_uncertainty: float
    real_layers: RealLayers | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionValues:
    """Section times length at one frequency.

    Parameters
    ----------
    own : float
        Of the section as it is, further segments included [H].
    error : float
        Estimated discretisation error of it [H].
    planned : float
        Of the same copper over the same ground layers, whole and endless, over the plan's length [H].
    more_resistance : float
        Resistance of the section as it is beyond that of the same copper over whole and endless layers [ohm].
    """

    own: float
    error: float
    planned: float
    more_resistance: float


def section_loop(plan: SectionPlan, frequency: float, values: SectionValues) -> SectionLoop:
    """Solve the plan of a bare section.

    Parameters
    ----------
    plan : SectionPlan
        Its copper seen from above.
    frequency : float
        [Hz], > 0.
    values : SectionValues
        What the section gives at that frequency.

    Returns
    -------
    SectionLoop

    Raises
    ------
    SolverError
        If the plan view cannot be meshed or solved.
    """
    near = _view(plan.near, frequency)
    far = () if plan.far is None else (_view(plan.far, frequency),)
    terms = _plan_terms(plan, near, far)
    real = None if plan.real is None else over_real_layers(plan.real, frequency, np.ones(1, dtype=complex))
    planned = math.fsum(term.amount for term in terms)
    more = values.more_resistance if real is None else real.more_resistance
    return SectionLoop(
        plan=plan,
        frequency=frequency,
        terms=(*terms, _layers_term(values, planned) if real is None else real.term),
        moment_vector=joined_sides([view.copper_moment[0] for view in (near, *far)])
        + np.sum([_standing(view) for view in (near, *far)], axis=0)
        + np.array([0.0, math.fsum(wall.apart * (wall.high - wall.low) for wall in plan.walls if wall.passing), 0.0]),
        resistance=math.fsum(float(view.resistance[0, 0]) for view in (near, *far)) + more,
        resistance_uncertainty=math.hypot(
            *(view.resistance_error * float(view.resistance[0, 0]) for view in (near, *far)), more
        ),
        real_layers=real,
    )


@lru_cache(maxsize=4)
def _view(layout: PlanLayout, frequency: float) -> PlanSolution:
    """Remembered, since points of a sweep that changes the ground layers alone have the same copper."""
    return solve_plan(layout, frequency, MESH)


def _plan_terms(plan: SectionPlan, near: PlanSolution, far: tuple[PlanSolution, ...]) -> tuple[Term, ...]:
    ties = float(via_energy(near)[0, 0])
    views = (near, *far)
    copper = sum(view.loop_inductance for view in views) - ties
    walls = math.fsum(map(_wall_inductance, plan.walls))
    return (
        Term(
            name=COPPER,
            amount=copper,
            uncertainty=math.hypot(*(view.inductance_error * view.loop_inductance for view in views)),
            source="plan view of the copper with its thickness from land to land, "
            f"{taken_words(plan.near, plan.real)}; the uncertainty is that of its mesh",
        ),
        Term(
            name=VIAS,
            amount=ties + walls,
            uncertainty=VIA_SPREAD * (ties + walls),
            source=_vertical(plan, ties),
        ),
        Term(
            name=LANDS,
            amount=0.0,
            uncertainty=_land_spread(plan, near),
            source=_land_words(plan),
        ),
    )


def _vertical(plan: SectionPlan, ties: float) -> str:
    """Where the term of vertical copper comes from."""
    words = [
        _wall_words(plan) if plan.walls else "",
        f"{len(plan.near.vias)} vias to the ground layer by partial inductances with images" if ties else "",
    ]
    return "; ".join(filter(None, words)) or "no vertical copper in the loop"


def _wall_words(plan: SectionPlan) -> str:
    count = len(plan.walls[0].places)
    if count == 1:
        return "one full-width wall at each end by partial inductances; a row of vias has more"
    return f"{count} vias at each end by partial inductances with images, sharing the current evenly"


def _land_spread(plan: SectionPlan, near: PlanSolution) -> float:
    """What half or twice the length of lands would change, at the currents as they are [H]."""
    if plan.longer is None:
        return 0.0
    return abs(_longer_change(near.layout, plan.longer, near.frequency)) * math.log(_FACTOR_OF_LANDS) / math.log(LONGER)


@lru_cache(maxsize=4)
def _longer_change(layout: PlanLayout, longer: PlanLayout, frequency: float) -> float:
    """What longer lands change [H]."""
    view = _view(layout, frequency)
    return float((view.moved(longer) - view.coarse_inductance)[0, 0])


def _land_words(plan: SectionPlan) -> str:
    if not plan.land:
        return "capacitor and switch lead the current over the whole width"
    if plan.longer is None:
        return f"lands of {plan.land * 1e3:.3g} mm as stated"
    return (
        f"lands of capacitor and switch are not stated: {plan.land * 1e3:.3g} mm along the loop, the uncertainty for "
        "half and twice as much; the key land of [loop] takes it away"
    )


def _wall_inductance(walls: Walls) -> float:
    """Of both ends, with images of equal sense in a ground layer; the vias of a row share the current evenly [H]."""
    height = walls.high - walls.low
    if walls.passing:
        places = [(x, y) for x in (0.0, walls.apart) for y in walls.places]
        senses = [sense for sense in (1, -1) for _ in walls.places]
        return via_field(via_field_plane_matrix(height, walls.radius, places), senses).inductance
    rises = [0.0] if walls.mirror is None else [0.0, walls.low + walls.high - 2 * walls.mirror]
    across = [abs(one - other) for one in walls.places for other in walls.places]
    return math.fsum(
        2
        * (
            filaments_partial_mutual(height, height, rise, max(distance, walls.radius))
            - filaments_partial_mutual(height, height, rise, math.hypot(walls.apart, distance))
        )
        / len(across)
        for rise in rises
        for distance in across
    )


def _layers_term(values: SectionValues, planned: float) -> Term:
    """What the ground layers as they are change, and how much less is known of the ends over them."""
    change = values.own - values.planned
    unsure = (planned - values.planned) * min(1.0, abs(change / values.planned))
    return Term(
        name=LAYERS,
        amount=change,
        uncertainty=math.hypot(unsure, values.error),
        source="section × length over the ground layers as they are less that over whole and endless ones; of what the "
        "ends add the same part is uncertain",
    )


def joined_sides(moments: Sequence[Complexes]) -> Complexes:
    """Of near and far side together, (3,) [m²]; the return below flows the other way, upside down."""
    near, *far = moments
    return np.asarray(near + sum((moment * [1, 1, -1] for moment in far), np.zeros(3)))


def _standing(view: PlanSolution) -> Floats:
    """Of a strip over its ground layer, what walls at its ends close in place of the plan's port, which lies flat."""
    plane, (sheet, *others) = view.layout.plane, view.layout.sheets
    if plane is None or others:
        return np.zeros(3)
    port = view.layout.cut_ports[0]
    heights = view.layout.level(port.entry) - plane.height, sheet.height - plane.height
    return np.array([0.0, math.dist(port.entry.middle, port.leave.middle) * sum(heights) / 2, 0.0])
