"""From the `[measurement]` table of a scenario file to :class:`~geometries.operation.measurements.Measurement`."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from geometries.errors import ScenarioError
from geometries.files.measured import read_impedance, read_spectrum
from geometries.files.tables import Capacitance, Fraction, Frequency, Table
from geometries.operation.measurements import Measurement, RingPair


class MeasurementTable(Table):
    """What was measured on one of the variants."""

    variant: str = ""
    ring_frequency: Frequency | None = None
    loaded_ring_frequency: Frequency | None = None
    added_capacitance: Capacitance | None = None
    probe_capacitance: Capacitance = 0.0
    frequency_error: Fraction = 0.01
    capacitance_error: Fraction = 0.05
    impedance: str = ""
    spectrum: str = ""


def build_measurement(table: MeasurementTable, folder: Path, reference: str, computed: Collection[str]) -> Measurement:
    """Build what a scenario says about the bench.

    Parameters
    ----------
    table : BenchTable
        As written.
    folder : Path
        Where its files are looked for.
    reference : str
        The variant that was measured if the table names none.
    computed : collection of str
        Tables that the scenario has.

    Returns
    -------
    Bench

    Raises
    ------
    ScenarioError
        If a value is impossible, one of the pair is missing, a file cannot be read, or there is no prediction for it.
    """
    if table.spectrum and "emission" not in computed:
        raise ScenarioError(
            "measurement: a spectrum is set beside the predicted emission, and the scenario has no [emission] table; add "
            "one, or remove the key spectrum"
        )
    return Measurement(
        variant=table.variant or reference,
        pair=_build_pair(table),
        impedance=read_impedance(folder / table.impedance) if table.impedance else None,
        spectrum=read_spectrum(folder / table.spectrum) if table.spectrum else None,
    )


def _build_pair(table: MeasurementTable) -> RingPair | None:
    given = {
        "ring_frequency": table.ring_frequency,
        "loaded_ring_frequency": table.loaded_ring_frequency,
        "added_capacitance": table.added_capacitance,
    }
    missing = [key for key, value in given.items() if value is None]
    if len(missing) == len(given):
        return None
    if table.ring_frequency is None or table.loaded_ring_frequency is None or table.added_capacitance is None:
        raise ScenarioError(
            f"measurement: {', '.join(missing)} is missing; a pair of ring frequencies needs ring_frequency, "
            "loaded_ring_frequency and added_capacitance"
        )
    return RingPair(
        frequency=table.ring_frequency,
        loaded_frequency=table.loaded_ring_frequency,
        added_capacitance=table.added_capacitance,
        probe_capacitance=table.probe_capacitance,
        frequency_error=table.frequency_error,
        capacitance_error=table.capacitance_error,
    )
