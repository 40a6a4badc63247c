"""The loops of a layout as a Touchstone file, version 1.1."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from geometries.study.scenario import Variant
from solver.circuit.rl_network import RLNetwork
from solver.notation.labels import wording
from solver.report.remarks import commented
from solver.report.victim_circuit import VictimNodes

_REFERENCE = 50.0
_POINTS_PER_DECADE = 40
_PAIRS_PER_LINE = 4


def touchstone_suffix(circuit: RLNetwork) -> str:
    """Suffix of the file, which tells the number of ports: ``.s1p`` for one loop."""
    return f".s{circuit.loops}p"


def touchstone(circuit: RLNetwork, variant: Variant, remarks: Sequence[str], victims: VictimNodes | None = None) -> str:
    """Scattering parameters of a variant's loops at 50 ohm; port k is loop k.

    Parameters
    ----------
    circuit, variant, remarks : RLNetwork, Variant, sequence of str
        As for :func:`solver.report.spice.subcircuit`.
    victims : VictimNodes, optional
        Names of all loops, where the circuit holds those of victims; their capacitances are not in the file.

    Returns
    -------
    str
        The file's content: frequencies in equal ratios over the band of the circuit, real and imaginary parts with so
        many digits that the loop's few milliohms survive beside 50 ohm.
    """
    names = variant.loop_names if victims is None else victims.loops
    loops = ", ".join(f"{number} is {name}" for number, name in enumerate(names, start=1))
    lines = commented((*remarks, f"Ports, {wording(variant.view).ports}: {loops}"), "!")
    lines.append(f"# HZ S RI R {_REFERENCE:g}")
    for frequency in _frequencies(circuit.band):
        lines += _record(frequency, _scattering(circuit.impedance(frequency)))
    return "\n".join(lines) + "\n"


def _frequencies(band: tuple[float, float]) -> list[float]:
    points = max(2, round(_POINTS_PER_DECADE * np.log10(band[1] / band[0])) + 1)
    return [float(frequency) for frequency in np.geomspace(*band, points)]


def _scattering(impedance: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """S = (Z - R)(Z + R)^-1, symmetric as Z is."""
    port = _REFERENCE * np.eye(len(impedance))
    return np.asarray(np.linalg.solve(impedance + port, impedance - port), dtype=np.complex128)


def _record(frequency: float, scattering: NDArray[np.complex128]) -> Iterator[str]:
    """Lines of one frequency: one or two ports on one line, more ports row by row, four pairs to a line."""
    rows = scattering.T.reshape(1, -1) if len(scattering) <= 2 else scattering
    start = f"{frequency:.15g}"
    for row in rows:
        pairs = [f"{value.real:.16e} {value.imag:.16e}" for value in row]
        for first in range(0, len(pairs), _PAIRS_PER_LINE):
            yield " ".join([start, *pairs[first : first + _PAIRS_PER_LINE]]).strip()
            start = ""
