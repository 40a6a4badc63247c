"""The numbers of a sweep as plain values for JSON, as lines of a table, and for the terminal."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.quantities import NANO, convenient_unit
from solver.notation import numbers
from solver.notation.labels import Wording, scenario_wording
from solver.report.axisymmetric_section import SHIELDING_HEADINGS, corner, shielding_document, shielding_record
from solver.study.sweep_rows import Pickup, SweepResult, SweepRow
from solver.study.warnings import study_warnings

SCHEMA = "copperfield-sweep/1"
"""Name and version of the layout of the document."""

Document = dict[str, Any]

_SHORT_TABLE = 24
_HEADINGS = (
    ("loop inductance", "nH"),
    ("mesh error", "± nH"),
    ("loop resistance", "mΩ"),
    ("|H| above", "dB"),
    ("|H| below", "dB"),
)
_PICKUP = (
    "mutual inductance of the first victim [H/m]",
    "its capacitance to the switch node [F/m]",
    "magnetic peak at its pin [V]",
    "electric peak at its pin [V]",
    "peak at its pin [V]",
)
_PER_LENGTH = ("inductance per length of the main section [H/m]", "resistance per length of the main section [Ohm/m]")


def sweep_document(result: SweepResult) -> Document:
    """All inputs and numbers of a sweep as plain values, in SI units that the keys name.

    Parameters
    ----------
    result : SweepResult
        Finished.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`.
    """
    sweep, scenario = result.sweep, result.sweep.scenario
    words = scenario_wording(scenario)
    return {
        "schema": SCHEMA,
        "complete": not result.failures,
        "finding": result.finding,
        "view": scenario.variants[0].view.value,
        "conventions": words.conventions,
        "inputs": {
            "title": scenario.title,
            "setting": scenario.setting,
            "variant": sweep.variant,
            "vary": [{"key": axis.key, "unit": axis.quantity.unit, "values": list(axis.values)} for axis in sweep.axes],
            "scenario_text": scenario.text,
        },
        "points": [_row_document(row, words) for row in result.rows],
        "not_solved": [
            {"point": each.index, "values": list(each.values), "reason": each.message} for each in result.failures
        ],
        "warnings": [{"code": each.code, "text": each.text} for each in study_warnings(scenario)],
        "versions": dict(result.versions),
    }


def _row_document(row: SweepRow, words: Wording) -> Document:
    return {
        "point": row.index,
        "values": list(row.values),
        "report_frequency_Hz": row.frequency,
        "loop_inductance_H": row.loop_inductance,
        "loop_resistance_ohm": row.loop_resistance,
        words.key("inductance", "H"): row.inductance_per_length,
        words.key("resistance", "ohm"): row.resistance_per_length,
        "loop_inductance_mesh_error_H": row.inductance_error,
        "loop_resistance_mesh_error_ohm": row.resistance_error,
        "loop_dc_inductance_H": row.dc_inductance,
        "loop_dc_resistance_ohm": row.dc_resistance,
        "loop_perfect_conductor_inductance_H": row.perfect_inductance,
        "peak_field_above_A_per_m_per_A": row.peak_above,
        "peak_field_below_A_per_m_per_A": row.peak_below,
        words.moment_key_in_full: row.moment,
        **({} if row.pickup is None else _pickup_document(row.pickup)),
        **({} if row.shielding is None else shielding_document(row.shielding)),
        "seconds_s": row.seconds,
        "warnings": list(row.warnings),
    }


def _pickup_document(pickup: Pickup) -> Document:
    return {
        "mutual_inductance_of_first_victim_H_per_m": pickup.mutual_inductance,
        "capacitance_to_switch_node_F_per_m": pickup.node_capacitance,
        "magnetic_peak_at_pin_V": pickup.magnetic_peak,
        "electric_peak_at_pin_V": pickup.electric_peak,
        "peak_at_pin_V": pickup.peak,
    }


def axis_units(result: SweepResult) -> tuple[tuple[float, str], ...]:
    """Size and name of the unit of every axis, which suits its largest value."""
    return tuple(convenient_unit(max(map(abs, axis.values)), axis.quantity) for axis in result.sweep.axes)


def sweep_records(result: SweepResult) -> Iterator[Sequence[object]]:
    """Lines of a table, the headings first; keys in the unit that suits their largest value."""
    units = axis_units(result)
    words = scenario_wording(result.sweep.scenario)
    yield (
        "point",
        *(f"{axis.key} [{unit}]" for axis, (_, unit) in zip(result.sweep.axes, units, strict=True)),
        "report frequency [Hz]",
        "loop inductance [nH]",
        "mesh error of loop inductance [nH]",
        "loop resistance [mOhm]",
        "inductance at direct current [nH]",
        "resistance at direct current [mOhm]",
        "inductance of perfect conductors [nH]",
        "peak H above [A/m per A]",
        "peak H below [A/m per A]",
        f"{words.moment} [{words.moment_unit}]",
        *(_PER_LENGTH if words.per_metre else SHIELDING_HEADINGS),
        *(_PICKUP if _hears(result) else ()),
        "warnings",
    )
    for row in result.rows:
        yield (
            row.index,
            *(value / size for value, (size, _) in zip(row.values, units, strict=True)),
            row.frequency,
            row.loop_inductance / NANO,
            row.inductance_error / NANO,
            row.loop_resistance / numbers.MILLI,
            row.dc_inductance / NANO,
            row.dc_resistance / numbers.MILLI,
            row.perfect_inductance / NANO,
            row.peak_above,
            row.peak_below,
            row.moment / words.moment_size,
            *_further_numbers(row, words),
            *(() if row.pickup is None else asdict(row.pickup).values()),
            " ".join(row.warnings),
        )


def _further_numbers(row: SweepRow, words: Wording) -> Sequence[object]:
    """Values per length of a section, or what the discs of a round loop shield."""
    if words.per_metre:
        return row.inductance_per_length, row.resistance_per_length
    return shielding_record(row.shielding)


def page_headings(result: SweepResult) -> tuple[tuple[str, str], ...]:
    """What :func:`sweep_cells` holds behind the varied keys, as pairs of name and unit."""
    heard = (("peak at the pin", "mV"),) if _hears(result) else ()
    shielding = () if _per_metre(result) else (("moment", "dB against the ring alone"), ("transparent", "below"))
    return (*_HEADINGS, *shielding, *heard)


def sweep_cells(row: SweepRow, result: SweepResult) -> tuple[str, ...]:
    """One point in words: its values, inductance, error, resistance, and field in dB against the first point."""
    first, error = result.rows[0], row.inductance_error
    units = axis_units(result)
    return (
        *(
            f"{value / size:.4g}".replace("-", "\N{MINUS SIGN}")
            for value, (size, _) in zip(row.values, units, strict=True)
        ),
        numbers.nanohenry(row.loop_inductance, error),
        numbers.nanohenry_error(row.loop_inductance, error),
        numbers.milliohm(row.loop_resistance),
        numbers.decibel(_decibels(row.peak_above, first.peak_above)),
        numbers.decibel(_decibels(row.peak_below, first.peak_below)),
        *(() if row.shielding is None else (numbers.decibel(row.shielding.moment_db), corner(row.shielding))),
        *(() if row.pickup is None else (numbers.significant(row.pickup.peak / numbers.MILLI, 3),)),
    )


def _hears(result: SweepResult) -> bool:
    return any(row.pickup is not None for row in result.rows)


def _per_metre(result: SweepResult) -> bool:
    return scenario_wording(result.sweep.scenario).per_metre


def sweep_headings(result: SweepResult) -> tuple[str, ...]:
    """Headings of what :func:`sweep_cells` holds beside the values, unit on a second line."""
    usual = ("L\n[nH]", "±\n[nH]", "R\n[mΩ]", "H above\n[dB]", "H below\n[dB]")
    shielding = () if _per_metre(result) else ("moment\n[dB]", "transparent\nbelow")
    return (*usual, *shielding, *(("at the pin\n[mV]",) if _hears(result) else ()))


def _decibels(value: float, reference: float) -> float:
    return 20 * math.log10(value / reference)


def sweep_table(result: SweepResult) -> Table:
    """Table for the terminal; of a long sweep only points at even distances."""
    rows = result.rows
    stride = -(-len(rows) // _SHORT_TABLE)
    shown = rows[::stride]
    title = f"{scenario_wording(result.sweep.scenario).title}; dB against the first point"
    if len(shown) < len(rows):
        title += f"; {len(shown)} of {len(rows)} points"
    table = Table(title=title, title_justify="left", box=SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for axis, (_, unit) in zip(result.sweep.axes, axis_units(result), strict=True):
        table.add_column(Text(f"{axis.key}\n[{unit}]"), justify="right")
    for heading in sweep_headings(result):
        table.add_column(Text(heading), justify="right", no_wrap=True)
    for row in shown:
        table.add_row(*map(Text, sweep_cells(row, result)))
    return table


def warning_lines(result: SweepResult) -> tuple[str, ...]:
    """The warnings that hold for all points, and how many points each of the others concerns."""
    counts = Counter(code for row in result.rows for code in row.warnings)
    return (
        *(f"{each.code}: {each.text}" for each in study_warnings(result.sweep.scenario)),
        *(f"{code}: at {count} of {len(result.rows)} points" for code, count in counts.items()),
    )
