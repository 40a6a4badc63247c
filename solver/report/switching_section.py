"""The switching edge in words: rows for page and terminal, plain values for machines."""

from __future__ import annotations

import math
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.operation.switching import Switching
from geometries.quantities import MHZ, NANO, Quantity
from solver.notation import numbers
from solver.switching.results import SwitchingComparison, SwitchingReading, Waveform
from solver.switching.snubber import SnubberReading

Row = tuple[str, str]

HEADINGS = (
    ("total L", "nH"),
    ("ring", "MHz"),
    ("Q", ""),
    ("peak", "V"),
    ("over", "%"),
    ("settled", "ns"),
    ("spare L", "nH"),
    ("edge ≥", "ns"),
)
"""Of :func:`reading_cells`, with their units; the last two only with a voltage limit."""


def headings(comparison: SwitchingComparison) -> tuple[tuple[str, str], ...]:
    """The headings that a comparison has values for."""
    return HEADINGS if comparison.switching.voltage_limit is not None else HEADINGS[:-2]


def reading_cells(comparison: SwitchingComparison, reading: SwitchingReading) -> tuple[str, ...]:
    """One variant's numbers, one for each heading."""
    wave = reading.built
    ring = wave.ring
    cells = (
        numbers.significant(reading.total_inductance / NANO, 3),
        "none" if ring is None else numbers.banded(ring.frequency, reading.frequency_error, MHZ),
        "–" if ring is None else numbers.significant(ring.quality, 2),
        numbers.banded(wave.peak.voltage, reading.peak_error, 1.0),
        numbers.fixed(100 * wave.overshoot, 0),
        numbers.significant(wave.settling / NANO, 2),
    )
    if reading.inductance_margin is None or reading.edge_needed is None:
        return cells
    spare = reading.inductance_margin
    return (
        *cells,
        "any" if math.isinf(spare) else numbers.fixed(spare / NANO, 2, signed=True),
        "any" if reading.edge_needed == 0 else numbers.significant(reading.edge_needed / NANO, 2),
    )


def switching_table(comparison: SwitchingComparison) -> Table:
    """All variants for the terminal."""
    switching = comparison.switching
    edge = numbers.with_unit(switching.full_edge, Quantity.TIME)
    table = Table(
        title=f"Switching edge: {numbers.with_unit(switching.input_voltage, Quantity.VOLTAGE)} in {edge} (0 to 100 %)",
        title_justify="left",
        box=SIMPLE_HEAD,
        pad_edge=False,
        padding=0,
    )
    table.add_column(Text("variant"), overflow="fold", min_width=14)
    for name, unit in headings(comparison):
        table.add_column(Text(f"{name}\n[{unit}]" if unit else name), justify="right", no_wrap=True)
    for reading in comparison.readings:
        table.add_row(Text(reading.name), *(Text(cell) for cell in reading_cells(comparison, reading)))
    return table


def input_rows(switching: Switching) -> list[Row]:
    """What was assumed of the switch, with a mark where a typical value stands for one that was not stated."""
    assumed = {key: ", typical (common practice)" for key in switching.assumed}
    tolerance = switching.tolerance
    edge = numbers.with_unit(switching.full_edge, Quantity.TIME)
    rows = [
        ("input voltage", numbers.with_unit(switching.input_voltage, Quantity.VOLTAGE)),
        ("edge, 0 to 100 %, straight", edge + _band(tolerance.edge_time)),
        (
            "output capacitance, effective at the input voltage",
            numbers.with_unit(switching.output_capacitance, Quantity.CAPACITANCE) + _band(tolerance.output_capacitance),
        ),
        (
            "resistance of switch and capacitor, added damping",
            numbers.with_unit(switching.series_resistance, Quantity.RESISTANCE) + _band(tolerance.resistance),
        ),
        (
            "inductance beside the copper: packages, capacitor",
            f"{numbers.significant(switching.package_inductance / NANO, 3)} nH"
            + _band(tolerance.package_inductance)
            + assumed.get("package_inductance", ""),
        ),
    ]
    if switching.voltage_limit is not None and switching.voltage_rating is not None:
        limit = numbers.with_unit(switching.voltage_limit, Quantity.VOLTAGE)
        rating = numbers.with_unit(switching.voltage_rating, Quantity.VOLTAGE)
        derating = f"{100 * switching.derating:.3g} %{assumed.get('derating', '')}"
        rows.append(("voltage limit", f"{limit}: {derating} of {rating}"))
    return rows


