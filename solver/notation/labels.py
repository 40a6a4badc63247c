"""What the numbers of a view are called, wherever they are shown: the one place where the two views differ in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geometries.quantities import MM, NANO
from geometries.section.section import View

_PICO = 1e-3 * NANO


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """How the numbers of one view are called.

    Parameters
    ----------
    basis, briefly : str
        What loop values stand for, in full and in short.
    left_out : str
        What is not in them.
    sides : tuple of str
        Names of the two nodes of a loop.
    ends, ports : str
        Where the nodes of a circuit and the ports of its file lie.
    moment, moment_unit, moment_meaning : str
        Name of the moment, its unit in tables and files, and what it is.
    moment_size : float
        That unit [m] or [m²].
    moment_key : str
        Name of the moment in documents, without unit.
    moment_key_unit : str
        Its unit there.
    per_metre : bool
        Whether the values of a section are per metre of its length.
    position, position_sign, height_sign : str
        Where the points of a scan line lie, in words, and the signs of both coordinates.
    potential_key, potential_unit, flux_unit : str
        The unknown of the field in files, with its unit, and the unit of flux between two flux lines.
    mutual_unit, mutual_factor : str, float
        Unit of mutual inductances in tables, and how many of it are one SI unit.
    """

    basis: str
    briefly: str
    left_out: str
    sides: tuple[str, str]
    ends: str
    ports: str
    moment: str
    moment_unit: str
    moment_size: float
    moment_meaning: str
    moment_key: str
    moment_key_unit: str
    per_metre: bool
    position: str
    position_sign: str
    height_sign: str
    potential_key: str
    potential_unit: str
    flux_unit: str
    mutual_unit: str
    mutual_factor: float

    @property
    def conventions(self) -> str:
        """What all numbers of a document are."""
        return f"SI units; peak phasors per ampere of loop current; loop values: {self.basis}"

    @property
    def title(self) -> str:
        """The basis with a capital letter."""
        return self.basis[0].upper() + self.basis[1:]

    def key(self, quantity: str, unit: str) -> str:
        """Key of a section's value in a document.

        Examples
        --------
        >>> [wording(view).key("inductance", "H") for view in View]
        ['inductance_per_length_H_per_m', 'inductance_H']
        """
        return f"{self.name(quantity)}_{self.unit(unit)}"

    def name(self, quantity: str) -> str:
        """The same key without its unit."""
        return f"{quantity}_per_length" if self.per_metre else quantity

    def unit(self, unit: str) -> str:
        """A section's unit in the key of a document.

        Examples
        --------
        >>> [wording(view).unit("H") for view in View]
        ['H_per_m', 'H']
        """
        return f"{unit}_per_m" if self.per_metre else unit

    def heading(self, quantity: str, unit: str) -> str:
        """Heading of a section's value in a table.

        Examples
        --------
        >>> [wording(view).heading("resistance", "Ohm") for view in View]
        ['resistance per length [Ohm/m]', 'resistance [Ohm]']
        """
        return f"{quantity} per length [{unit}/m]" if self.per_metre else f"{quantity} [{unit}]"


_SECTION = Wording(
    basis="section × length, ends not included",
    briefly="section × length",
    left_out="the ends and corners of the loop, vias, the capacitor with its own inductance and resistance, the "
    "switches and their package, and any capacitance between conductors",
    sides=("go", "return"),
    ends="go and return are bonded at the far end of the length",
    ports="between go and return at the near end",
    moment="line moment",
    moment_unit="mm",
    moment_size=MM,
    moment_meaning="current times distance, summed over all conductors; it sets the field far from the board",
    moment_key="line_moment",
    moment_key_unit="A_m_per_m_per_A",
    per_metre=True,
    position="position across the board",
    position_sign="x",
    height_sign="y",
    potential_key="vector_potential",
    potential_unit="Wb_per_m_per_A",
    flux_unit="nWb per metre of length",
    mutual_unit="pH/mm",
    mutual_factor=MM / _PICO,
)

_AXISYMMETRIC = Wording(
    basis="whole turn of a round loop, nothing added",
    briefly="whole turn",
    left_out="how the loop's own outline differs from a circle, vias, the capacitor with its own inductance and "
    "resistance, the switches and their package, and any capacitance between conductors; a disc carries induced "
    "current only",
    sides=("in", "out"),
    ends="they are the two sides of a cut at which the turn is fed",
    ports="across the cut at which the turn is fed",
    moment="moment along the axis",
    moment_unit="mm²",
    moment_size=MM**2,
    moment_meaning="current times the area it goes round, summed over all conductors; it sets the field far from the "
    "loop",
    moment_key="axial_moment",
    moment_key_unit="A_m2_per_A",
    per_metre=False,
    position="distance r from the axis",
    position_sign="r",
    height_sign="z",
    potential_key="flux_through_circle",
    potential_unit="Wb_per_A",
    flux_unit="nWb",
    mutual_unit="pH",
    mutual_factor=1 / _PICO,
)

_OF_VIEW = {View.SECTION: _SECTION, View.AXISYMMETRIC: _AXISYMMETRIC}


def wording(view: View) -> Wording:
    """Words of one view."""
    return _OF_VIEW[view]


def listed(words: Sequence[str]) -> str:
    """Words in a row, the last two joined by "and".

    Examples
    --------
    >>> listed(["L2"]), listed(["L2", "L3", "L5"])
    ('L2', 'L2, L3 and L5')
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
