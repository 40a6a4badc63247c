"""What the whole loop of a placement yields: its terms, its capacitors' shares, what to change first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.layout.ground_layers import RealPlanes
from geometries.layout.placement_copper import PlacementPlan
from geometries.layout.placements import PlacedLoop
from solver.loop.capacitor_bank import CapacitorBank

COPPER, CAPACITOR, VIAS, PACKAGE = "copper", "capacitor", "vias", "package"
LANDS, LAYERS = "lands", "ground layers"

VIA_SPREAD = 0.1
"""Part by which a via's closed form is off: current even around it, its pads left out (our estimate)."""

HEIGHT_SPREAD = 0.1e-3
"""Uncertainty of the height of a part's metal [m]: 0.1 to 0.3 mm over the copper (common practice)."""

UNEVEN = 0.55
"""Share of the nearer of two capacitors in the usual question what a slight asymmetry costs (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One line of the loop's inductance.

    Parameters
    ----------
    name : str
        Copper, capacitor, vias or package; of a bare section copper, vias, lands or ground layers.
    amount : float
        Its part of the inductance [H].
    uncertainty : float
        How far it may be off [H].
    source : str
        Where it comes from, and what the uncertainty rests on, in a sentence.
    """

    name: str
    amount: float
    uncertainty: float
    source: str

    def own_uncertainty(self, others: Sequence[Term]) -> float:
        """What the same term of other loops does not share of its uncertainty [H].

        Where all have it alike, such as lands that nobody states, that is what they differ by.
        """
        if any(each.amount != self.amount for each in others):
            return self.uncertainty
        return max((abs(self.uncertainty - each.uncertainty) for each in others), default=0.0) / math.sqrt(2)


@dataclass(frozen=True, slots=True, kw_only=True)
class RealLayers:
    """What ground layers as large as they are change, and what of the moment lies on the board over them.

    Parameters
    ----------
    planes : RealPlanes
        What was solved.
    term : Term
        Change of the inductance.
    lying, lying_error : float
        Moment per ampere at right angles to the board with all that is induced in the layers, and what its mesh and the
        currents within vias' pads, which induce nothing, let it be off [m²].
    more_resistance : float
        Change of the resistance [ohm].
    inductance : float
        Of the closed loop over the layers [H].
    alone : float, optional
        The same without any layer, where it closes without one [H].
    """

    planes: RealPlanes
    term: Term
    more_resistance: float
    inductance: float
    alone: float | None
    lying: float
    lying_error: float


