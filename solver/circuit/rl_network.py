"""The loop impedance of a section as a circuit: resistors, inductors, and cells of the two in parallel.

Every term is positive, so the circuit is passive, and Kirchhoff's laws give back exactly the impedance that it
stands for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

DEVIATION = 1e-6
"""Largest deviation of a model's Z from field solutions in its band, relative to the largest element."""

RESISTANCE_DEVIATION = 1e-5
"""Largest deviation of its R, likewise."""

_NOTHING = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BroadbandModel:
    """Loop impedance per length over a band, Z'(s) = R_0 + s L_inf + sum of s c_i c_i^T / (s + lambda_i).

    Parameters
    ----------
    resistance : (l, l) array
        R_0, at DC [ohm/m].
    inductance : (l, l) array
        L_inf, for perfect conductors [H/m].
    rates : (m,) array
        lambda_i, corner of each cell [rad/s], positive, ascending.
    weights : (m, l) array
        c_i; each cell adds c_i c_i^T [ohm/m] far above its corner.
    band : tuple of float
        Lowest and highest frequency it was built for [Hz].
    shifts : tuple of float
        Frequencies at which the field was solved for it [Hz], ascending; the two limits come on top.
    residual, resistance_residual : float
        Relative deviation of Z and of R at the shift that was solved last, of the model without it: where the
        largest deviation was expected, measured.

    Raises
    ------
    ValueError
        If a rate is not positive.
    """

    resistance: NDArray[np.float64]
    inductance: NDArray[np.float64]
    rates: NDArray[np.float64]
    weights: NDArray[np.float64]
    band: tuple[float, float]
    shifts: tuple[float, ...]
    residual: float
    resistance_residual: float

    def __post_init__(self) -> None:
        if not np.all(self.rates > 0):
            raise ValueError("a cell's rate is not positive; the model would not be passive")
        for array in (self.resistance, self.inductance, self.rates, self.weights):
            array.flags.writeable = False

    @property
    def dc_resistance(self) -> NDArray[np.float64]:
        """Resistance at DC, (l, l) [ohm/m]."""
        return self.resistance

    @property
    def dc_inductance(self) -> NDArray[np.float64]:
        """Inductance at DC, (l, l) [H/m]."""
        return self.inductance + self.weights.T @ (self.weights / self.rates[:, None])

    def impedance(self, frequency: float) -> NDArray[np.complex128]:
        """Loop impedance Z' at a frequency of the band or below it, (l, l) [ohm/m].

        Raises
        ------
        ValueError
            If the frequency is negative or above the band.
        """
        if not 0 <= frequency <= self.band[1] * (1 + 1e-12):
            raise ValueError(f"frequency is {frequency:g} Hz; the model holds from 0 to {self.band[1]:g} Hz")
        s = 2j * math.pi * frequency
        cells = self.weights.T @ (self.weights * (s / (s + self.rates))[:, None])
        return np.asarray(self.resistance + s * self.inductance + cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesResistor:
    """A resistor [ohm] that every loop's current passes, multiplied by the loop's turns ratio."""

    resistance: float
    turns: tuple[float, ...]

    def impedance(self, s: complex) -> complex:
        """Impedance at the complex frequency `s` [ohm]."""
        return complex(self.resistance)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesInductor:
    """An inductor [H] that every loop's current passes, multiplied by the loop's turns ratio."""

    inductance: float
    turns: tuple[float, ...]

    def impedance(self, s: complex) -> complex:
        """Impedance at the complex frequency `s` [ohm]."""
        return s * self.inductance


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A resistor [ohm] and an inductor [H] in parallel that every loop's current passes, times its turns ratio."""

    resistance: float
    inductance: float
    turns: tuple[float, ...]

    def impedance(self, s: complex) -> complex:
        """Impedance at the complex frequency `s` [ohm]."""
        return s * self.inductance * self.resistance / (self.resistance + s * self.inductance)


@dataclass(frozen=True, slots=True, kw_only=True)
class RLNetwork:
    """Elements in series; with one loop every turns ratio is 1, with several the loops couple through them.

    Parameters
    ----------
    resistors : tuple of SeriesResistor
        What is left at DC.
    inductors : tuple of SeriesInductor
        What is left at the highest frequencies.
    cells : tuple of Cell
        Skin and proximity effect, lowest corner of a stretch first.
    band : tuple of float
        Lowest and highest frequency it stands for [Hz].
    """

    resistors: tuple[SeriesResistor, ...]
    inductors: tuple[SeriesInductor, ...]
    cells: tuple[Cell, ...]
    band: tuple[float, float]

    @property
    def elements(self) -> tuple[SeriesResistor | SeriesInductor | Cell, ...]:
        """All elements, in the order resistors, inductors, cells."""
        return (*self.resistors, *self.inductors, *self.cells)

    @property
    def loops(self) -> int:
        """Number of loops."""
        return len(self.resistors[0].turns)

    def impedance(self, frequency: float) -> NDArray[np.complex128]:
        """Impedance of the loops by Kirchhoff's laws, (l, l) [ohm]."""
        s = 2j * math.pi * frequency
        total = np.zeros((self.loops, self.loops), dtype=complex)
        for element in self.elements:
            total += element.impedance(s) * np.outer(element.turns, element.turns)
        return total


def network(model: BroadbandModel, *, length: float = 1.0) -> RLNetwork:
    """Elements of the circuit that a broadband model stands for.

    Parameters
    ----------
    model : BroadbandModel
        Per length.
    length : float
        Length by which it is multiplied [m]; the elements are per metre without it.

    Returns
    -------
    RLNetwork

    Raises
    ------
    ValueError
        If the length is not positive.

    Notes
    -----
    A matrix of rank one, c c^T, is one element behind ideal transformers of turns n = c / max c. R_0 and L_inf are
    split into such by their eigenvectors.

    References
    ----------
    .. [1] R. M. Foster, "A reactance theorem", Bell System Technical Journal 3 (1924) 259-267, for reactances; its
       form for resistors and inductors by W. Cauer, Archiv für Elektrotechnik 17 (1926) 355-388 (both from memory).

    Examples
    --------
    >>> model = BroadbandModel(
    ...     resistance=np.array([[0.5]]), inductance=np.array([[4e-7]]), rates=np.array([1e6]),
    ...     weights=np.array([[0.2]]), band=(1e3, 1e9), shifts=(1e9,), residual=0.0, resistance_residual=0.0,
    ... )
    >>> [(f"{cell.resistance:.3g}", f"{cell.inductance:.3g}") for cell in network(model, length=0.01).cells]
    [('0.0004', '4e-10')]
    """
    if not length > 0:
        raise ValueError(f"length is {length:g} m; it must be positive")
    cells = []
    for rate, weight in zip(model.rates, model.weights, strict=True):
        value, turns = _rank_one(1.0, weight)
        cells.append(Cell(resistance=value * length, inductance=value * length / float(rate), turns=turns))
    return RLNetwork(
        resistors=tuple(SeriesResistor(resistance=r * length, turns=n) for r, n in _split(model.resistance)),
        inductors=tuple(SeriesInductor(inductance=i * length, turns=n) for i, n in _split(model.inductance)),
        cells=tuple(cells),
        band=model.band,
    )


def in_series(networks: Iterable[RLNetwork]) -> RLNetwork:
    """Stretches of the same loops one after the other, as one circuit over the band they share.

    Raises
    ------
    ValueError
        If there is none, the numbers of loops differ, or the bands do not overlap.
    """
    parts = tuple(networks)
    counts = sorted({part.loops for part in parts})
    if len(counts) != 1:
        raise ValueError(f"the stretches carry {counts} loops; they must be at least one, all of the same loops")
    band = max(part.band[0] for part in parts), min(part.band[1] for part in parts)
    if not band[0] < band[1]:
        raise ValueError("the bands of the stretches do not overlap; build their models for one band")
    return RLNetwork(
        resistors=tuple(each for part in parts for each in part.resistors),
        inductors=tuple(each for part in parts for each in part.inductors),
        cells=tuple(each for part in parts for each in part.cells),
        band=band,
    )


def scaled(circuit: RLNetwork, factor: float) -> RLNetwork:
    """The circuit with every element times a factor, as if it went on for so much longer."""
    return replace(
        circuit,
        resistors=tuple(replace(each, resistance=factor * each.resistance) for each in circuit.resistors),
        inductors=tuple(replace(each, inductance=factor * each.inductance) for each in circuit.inductors),
        cells=tuple(
            replace(each, resistance=factor * each.resistance, inductance=factor * each.inductance)
            for each in circuit.cells
        ),
    )


def with_more_inductance(circuit: RLNetwork, inductance: float) -> RLNetwork:
    """The circuit of one loop with so much more inductance [H] in series; less, if negative.

    Raises
    ------
    ValueError
        If it has several loops, or no inductance would be left.
    """
    total = sum(each.inductance for each in circuit.inductors)
    if circuit.loops != 1 or not total + inductance > 0:
        raise ValueError(
            f"{inductance:g} H cannot be added to a circuit of {circuit.loops} loops with {total:g} H beside its "
            "cells; one loop is allowed, and its inductance must stay above zero"
        )
    factor = 1 + inductance / total
    inductors = tuple(replace(each, inductance=factor * each.inductance) for each in circuit.inductors)
    return replace(circuit, inductors=inductors)


def relinked(circuit: RLNetwork, links: NDArray[np.float64]) -> RLNetwork:
    """The same elements with other turns: those of each new loop are combinations of those of the old ones.

    Parameters
    ----------
    circuit : RLNetwork
        With l loops.
    links : (k, l) array
        How much of each old loop every new one goes through; its impedance becomes links Z links^T.

    Returns
    -------
    RLNetwork
        With k loops.
    """

    def turns(old: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(float(value) for value in links @ np.array(old))

    return RLNetwork(
        resistors=tuple(replace(each, turns=turns(each.turns)) for each in circuit.resistors),
        inductors=tuple(replace(each, turns=turns(each.turns)) for each in circuit.inductors),
        cells=tuple(replace(each, turns=turns(each.turns)) for each in circuit.cells),
        band=circuit.band,
    )


def _split(matrix: NDArray[np.float64]) -> list[tuple[float, tuple[float, ...]]]:
    """Positive semi-definite matrix as terms value * n n^T, the largest first."""
    values, vectors = np.linalg.eigh((matrix + matrix.T) / 2)
    kept = values > _NOTHING * values[-1]
    return [_rank_one(float(value), vector) for value, vector in zip(values[kept], vectors.T[kept], strict=True)][::-1]


def _rank_one(value: float, vector: NDArray[np.float64]) -> tuple[float, tuple[float, ...]]:
    """Scale value * v v^T so that the largest turns ratio is 1."""
    largest = vector[int(np.abs(vector).argmax())]
    return value * float(largest) ** 2, tuple(float(each) for each in vector / largest)
