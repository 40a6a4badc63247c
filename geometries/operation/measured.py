"""The `[measurement]` table of a scenario, and its files: impedance from Touchstone, spectrum from CSV."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from geometries.errors import GeometryError, ScenarioError
from geometries.operation.comma_tables import read_comma_table, read_level
from geometries.operation.emission import Emission
from geometries.operation.measurements import MeasuredImpedance, MeasuredSpectrum, Measurement, RingPair
from geometries.quantities import Quantity, read_quantity
from geometries.tables import Capacitance, Described, Fraction, Frequency, OperatingTable

_PAIR = ("ring_frequency", "loaded_ring_frequency", "added_capacitance")


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementTable(OperatingTable):
    """What was measured on one of the variants, with the names of files; see :class:`Measurement` and its parts."""

    variant: str = ""
    ring_frequency: Frequency | None = None
    loaded_ring_frequency: Frequency | None = None
    added_capacitance: Capacitance | None = None
    probe_capacitance: Capacitance = 0.0
    frequency_error: Fraction = 0.01
    capacitance_error: Fraction = 0.05
    impedance: str = ""
    spectrum: str = ""

    def built(self, described: Described) -> Measurement:
        """With the contents of its files; of the reference if no variant is named."""
        if self.spectrum and described.asked(Emission) is None:
            raise ScenarioError(
                "measurement: a spectrum is set beside the predicted emission, and the scenario has no [emission] "
                "table; add one, or remove the key spectrum"
            )
        return Measurement(
            variant=self.variant or described.reference,
            pair=self._pair(),
            impedance=read_impedance(described.folder / self.impedance) if self.impedance else None,
            spectrum=read_spectrum(described.folder / self.spectrum) if self.spectrum else None,
        )

    def _pair(self) -> RingPair | None:
        frequency, loaded, added = (getattr(self, key) for key in _PAIR)
        missing = [key for key in _PAIR if getattr(self, key) is None]
        if len(missing) == len(_PAIR):
            return None
        if missing:
            raise ScenarioError(
                f"measurement: {', '.join(missing)} is missing; a pair of ring frequencies needs "
                f"{', '.join(_PAIR[:-1])} and {_PAIR[-1]}"
            )
        return RingPair(
            frequency=frequency,
            loaded_frequency=loaded,
            added_capacitance=added,
            probe_capacitance=self.probe_capacitance,
            frequency_error=self.frequency_error,
            capacitance_error=self.capacitance_error,
        )


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
