"""Emission on the page, in files and on the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from geometries.operation.emission import Emission
from geometries.quantities import MHZ
from solver.emission.results import CableBound, EmissionComparison, EmissionPrediction, Margin
from solver.notation import numbers

Document = dict[str, Any]

_SQUARE_MILLIMETRE = 1e-6
_PICO, _MICRO = 1e-12, 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class EmissionLine:
    """One variant in words, for the table of the page."""

    name: str
    lying: str
    upright: str
    added: str
    total: str
    moment_db: str
    level: str
    margin: str
    difference: str
    verdict: str
    cable_margin: str
    cable_place: str
    ground: str


def emission_lines(comparison: EmissionComparison) -> tuple[EmissionLine, ...]:
    """All variants in words.

    Parameters
    ----------
    comparison : EmissionComparison
        At least one variant.

    Returns
    -------
    tuple of EmissionLine
    """
    return tuple(_line(each, each.name == comparison.reference) for each in comparison.predictions)


def _line(each: EmissionPrediction, is_reference: bool) -> EmissionLine:
    moment, cable = each.moment, each.cable
    return EmissionLine(
        name=each.name,
        lying=_area(moment.lying),
        upright=_area(moment.upright),
        added=_area(moment.added),
        total=_area(moment.total),
        moment_db=numbers.decibel(each.moment_db),
        level=numbers.fixed(each.closest.level, 0),
        margin=numbers.fixed(each.closest.value, 0),
        difference="reference" if is_reference else _difference(each),
        verdict=each.verdict,
        cable_margin="" if cable is None else numbers.fixed(cable.closest.value, 0),
        cable_place="" if cable is None else _place(cable.closest),
        ground="" if cable is None else f"{cable.ground}, {numbers.significant(cable.ground_inductance / _PICO, 3)} pH",
    )


def _difference(each: EmissionPrediction) -> str:
    return f"{numbers.fixed(each.difference_db, 0, signed=True)} ± {numbers.fixed(each.difference_band, 1)}"


def _area(value: float) -> str:
    shown = value / _SQUARE_MILLIMETRE
    return numbers.significant(shown, 2) if shown >= 0.001 else "0"


def _place(margin: Margin) -> str:
    return f"{margin.frequency / MHZ:.0f} MHz, {margin.limit}"


def emission_inputs(emission: Emission) -> tuple[tuple[str, str], ...]:
    """What was asked, as pairs of label and value with unit."""
    rows = [
        ("switched current", f"{emission.current:g} A, {numbers.frequency(emission.frequency)}"),
        ("edges, 0 to 100 %", f"{emission.rise_time * 1e9:.3g} and {emission.fall_time * 1e9:.3g} ns"),
        ("duty of the lines", f"{100 * emission.duty:.3g} %"),
        ("ring", "of the switching edge" if emission.switching is not None else "left out"),
        ("site", f"{emission.distance:g} m, {emission.site.value} (ground adds {_gain(emission)} dB)"),
        ("band", f"±{emission.band:g} dB"),
        (
            "upright part added",
            f"{numbers.length(emission.upright_height)} × {numbers.length(emission.upright_length)}",
        ),
    ]
    if emission.cable is not None:
        rows.append(("cable", f"{emission.cable.length:g} m, {numbers.length(emission.cable.diameter)} thick"))
    if emission.stray_capacitance:
        rows.append(("stray capacitance", f"{emission.stray_capacitance / _PICO:.3g} pF"))
    return tuple(rows)


def _gain(emission: Emission) -> str:
    return "6" if emission.site.gain == 2 else "0"


def emission_document(comparison: EmissionComparison) -> Document:
    """All inputs and numbers of the emission as plain values, in SI units and levels that the keys name.

    Parameters
    ----------
    comparison : EmissionComparison
        At least one variant.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`.
    """
    emission = comparison.emission
    return {
        "sentence": comparison.sentence,
        "conventions": "levels in dB above 1 microvolt per metre, root mean square of single lines; moments per A; "
        "bounds hold for any duty; differences are against the reference, negative is less emission",
        "inputs": {
            "current_A": emission.current,
            "frequency_Hz": emission.frequency,
            "duty_1": emission.duty,
            "rise_time_s": emission.rise_time,
            "fall_time_s": emission.fall_time,
            "ring": emission.switching is not None,
            "distance_m": emission.distance,
            "site": emission.site.value,
            "band_dB": emission.band,
            "upright_height_m": emission.upright_height,
            "upright_length_m": emission.upright_length,
            "cable_length_m": None if emission.cable is None else emission.cable.length,
            "stray_capacitance_F": emission.stray_capacitance,
        },
        "limits": [
            {
                "name": line.name,
                "distance_m": line.distance,
                "source": line.source,
                "bands": [
                    {
                        "from_Hz": band.start,
                        "to_Hz": band.stop,
                        "level_dBuV_per_m": band.level,
                        "detector": band.detector,
                    }
                    for band in line.bands
                ],
            }
            for line in emission.limits
        ],
        "variants": [_prediction_document(each) for each in comparison.predictions],
    }


def _prediction_document(each: EmissionPrediction) -> Document:
    moment = each.moment
    return {
        "name": each.name,
        "moment_m2": {
            "lying": moment.lying,
            "upright": moment.upright,
            "added": moment.added,
            "total": moment.total,
            "source": moment.source,
        },
        "moment_dB": each.moment_db,
        "closest": _margin_document(each.closest),
        "difference_dB": each.difference_db,
        "difference_uncertainty_dB": each.difference_band,
        "verdict": each.verdict,
        "cable_bound": None if each.cable is None else _cable_document(each.cable),
    }


def _margin_document(margin: Margin) -> Document:
    return {
        "limit": margin.limit,
        "frequency_Hz": margin.frequency,
        "level_dBuV_per_m": margin.level,
        "limit_dBuV_per_m": margin.limit_level,
        "margin_dB": margin.value,
    }


def _cable_document(cable: CableBound) -> Document:
    return {
        "ground_conductor": cable.ground,
        "ground_inductance_H": cable.ground_inductance,
        "closest": _margin_document(cable.closest),
        "allowed_common_mode_current_A": cable.allowed_current,
        "allowed_common_mode_current_at_Hz": cable.allowed_frequency,
    }


def emission_records(comparison: EmissionComparison) -> Iterator[Sequence[object]]:
    """Lines of a table, the headings first: every line of every variant's spectrum."""
    yield (
        "variant",
        "frequency [Hz]",
        "loop, any duty [dBuV/m]",
        "loop, stated duty [dBuV/m]",
        "cable, upper bound [dBuV/m]",
        "tightest limit [dBuV/m]",
    )
    for each in comparison.predictions:
        cable = [""] * len(each.frequencies) if each.cable is None else each.cable.levels.tolist()
        for values in zip(each.frequencies.tolist(), each.bound.tolist(), each.lines.tolist(), cable, strict=True):
            yield each.name, *values, min(line.level(values[0]) for line in comparison.emission.limits)


def emission_table(comparison: EmissionComparison) -> Table:
    """Table for the terminal: margins, differences, and what cables could do."""
    emission = comparison.emission
    table = Table(
        title=f"Emission at {emission.distance:g} m, {emission.site.value}; loop alone ±{emission.band:g} dB",
        title_justify="left",
        box=SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
    table.add_column(Text("variant"), overflow="fold", min_width=14)
    for heading in ("moment\n[mm²]", "margin\n[dB]", "at\n[MHz]", "difference\n[dB]", "cable, bound\n[dB]"):
        table.add_column(Text(heading), justify="right", no_wrap=True)
    for each, line in zip(comparison.predictions, emission_lines(comparison), strict=True):
        at = f"{each.closest.frequency / MHZ:.0f}"
        table.add_row(*map(Text, (line.name, line.total, line.margin, at, line.difference, line.cable_margin)))
    return table
