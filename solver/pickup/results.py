"""What the electric view and the pick-up chain yield: frozen values, free of meshes and matrices."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.section.victims import Victim, VictimSetup
from solver.circuit.rl_network import BroadbandModel
from solver.section.results import CapacitanceMatrix, PotentialMap

Signal = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineReading:
    """A victim as a transmission line, without losses; all other copper lies at zero.

    Parameters
    ----------
    inductance : float
        With its reference, for perfect conductors [H/m].
    capacitance : float
        To all other copper [F/m].
    impedance : float
        Root of one over the other [ohm].
    effective_permittivity : float
        Capacitance over that in air [1].
    """

    inductance: float
    capacitance: float
    impedance: float
    effective_permittivity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeReading:
    """Capacitance of the switch node.

    Parameters
    ----------
    shares : tuple of (str, float)
        To every other conductor group [F/m].
    total : float
        To all of them [F/m].
    plate : float
        Part of the total that a plate of its width over the nearest copper below has; 0 without such copper [F/m].
    width, length : float
        Of its copper [m].
    area_total : float
        Of the whole area: plate times length plus the fringe of all four edges [F].
    """

    shares: tuple[tuple[str, float], ...]
    total: float
    plate: float
    width: float
    length: float
    area_total: float

    @property
    def fringe(self) -> float:
        """Part of the total along each of the two long edges [F/m]."""
        return (self.total - self.plate) / 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PinSignal:
    """One period of the voltage at the pin.

    All parts begin with edges at the same instant; as the signs between them depend on which way the run leads and the
    loops are switched, their magnitudes are added.

    Parameters
    ----------
    times : (n,) array
        [s].
    magnetic, electric : (n,) array
        Part of the loop's current and part of the switch node's voltage [V].
    mean : float
        Mean over the period [V]; only what loop and victim share at DC leaves one.
    further : tuple of (str, (n,) array)
        Part of every further switched loop, by its name [V].
    """

    times: Signal
    magnetic: Signal
    electric: Signal
    mean: float
    further: tuple[tuple[str, Signal], ...] = ()

    @property
    def magnetic_peak(self) -> float:
        """Largest magnitude of the magnetic part [V]."""
        return float(np.abs(self.magnetic).max())

    @property
    def electric_peak(self) -> float:
        """Largest magnitude of the electric part [V]."""
        return float(np.abs(self.electric).max())

    @property
    def further_peaks(self) -> tuple[tuple[str, float], ...]:
        """Largest magnitude of the part of every further switched loop [V]."""
        return tuple((name, float(np.abs(part).max())) for name, part in self.further)

    @property
    def total(self) -> Signal:
        """Sum of all magnitudes, (n,) [V]."""
        return summed(self.magnetic, self.electric, self.further)

    @property
    def peak(self) -> float:
        """Largest sum of all magnitudes [V]."""
        return float(self.total.max())

    @property
    def rms(self) -> float:
        """Root of the mean square of the summed magnitudes over the period [V]."""
        mean = float(np.trapezoid(self.total**2, self.times)) / float(self.times[-1] - self.times[0])
        return math.sqrt(mean)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PinSpectrum:
    """Harmonics of the voltage at the pin: peak amplitude of each part [V] at frequencies [Hz], (n,) arrays."""

    frequencies: Signal
    magnetic: Signal
    electric: Signal
    further: tuple[tuple[str, Signal], ...] = ()

    @property
    def total(self) -> Signal:
        """Sum of all amplitudes, (n,) [V]."""
        return summed(self.magnetic, self.electric, self.further)


def summed(magnetic: Signal, electric: Signal, further: Iterable[tuple[str, Signal]]) -> Signal:
    """Sum of the magnitudes of all parts, (n,)."""
    return np.asarray(np.abs(magnetic) + np.abs(electric) + sum(np.abs(part) for _, part in further))


@dataclass(frozen=True, slots=True, kw_only=True)
class WiderTrace:
    """The same victim with a trace several times as wide about the same middle.

    Parameters
    ----------
    factor : float
        How many times as wide [1].
    mutual_ratio, capacitance_ratio : float
        Mutual inductance and capacitance to the switch node against those of the trace as it is [1]; the second is 0
        without a switch node.
    """

    factor: float
    mutual_ratio: float
    capacitance_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetDistance:
    """Where a victim's peak at the pin comes down to the budget.

    Parameters
    ----------
    layer : str
        Copper layer that it lies on.
    distance : float
        From the loop's edge [m]; 0 if it is kept everywhere beside the loop, infinite if nowhere on the board.
    farthest : float
        How far was looked [m].
    """

    layer: str
    distance: float
    farthest: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VictimReading:
    """One victim.

    Parameters
    ----------
    victim : Victim
        What was solved.
    mutual_inductance, mutual_resistance : (f,) array
        Of the loop and the victim's loop at the study's frequencies [H/m], [ohm/m].
    mutual_error : float
        Estimated error of the mutual impedance at the report frequency, as an inductance [H/m].
    mutual_bounds : tuple of float
        Bounds of the mutual inductance for perfect conductors [H/m].
    line : LineReading
        The victim as a line.
    node_capacitance, node_capacitance_error : float
        To the switch node, and half of the distance between its bounds [F/m]; 0 without a switch node.
    open_peak : float
        Largest emf of the variant's loop in the run with nothing connected [V].
    signal : PinSignal
        At the pin.
    spectrum : PinSpectrum
        The same by harmonics.
    wider : WiderTrace, optional
        Of a trace on a board with room for it.
    budget_distances : tuple of BudgetDistance
        On its own layer first, then on the others that have room for it; none without a budget, or for a trace that
        does not lie beside the loop.
    """

    victim: Victim
    mutual_inductance: Signal
    mutual_resistance: Signal
    mutual_error: float
    mutual_bounds: tuple[float, float]
    line: LineReading
    node_capacitance: float
    node_capacitance_error: float
    open_peak: float
    signal: PinSignal
    spectrum: PinSpectrum
    wider: WiderTrace | None = None
    budget_distances: tuple[BudgetDistance, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MutualCurve:
    """Mutual inductance of the loop and a thin trace on a layer, against its place.

    Parameters
    ----------
    layer : str
        Copper layer.
    distance : (n,) array
        From the loop's edge to the trace's middle [m].
    mutual : (n,) array
        Magnitude at the report frequency [H/m].
    """

    layer: str
    distance: Signal
    mutual: Signal


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupResult:
    r"""What the victims of one variant pick up.

    Parameters
    ----------
    pickup : VictimSetup
        What was solved.
    model : BroadbandModel
        Loop and victims per length.
    capacitance : CapacitanceMatrix
        Of all conductor groups.
    victims : tuple of VictimReading
        In the order of the description.
    node : NodeReading, optional
        Of the switch node.
    curves : tuple of MutualCurve
        One per copper layer.
    potential_map : PotentialMap, optional
        Of the switch node.
    ringing : bool
        Whether the ring of the edges is in what drives them.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import solve_variant
    >>> from solver.variant.needs import Need
    >>> lamp = read_builtin_scenario("garden-lamp")
    >>> pickup = solve_variant(lamp.variants[0], lamp.analysis, frozenset({Need.PICKUP})).pickup
    >>> f"{pickup.victims[0].signal.peak * 1e3:.1f} mV at the pin"
    '6.4 mV at the pin'
    """

    pickup: VictimSetup
    model: BroadbandModel
    capacitance: CapacitanceMatrix
    victims: tuple[VictimReading, ...]
    node: NodeReading | None
    curves: tuple[MutualCurve, ...]
    potential_map: PotentialMap | None
    ringing: bool = False
