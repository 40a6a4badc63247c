"""The loop of record: the one inductance, resistance and circuit of a variant that every consequence uses."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from solver.circuit.rl_network import RLNetwork, SeriesInductor, SeriesResistor


class Basis(Enum):
    """What a loop of record stands for."""

    SECTION = "section × length, ends not included"
    WHOLE_LOOP = "whole loop: copper, capacitor, vias and package"
    COPPER_LOOP = "loop of copper with its ends, capacitor and package not included"
    TURN = "whole turn of an axisymmetric loop, nothing added"
    MEASURED = "as measured on the bench: copper, capacitor, vias and package"

    @property
    def briefly(self) -> str:
        """The same in a word or two."""
        return self.value.partition(",")[0].partition(":")[0].removesuffix(" of an axisymmetric loop")

    @property
    def holds_package(self) -> bool:
        """Whether capacitor and package are in it already."""
        return self in (Basis.WHOLE_LOOP, Basis.MEASURED)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopOfRecord:
    """A variant's loop at the report frequency, and its circuit over the band.

    Parameters
    ----------
    basis : Basis
        What it stands for.
    inductance, inductance_uncertainty : float
        [H].
    resistance, resistance_uncertainty : float
        Of the copper along the section's length [ohm].
    circuit : RLNetwork
        Whose inductance at the report frequency is `inductance`.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import solve_variant
    >>> from solver.variant.needs import Need
    >>> scenario = read_builtin_scenario("garden-lamp")
    >>> result = solve_variant(scenario.variants[0], scenario.analysis, frozenset({Need.BROADBAND}))
    >>> f"{result.loop.inductance * 1e9:.2f} nH, {result.loop.basis.briefly}"
    '2.71 nH, section × length'
    """

    basis: Basis
    inductance: float
    inductance_uncertainty: float
    resistance: float
    resistance_uncertainty: float
    circuit: RLNetwork

    def as_measured(self, inductance: float, uncertainty: float) -> LoopOfRecord:
        """The same loop with a measured inductance [H] in place of the solved one, alike at all frequencies."""
        turns = (1.0,)
        circuit = RLNetwork(
            resistors=(SeriesResistor(resistance=self.resistance, turns=turns),),
            inductors=(SeriesInductor(inductance=inductance, turns=turns),),
            cells=(),
            band=self.circuit.band,
        )
        return replace(
            self, basis=Basis.MEASURED, inductance=inductance, inductance_uncertainty=uncertainty, circuit=circuit
        )
