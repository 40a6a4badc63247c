"""Solve the points of a sweep in processes side by side; every finished point is on the disk at once."""

from __future__ import annotations

import json
import time
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from importlib.metadata import version

from geometries.files.sweep_reading import sweep_case
from geometries.section.section import CrossSection, View
from geometries.study.scenario import Analysis, Variant
from geometries.study.sweep import Sweep, SweepCase, sweep_points
from solver.axisymmetric.results import Shielding
from solver.axisymmetric.solve import solve_axisymmetric
from solver.errors import SolverError
from solver.pickup.solve import evaluate_pickup
from solver.runs.checkpoint import Journal, Record, described_points
from solver.runs.processes import run_side_by_side
from solver.section.error_estimate import ErrorEstimate, estimate_error
from solver.section.extraction import moment_magnitude
from solver.section.field_scan import far_distance, field_scans, nearest_scan, scan_span
from solver.section.fields import FieldSolution, solve_at_frequency
from solver.section.linear_solver import one_thread
from solver.section.refinement import RefinedSection
from solver.section.solve import refine
from solver.study.sweep_rows import Pickup, SweepFailure, SweepResult, SweepRow
from solver.study.trends import find
from solver.variant.warnings import variant_warnings

SCHEMA = "copperfield-sweep-points/1"
"""Name and version of the layout of a journal of points."""


def solve_point(case: SweepCase) -> SweepRow:
    """Solve one point of a sweep at its report frequency and at both limits.

    Parameters
    ----------
    case : SweepCase
        What to solve.

    Returns
    -------
    SweepRow
        The same numbers, within their errors, that a comparison gives for such a variant.

    Raises
    ------
    SolverError
        If the section cannot be meshed or the solution is not to be trusted.
    """
    start = time.perf_counter()
    variant, analysis = case.variant, case.analysis
    span = scan_span([variant])
    main = _solve_stretch(variant.section, variant.length, analysis, far_distance(analysis, span, variant.view))
    stretches = (main, *(_solve_stretch(each.section, each.length, analysis) for each in variant.segments))
    lines = field_scans(main.field, variant.surfaces, analysis, span)
    return SweepRow(
        index=case.point.index,
        values=case.point.values,
        frequency=analysis.report_frequency,
        inductance_per_length=float(main.field.inductance_per_length[0, 0]),
        resistance_per_length=float(main.field.resistance_per_length[0, 0]),
        loop_inductance=sum(each.inductance for each in stretches),
        loop_resistance=sum(each.resistance for each in stretches),
        inductance_error=sum(each.error.inductance * each.inductance for each in stretches),
        resistance_error=sum(each.error.resistance * each.resistance for each in stretches),
        dc_inductance=sum(each.length * float(each.refined.dc_bracket.middle[0, 0]) for each in stretches),
        dc_resistance=sum(each.length * float(each.refined.static.resistance_per_length[0, 0]) for each in stretches),
        perfect_inductance=sum(each.length * float(each.refined.perfect_bracket.middle[0, 0]) for each in stretches),
        peak_above=nearest_scan(lines, "above").peak,
        peak_below=nearest_scan(lines, "below").peak,
        moment=moment_magnitude(main.field),
        seconds=time.perf_counter() - start,
        warnings=tuple(warning.code for warning in variant_warnings(variant, analysis)),
        shielding=_shielding(variant, analysis, main.refined),
        pickup=_pickup(variant, analysis),
    )


def _pickup(variant: Variant, analysis: Analysis) -> Pickup | None:
    """What the first victim hears, if there is one."""
    if variant.pickup is None:
        return None
    first = evaluate_pickup(variant.pickup, analysis).victims[0]
    return Pickup(
        mutual_inductance=abs(float(first.mutual_inductance[analysis.frequencies.index(analysis.report_frequency)])),
        node_capacitance=first.node_capacitance,
        magnetic_peak=first.signal.magnetic_peak,
        electric_peak=first.signal.electric_peak,
        peak=first.signal.peak,
    )


