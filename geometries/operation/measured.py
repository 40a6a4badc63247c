"""Measurements from files: impedance from Touchstone, spectrum from comma-separated values."""

from __future__ import annotations

import math
import warnings
from itertools import pairwise
from pathlib import Path

from geometries.errors import GeometryError, ScenarioError
from geometries.operation.comma_tables import read_comma_table, read_level
from geometries.operation.measurements import MeasuredImpedance, MeasuredSpectrum
from geometries.quantities import Quantity, read_quantity


def read_impedance(path: Path) -> MeasuredImpedance:
    """Read the impedance of one port from a Touchstone file.

    Parameters
    ----------
    path : Path
        A file of one port, ``.s1p`` or ``.ts``, version 1 or 2, with S, Z or Y parameters.

    Returns
    -------
    MeasuredImpedance

    Raises
    ------
    ScenarioError
        If the file cannot be read, has several ports, or holds values that are no impedance.
    """
    import skrf  # half a second, which a scenario without such a file need not wait for

    if not path.is_file():
        raise ScenarioError(f"{path}: there is no such Touchstone file; check the path")
    try:
        network = skrf.Network()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what it warns of is refused below
            network.read_touchstone(str(path))
        frequencies, impedances = network.f.tolist(), network.z[:, 0, 0].tolist()
    except (ValueError, IndexError, KeyError, AttributeError, EOFError, OSError, NotImplementedError) as error:
        raise ScenarioError(
            f"{path}: cannot be read as a Touchstone file ({error}); its first line that is no remark reads, for "
            "example, # MHZ S RI R 50"
        ) from error
    if network.nports != 1:
        raise ScenarioError(f"{path}: has {network.nports} ports; the impedance of a loop is measured at one: .s1p")
    if not frequencies:
        raise ScenarioError(f"{path}: holds no line of values; save the measurement again")
    if not frequencies[0] > 0 or not all(0 < low < high for low, high in pairwise(frequencies)):
        raise ScenarioError(f"{path}: the frequencies must be above zero and rise from line to line")
    if not all(math.isfinite(each.real) and math.isfinite(each.imag) for each in impedances):
        raise ScenarioError(f"{path}: holds an open circuit or values that are no numbers; leave those lines out")
    return MeasuredImpedance(name=path.name, frequencies=tuple(frequencies), impedances=tuple(impedances))


def read_spectrum(path: Path) -> MeasuredSpectrum:
    """Read a spectrum from a CSV file.

    Parameters
    ----------
    path : Path
        Headings ``frequency,level``, then for instance ``120 MHz,34.5``: a frequency with its unit and a level in
        dBµV/m.

    Returns
    -------
    MeasuredSpectrum
        In ascending order of frequency.

    Raises
    ------
    ScenarioError
        If the file cannot be read or a line does not hold the two; the message names file and line.
    """
    rows = [_read_line(place, cells) for place, cells in read_comma_table(path, ("frequency", "level"), what="levels")]
    frequencies, levels = zip(*sorted(rows), strict=True)
    return MeasuredSpectrum(name=path.name, frequencies=frequencies, levels=levels)


def _read_line(place: str, cells: dict[str, str]) -> tuple[float, float]:
    try:
        frequency = read_quantity(cells["frequency"], Quantity.FREQUENCY, "frequency")
    except GeometryError as error:
        raise ScenarioError(f"{place}: {error}") from error
    level = read_level(cells["level"], place)
    if not (frequency > 0 and math.isfinite(level)):
        raise ScenarioError(f"{place}: {cells['frequency']}, {cells['level']}: no level at a frequency above zero")
    return frequency, level