def _band(fraction: float) -> str:
    return f" ± {100 * fraction:.3g} %" if fraction > 0 else ""


def snubber_cells(snubber: SnubberReading) -> tuple[str, ...]:
    """Purpose, elements, what is left of peak and ring, loss."""
    return (
        snubber.purpose,
        numbers.with_unit(snubber.resistance, Quantity.RESISTANCE),
        numbers.with_unit(snubber.capacitance, Quantity.CAPACITANCE),
        f"{numbers.significant(snubber.peak, 3)} V",
        "no ring" if snubber.quality is None else numbers.significant(snubber.quality, 2),
        "–" if snubber.loss is None else numbers.milliwatt(snubber.loss),
    )


def largest_inductance_words(comparison: SwitchingComparison) -> str:
    """The largest inductance that keeps the limit, in a sentence; empty without limit."""
    most, limit = comparison.largest_inductance, comparison.switching.voltage_limit
    if most is None or limit is None:
        return ""
    if math.isinf(most):
        return f"No inductance reaches {limit:.3g} V with the stated resistance."
    return (
        f"With the stated resistance alone, constant elements and no snubber, {limit:.3g} V is kept up to "
        f"{numbers.significant(most / NANO, 3)} nH in the whole loop, package included."
    )


def switching_document(comparison: SwitchingComparison) -> dict[str, Any]:
    """Everything as plain values, in SI units that the keys name."""
    switching = comparison.switching
    return {
        "sentence": comparison.sentence,
        "input_voltage_V": switching.input_voltage,
        "edge_0_to_100_percent_s": switching.full_edge,
        "output_capacitance_F": switching.output_capacitance,
        "series_resistance_ohm": switching.series_resistance,
        "package_inductance_H": switching.package_inductance,
        "typical_values_stand_for": list(switching.assumed),
        "voltage_limit_V": switching.voltage_limit,
        "largest_inductance_H": comparison.largest_inductance,
        "variants": [_reading_document(comparison, reading) for reading in comparison.readings],
    }


def _reading_document(comparison: SwitchingComparison, reading: SwitchingReading) -> dict[str, Any]:
    return {
        "variant": reading.name,
        "total_inductance_H": reading.total_inductance,
        "copper_inductance_at_ring_H": reading.copper_inductance,
        "copper_resistance_at_ring_ohm": reading.copper_resistance,
        "quality_factor_of_copper_alone_1": reading.quality_of_copper,
        "keeps_voltage_limit": comparison.keeps_limit(reading),
        "peak_uncertainty_V": reading.peak_error,
        "ring_frequency_uncertainty_Hz": reading.frequency_error,
        "uncertainty_parts": [
            {"source": each.source, "peak_V": each.peak, "ring_frequency_Hz": each.frequency}
            for each in reading.influences
        ],
        "spare_inductance_H": reading.inductance_margin,
        "edge_needed_0_to_100_percent_s": reading.edge_needed,
        "without_snubber": _wave_document(reading.plain),
        "with_stated_snubber": None if reading.damped is None else _wave_document(reading.damped),
        "snubbers": [
            {
                "purpose": each.purpose,
                "resistance_ohm": each.resistance,
                "capacitance_F": each.capacitance,
                "peak_V": each.peak,
                "quality_factor_1": each.quality,
                "loss_W": each.loss,
            }
            for each in reading.snubbers
        ],
    }


def _wave_document(wave: Waveform) -> dict[str, Any]:
    return {
        "peak_V": wave.peak.voltage,
        "overshoot_fraction_1": wave.overshoot,
        "peak_time_s": wave.peak.time,
        "ring_frequency_Hz": None if wave.ring is None else wave.ring.frequency,
        "quality_factor_1": None if wave.ring is None else wave.ring.quality,
        "settling_to_5_percent_s": wave.settling,
        "times_s": wave.times.tolist(),
        "voltage_V": wave.voltage.tolist(),
        "current_A": wave.current.tolist(),
    }