class SumOfTerms:
    """A loop's inductance term by term, the terms with causes of uncertainty of their own."""

    __slots__ = ()
    terms: tuple[Term, ...]

    @property
    def inductance(self) -> float:
        """Of all terms [H]."""
        return sum(term.amount for term in self.terms)

    @property
    def uncertainty(self) -> float:
        """Root of the sum of squares of the terms' uncertainties, which have different causes [H]."""
        return math.hypot(*(term.uncertainty for term in self.terms))

    @property
    def beside_copper(self) -> float:
        """Part of capacitor and package, where they are among the terms [H]."""
        return sum(term.amount for term in self.terms if term.name in (CAPACITOR, PACKAGE))

    def term(self, name: str) -> Term:
        """The term of that name."""
        return next(term for term in self.terms if term.name == name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """Derivative of the whole loop's inductance with respect to a dimension, or to the package's own inductance.

    Parameters
    ----------
    dimension : str
        Its key.
    value : float
        Its value [m], of the package [H].
    derivative : float
        Change of inductance per change of the dimension [H/m]; 1 for the package.
    step : float
        Change of the dimension that it was taken from [m]; 0 where the derivative is exact.
    """

    dimension: str
    value: float
    derivative: float
    step: float

    @property
    def per_tenth(self) -> float:
        """What ten per cent more of the dimension adds, to first order [H]."""
        return 0.1 * self.value * self.derivative


@dataclass(frozen=True, slots=True, kw_only=True)
class PairFacts:
    """What a mirrored pair brings beside one of its two sides.

    Parameters
    ----------
    single, pair : float
        Inductance of one side alone and of both in parallel, package not included [H].
    single_moment, pair_moment, uneven_moment : float
        Magnetic moment at right angles to the board of the loop's own currents per ampere: one side alone, both by
        their own shares, both at 55 to 45 [m²].
    upright_moment : float
        What both have along the board, from bodies that stand over their copper and from vias; symmetry keeps it [m²].
    """

    single: float
    pair: float
    single_moment: float
    pair_moment: float
    uneven_moment: float
    upright_moment: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionRule:
    """How far section times length is off for this loop.

    Parameters
    ----------
    section : float
        Section times length over all stretches [H].
    plan : float
        Copper and vias of the plan view [H].
    """

    section: float
    plan: float

    @property
    def off(self) -> float:
        """Section times length against the plan view, as a fraction [1]."""
        return self.section / self.plan - 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WholeLoop(SumOfTerms):
    """The loop of a placement, assembled.

    Parameters
    ----------
    placed : PlacedLoop
        The placement on its board.
    plan : PlacementPlan
        Its copper, ports, vias and parts seen from above.
    frequency : float
        Where it was solved [Hz].
    terms : tuple of Term
        Copper, capacitor, vias and package; they add up to the inductance.
    bank : CapacitorBank
        Capacitors with the loops they close, package not included.
    shares : (n,) complex array
        Current of each capacitor per ampere at that frequency [A/A].
    moments : (n, 3) complex array
        Magnetic moment per ampere of each capacitor's loop, of its own currents alone, heights counted from the
        uppermost ground layer [m²]: along the board of vias and bodies, upright to it of what lies on it.
    pair : PairFacts, optional
        For a mirrored pair.
    resistance, resistance_uncertainty : float
        Of copper and bodies at that frequency, capacitors' own and package not included [ohm].
    real_layers : RealLayers, optional
        What ground layers as large as they are change, where their length is stated; else they are endless.
    sensitivities : tuple of Sensitivity
        Largest derivative first; of the dimensions that still leave a possible placement when changed.
    seconds : float
        Time it took [s].

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import PlanMeshSettings, whole_loop
    >>> placed = read_builtin_scenario("greenhouse-vent").variants[0].placed
    >>> coarse = PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0)
    >>> loop = whole_loop("same side", placed, 100e6, coarse, vary=())
    >>> [term.name for term in loop.terms], f"{loop.inductance * 1e9:.1f} nH"
    (['copper', 'capacitor', 'vias', 'package'], '0.6 nH')
    """

    placed: PlacedLoop
    plan: PlacementPlan
    frequency: float
    terms: tuple[Term, ...]
    bank: CapacitorBank
    shares: NDArray[np.complex128]
    moments: NDArray[np.complex128]
    pair: PairFacts | None
    sensitivities: tuple[Sensitivity, ...]
    seconds: float
    resistance: float
    resistance_uncertainty: float
    real_layers: RealLayers | None = None

    @property
    def moment_vector(self) -> NDArray[np.complex128]:
        """Magnetic moment per ampere of the loop's own currents by the capacitors' shares, (3,) [m²]."""
        return np.asarray(self.shares @ self.moments)

    @property
    def moment(self) -> float:
        """Its magnitude [m²]."""
        return float(np.linalg.norm(self.moment_vector))

    @property
    def by_tenth(self) -> tuple[Sensitivity, ...]:
        """Sensitivities by what ten per cent brings, the package's inductance among them, the largest first."""
        package = Sensitivity(dimension=PACKAGE, value=self.term(PACKAGE).amount, derivative=1.0, step=0.0)
        return tuple(sorted((*self.sensitivities, package), key=lambda each: -abs(each.per_tenth)))
