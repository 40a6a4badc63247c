"""What was measured beside its prediction: tables for people, plain values for machines."""

from __future__ import annotations

from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.quantities import NANO, Quantity
from solver.measurement.results import DamperProposal, InductancePart, MeasurementResult, PairReading
from solver.notation import numbers

_PICO = 1e-12
Row = tuple[str, str]


def pair_rows(pair: PairReading) -> list[Row]:
    """Capacitance and inductance of a pair of ring frequencies, with the parts of the inductance."""
    rows = [("capacitance of the switch node", f"{numbers.banded(pair.capacitance, pair.capacitance_error, _PICO)} pF")]
    if pair.stated_capacitance is not None:
        rows.append(("the scenario states", numbers.with_unit(pair.stated_capacitance, Quantity.CAPACITANCE)))
    rows.append(("inductance of the whole loop", f"{numbers.banded(pair.inductance, pair.inductance_error, NANO)} nH"))
    return [*rows, *part_rows(pair.parts)]


def part_rows(parts: tuple[InductancePart, ...]) -> list[Row]:
    """An inductance by its parts, the one that is not explained last."""
    return [(part.name, f"{numbers.banded(part.value, part.error, NANO)} nH") for part in parts]


def proposal_row(proposal: DamperProposal) -> tuple[str, str, str, str]:
    """Capacitance, usual and searched resistance, and loss; a dash for what is not computed."""
    searched, loss = proposal.searched_resistance, proposal.loss
    return (
        numbers.with_unit(proposal.capacitance, Quantity.CAPACITANCE),
        numbers.with_unit(proposal.resistance, Quantity.RESISTANCE),
        "–" if searched is None else numbers.with_unit(searched, Quantity.RESISTANCE),
        "–" if loss is None else numbers.milliwatt(loss),
    )


PROPOSAL_HEADINGS = ("snubber capacitance", "resistance √(L/C)", "least overshoot by search", "loss C V² f")
"""Of :func:`proposal_row`."""


def measurement_tables(measurement: MeasurementResult) -> list[Table]:
    """Tables for the terminal, as far as something was measured."""
    tables = []
    if measurement.pair is not None:
        tables.append(_rows_table("from the pair of ring frequencies", pair_rows(measurement.pair)))
        proposals = Table(box=SIMPLE_HEAD, pad_edge=False)
        for heading in PROPOSAL_HEADINGS:
            proposals.add_column(Text(heading), justify="right")
        for proposal in measurement.pair.proposals:
            proposals.add_row(*(Text(cell) for cell in proposal_row(proposal)))
        tables.append(proposals)
    if measurement.impedance is not None:
        at = numbers.frequency(measurement.impedance.compared_at)
        tables.append(_rows_table(f"from {measurement.impedance.name} at {at}", part_rows(measurement.impedance.parts)))
    return tables


def _rows_table(title: str, rows: list[Row]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False, title=title, title_justify="left", show_header=False)
    table.add_column()
    table.add_column(justify="right")
    for label, value in rows:
        table.add_row(Text(label), Text(value))
    return table


def measurement_document(measurement: MeasurementResult) -> dict[str, Any]:
    """Everything measured as plain values, in SI units that the keys name; what was not measured is None."""
    return {
        "variant": measurement.variant,
        "sentence": measurement.sentence,
        "ring_pair": None if measurement.pair is None else _pair_document(measurement.pair),
        "impedance": None
        if measurement.impedance is None
        else {
            "file": measurement.impedance.name,
            "compared_at_Hz": measurement.impedance.compared_at,
            "parts": _part_documents(measurement.impedance.parts),
            "frequencies_Hz": measurement.impedance.frequencies.tolist(),
            "measured_resistance_ohm": measurement.impedance.measured.real.tolist(),
            "measured_inductance_H": measurement.impedance.measured_inductances.tolist(),
            "predicted_resistance_ohm": measurement.impedance.predicted.real.tolist(),
            "predicted_inductance_H": measurement.impedance.predicted_inductances.tolist(),
        },
        "spectrum": None
        if measurement.spectrum is None
        else {
            "file": measurement.spectrum.name,
            "frequencies_Hz": measurement.spectrum.frequencies.tolist(),
            "measured_dBuV_per_m": measurement.spectrum.measured.tolist(),
            "predicted_bound_of_loop_dBuV_per_m": measurement.spectrum.predicted.tolist(),
        },
    }


def _pair_document(pair: PairReading) -> dict[str, Any]:
    return {
        "capacitance_F": pair.capacitance,
        "capacitance_uncertainty_F": pair.capacitance_error,
        "inductance_H": pair.inductance,
        "inductance_uncertainty_H": pair.inductance_error,
        "parts": _part_documents(pair.parts),
        "snubbers": [
            {
                "capacitance_F": each.capacitance,
                "resistance_ohm": each.resistance,
                "resistance_of_least_overshoot_ohm": each.searched_resistance,
                "loss_W": each.loss,
            }
            for each in pair.proposals
        ],
    }


def _part_documents(parts: tuple[InductancePart, ...]) -> list[dict[str, Any]]:
    return [{"part": part.name, "inductance_H": part.value, "uncertainty_H": part.error} for part in parts]
