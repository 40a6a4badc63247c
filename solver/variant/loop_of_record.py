"""The loop of record: the one inductance, resistance and circuit of a variant that every consequence uses."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from solver.circuit.rl_network import RLNetwork


class Basis(Enum):
    """What a loop of record stands for."""

    SECTION = "section × length, ends not included"
    WHOLE_LOOP = "whole loop: copper, capacitor, vias and package"
    TURN = "whole turn of an axisymmetric loop, nothing added"

    @property
    def briefly(self) -> str:
        """The same in a word or two."""
        return self.value.partition(",")[0].partition(":")[0].removesuffix(" of an axisymmetric loop")

    @property
    def holds_package(self) -> bool:
        """Whether capacitor and package are in it already."""
        return self is Basis.WHOLE_LOOP


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
    """

    basis: Basis
    inductance: float
    inductance_uncertainty: float
    resistance: float
    resistance_uncertainty: float
    circuit: RLNetwork