def _shielding(variant: Variant, analysis: Analysis, refined: RefinedSection) -> Shielding | None:
    """Of a variant that is round itself; the round view of other loops belongs to a comparison."""
    if variant.view is View.SECTION or variant.axisymmetric_loop is None:
        return None
    here = replace(analysis, frequencies=(analysis.report_frequency,))
    return solve_axisymmetric(
        variant.axisymmetric_loop, here, variant.surfaces, scan_span([variant])[1], refined=refined
    ).shielding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stretch:
    """A solved section and the length of the loop that it stands for."""

    length: float
    refined: RefinedSection
    field: FieldSolution
    error: ErrorEstimate

    @property
    def inductance(self) -> float:
        return self.length * float(self.field.inductance_per_length[0, 0])

    @property
    def resistance(self) -> float:
        return self.length * float(self.field.resistance_per_length[0, 0])


def _solve_stretch(section: CrossSection, length: float, analysis: Analysis, far: float = 0.0) -> _Stretch:
    frequency = analysis.report_frequency
    refined = refine(section, replace(analysis, frequencies=(frequency,)), far_distance=far)
    field = solve_at_frequency(refined.system, frequency)
    return _Stretch(length=length, refined=refined, field=field, error=estimate_error(field))


def solve_sweep(sweep: Sweep, journal: Journal, *, workers: int | None = None) -> Iterator[SweepRow | SweepFailure]:
    """Solve the points that the journal does not hold yet, and write each down as it is finished.

    Parameters
    ----------
    sweep : Sweep
        What to solve.
    journal : Journal
        Opened with :func:`journal_header` of the same sweep.
    workers : int, optional
        Processes; as many as there are processors if not given.

    Yields
    ------
    SweepRow or SweepFailure
        In the order in which they are finished, already in the journal. A point that cannot be solved does not stop
        the others; it is tried again when the sweep is gone on with.

    Raises
    ------
    ReportError
        If the journal cannot be written.
    SolverError
        If a process ends without a word.
    """
    solved = {row.index for row in solved_rows(journal)}
    cases = (sweep_case(sweep, point) for point in sweep_points(sweep) if point.index not in solved)
    for outcome in run_side_by_side(_attempt, cases, workers=workers):
        journal.append(_record(outcome))
        yield outcome


def journal_header(sweep: Sweep) -> Record:
    """All that the points of a sweep depend on, for :func:`solver.runs.checkpoint.open_journal`."""
    return {
        "schema": SCHEMA,
        "copperfield": version("copperfield"),
        "vary": {axis.key: list(axis.values) for axis in sweep.axes},
        "scenario": json.loads(sweep.inputs),
    }


def solved_rows(journal: Journal) -> tuple[SweepRow, ...]:
    """The solved points that are in a journal now.

    Raises
    ------
    ReportError
        If a record does not describe a point.
    """
    return tuple(_row(record, journal) for record in journal.records() if "failure" not in record)


def conclude_sweep(sweep: Sweep, outcomes: Iterable[SweepRow | SweepFailure]) -> SweepResult:
    """Put the points of a sweep in order and say what they show.

    Parameters
    ----------
    sweep : Sweep
        What was asked.
    outcomes : iterable of SweepRow or SweepFailure
        In any order.

    Returns
    -------
    SweepResult
    """
    ordered = sorted(outcomes, key=lambda each: each.index)
    rows = tuple(each for each in ordered if isinstance(each, SweepRow))
    return SweepResult(
        sweep=sweep,
        rows=rows,
        failures=tuple(each for each in ordered if isinstance(each, SweepFailure)),
        finding=find(sweep, rows),
        versions=tuple((name, version(name)) for name in ("copperfield", "gmsh", "scikit-fem", "numpy", "scipy")),
    )


def _attempt(case: SweepCase) -> SweepRow | SweepFailure:
    """A failure is an outcome too: it is written down and shown, and the other points go on."""
    try:
        with one_thread():
            return solve_point(case)
    except SolverError as failure:
        return SweepFailure(index=case.point.index, values=case.point.values, message=str(failure))


def _record(outcome: SweepRow | SweepFailure) -> Record:
    if isinstance(outcome, SweepFailure):
        return {"index": outcome.index, "values": list(outcome.values), "failure": outcome.message}
    return asdict(outcome)


def _row(record: Record, journal: Journal) -> SweepRow:
    with described_points(journal):
        lists = {"values": tuple(record["values"]), "warnings": tuple(record["warnings"])}
        given, heard = record.get("shielding"), record.get("pickup")
        parts = {
            "shielding": Shielding(**given) if isinstance(given, dict) else None,
            "pickup": Pickup(**heard) if isinstance(heard, dict) else None,
        }
        return SweepRow(**{**record, **lists, **parts})
