"""The report as a folder: page, tables, result, figures and fields, written all together or not at all."""

from __future__ import annotations

import csv
import json
import os
import secrets
import shutil
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import product
from pathlib import Path

from geometries.quantities import MM, NANO
from geometries.study.scenario import Scenario, Variant
from solver.circuit.rl_network import RLNetwork
from solver.errors import ReportError, system_failures_reported
from solver.figures import save_figure
from solver.notation import numbers
from solver.notation.labels import Wording, scenario_wording, wording
from solver.report import spice, touchstone
from solver.report.axisymmetric_section import axis_records, shielding_records, view_records
from solver.report.document import SCHEMA, result_document
from solver.report.drawings import draw_study
from solver.report.emission_section import emission_records
from solver.report.file_names import file_names
from solver.report.html import render_page
from solver.report.pickup_section import pickup_records
from solver.report.summary_section import summary_records
from solver.report.victim_circuit import VictimNodes, victim_nodes, with_victims
from solver.section.mesh import write_field_file
from solver.section.results import FieldMap, PotentialMap
from solver.study.results import StudyResult

__all__ = ["RESULT_FILE", "require_writable", "result_document", "write_report"]

RESULT_FILE = "result.json"
"""The file by which a report folder of ours is known; it lists every file of the folder."""


def write_report(study: StudyResult, folder: Path) -> tuple[Path, ...]:
    """Write the report of a study into a folder.

    Everything is first written into a new folder beside it, which then takes its place. An older report of ours
    is replaced: moved aside before, removed after, so that an interruption leaves the old or the new one.

    Parameters
    ----------
    study : StudyResult
        Finished or interrupted, with at least one solved variant.
    folder : Path
        Where to; made if it does not exist.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    ReportError
        If the folder cannot be written, or holds files that are not of an older report of ours; nothing was
        changed.
    """
    require_writable(folder)
    with system_failures_reported(f"cannot write the report to {folder}"), _fresh_sibling(folder) as fresh:
        names = _write_all(study, fresh)
        _put_in_place(fresh, folder)
    return tuple(folder / name for name in names)


def require_writable(folder: Path) -> None:
    """Check, before a long computation, that a report can be written into `folder`.

    Raises
    ------
    ReportError
        If it is a file, holds foreign files, or the folder above it may not be written to.
    """
    with system_failures_reported(f"cannot write the report to {folder}"):
        if folder.exists() and not folder.is_dir():
            raise ReportError(f"cannot write the report to {folder}: it is a file; name a folder")
        foreign = _foreign_files(folder) if folder.exists() else []
        if foreign:
            shown = ", ".join(foreign[:5]) + (f" and {len(foreign) - 5} more" if len(foreign) > 5 else "")
            raise ReportError(
                f"cannot write the report to {folder}: it holds files that are not of an earlier report "
                f"({shown}); name another folder, or move these files away"
            )
        folder.resolve().parent.mkdir(parents=True, exist_ok=True)
        if not os.access(folder.resolve().parent, os.W_OK | os.X_OK):
            raise PermissionError(13, "no permission to write")


def _foreign_files(folder: Path) -> list[str]:
    """Files in the folder that no earlier report of ours lists."""
    present = sorted(
        path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_symlink() or not path.is_dir()
    )
    return [name for name in present if name not in _listed_files(folder / RESULT_FILE)]


def _listed_files(result_file: Path) -> frozenset[str]:
    """Files that an earlier report lists as its own; none if there is no such report."""
    if not result_file.is_file():
        return frozenset()
    try:
        document = json.loads(result_file.read_text(encoding="utf-8"))
    except ValueError:
        return frozenset()
    if not isinstance(document, dict) or document.get("schema") != SCHEMA:
        return frozenset()
    return frozenset(document.get("files", ()))


@contextmanager
def _fresh_sibling(folder: Path) -> Iterator[Path]:
    """A new folder beside `folder`, removed afterwards unless it was moved away."""
    target = folder.resolve()
    fresh = target.parent / f".{target.name}.new-{secrets.token_hex(4)}"
    fresh.mkdir()
    try:
        yield fresh
    finally:
        if fresh.exists():
            shutil.rmtree(fresh)


def _put_in_place(fresh: Path, folder: Path) -> None:
    """Move the finished folder to its place; an older report is set aside first and removed last."""
    target = folder.resolve()
    if not target.exists():
        fresh.rename(target)
        return
    aside = target.parent / f"{target.name}.previous-{secrets.token_hex(4)}"
    target.rename(aside)
    try:
        fresh.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    shutil.rmtree(aside)


def _write_all(study: StudyResult, folder: Path) -> tuple[str, ...]:
    """Write every file into the folder and return their names; the result, which lists them, comes last."""
    drawings = draw_study(study)
    (folder / "report.html").write_text(render_page(study, drawings), encoding="utf-8")
    _write_table(folder / "comparison.csv", _comparison_records(study))
    if study.summary is not None:
        _write_table(folder / "deciding.csv", summary_records(study.summary))
    _write_table(folder / "impedance.csv", _impedance_records(study))
    _write_table(folder / "field_lines.csv", _field_scan_records(study))
    if study.emission is not None:
        _write_table(folder / "emission.csv", emission_records(study.emission))
    if any(result.pickup is not None for result in study.results):
        _write_table(folder / "pickup.csv", pickup_records(study))
    if study.axisymmetric_views is not None and study.axisymmetric_views.rows:
        _write_table(folder / "round_view.csv", view_records(study))
        _write_table(folder / "shielding.csv", shielding_records(study))
        _write_table(folder / "axis.csv", axis_records(study))
    (folder / "figures").mkdir()
    for drawing in drawings:
        save_figure(drawing.figure, folder / "figures" / f"{drawing.name}.png")
        (folder / "figures" / f"{drawing.name}.svg").write_text(drawing.svg, encoding="utf-8")
    (folder / "fields").mkdir()
    (folder / "circuits").mkdir()
    slugs = file_names(result.variant.name for result in study.results)
    for result in study.results:
        slug = slugs[result.variant.name]
        _write_field(folder / "fields" / f"{slug}.vtu", result.sampled_field, wording(result.variant.view))
        heard, variant = result.pickup, result.variant
        if heard is not None and heard.potential_map is not None:
            _write_potential(folder / "fields" / f"{slug}-potential.vtu", heard.potential_map)
        circuit = result.circuit if heard is None else with_victims(result, heard)
        victims = None if heard is None else victim_nodes(heard, variant.length)
        _write_circuits(folder / "circuits", slug, circuit, variant, study.scenario, victims)
    names = [path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()]
    names = sorted([*names, RESULT_FILE])
    document = {**result_document(study), "files": names}
    content = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)
    (folder / RESULT_FILE).write_text(content + "\n", encoding="utf-8")
    return tuple(names)


def _write_table(path: Path, records: Iterable[Sequence[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        for record in records:
            writer.writerow([f"{cell:.10g}" if isinstance(cell, float) else cell for cell in record])


def _comparison_records(study: StudyResult) -> Iterator[Sequence[object]]:
    words = scenario_wording(study.scenario)
    yield (
        "variant",
        "report frequency [Hz]",
        *(("length [mm]",) if words.per_metre else ()),
        "loop inductance [nH]",
        "mesh error of loop inductance [nH]",
        "loop resistance [mOhm]",
        "change of loop inductance [nH]",
        "change of loop inductance [%]",
        "peak H above [dB]",
        "peak H below [dB]",
        f"{words.moment} [dB]",
    )
    frequency = study.scenario.analysis.report_frequency
    lengths = {result.variant.name: sum(each.length for each in result.segments) for result in study.results}
    for row in study.rows:
        yield (
            row.name,
            frequency,
            *((lengths[row.name] / MM,) if words.per_metre else ()),
            row.inductance / NANO,
            row.inductance_error / NANO,
            row.resistance / numbers.MILLI,
            row.change / NANO,
            100 * row.change_fraction,
            row.above_db,
            row.below_db,
            row.moment_db,
        )


def _impedance_records(study: StudyResult) -> Iterator[Sequence[object]]:
    words = scenario_wording(study.scenario)
    yield (
        "variant",
        "segment",
        "loop",
        "coupled loop",
        "frequency [Hz]",
        words.heading("resistance", "Ohm"),
        words.heading("inductance", "H"),
    )
    for result in study.results:
        loops = [loop.name for loop in result.variant.section.loops]
        places = product(range(len(result.frequencies)), range(len(loops)), range(len(loops)))
        for segment, (index, row, column) in product(result.segments, places):
            yield (
                result.variant.name,
                segment.name,
                loops[row],
                loops[column],
                float(result.frequencies[index]),
                float(segment.resistance[index, row, column]),
                float(segment.inductance[index, row, column]),
            )


def _field_scan_records(study: StudyResult) -> Iterator[Sequence[object]]:
    sign = scenario_wording(study.scenario).position_sign
    yield "variant", "side", "distance from board [mm]", f"{sign} [mm]", "H [A/m per A]"
    for result in study.results:
        for line in result.lines:
            for x, magnitude in zip(line.x, line.magnitude, strict=True):
                yield result.variant.name, line.side, line.distance / MM, float(x) / MM, float(magnitude)


def _write_field(path: Path, field_map: FieldMap, words: Wording) -> None:
    name, unit = words.potential_key, words.potential_unit
    write_field_file(
        path,
        points=field_map.points,
        triangles=field_map.triangles,
        point_data={
            f"{name}_real_{unit}": field_map.potential.real.copy(),
            f"{name}_imag_{unit}": field_map.potential.imag.copy(),
            "current_density_real_A_per_m2_per_A": field_map.density.real.copy(),
            "current_density_imag_A_per_m2_per_A": field_map.density.imag.copy(),
        },
        cell_data={"region_index": field_map.regions},
    )


def _write_potential(path: Path, potential_map: PotentialMap) -> None:
    values = {"electric_potential_of_switch_node_V_per_V": potential_map.potential}
    write_field_file(
        path, points=potential_map.points, triangles=potential_map.triangles, point_data=values, cell_data={}
    )


def _write_circuits(
    folder: Path,
    slug: str,
    circuit: RLNetwork,
    variant: Variant,
    scenario: Scenario,
    victims: VictimNodes | None = None,
) -> None:
    """Write one variant's subcircuit, with its victims, the deck that tries it out, and its Touchstone file."""
    contents = {
        f"{slug}.sub": spice.subcircuit(circuit, variant, scenario, slug, victims),
        f"{slug}-test.cir": spice.deck(circuit, variant, scenario, slug, victims),
        f"{slug}{touchstone.touchstone_suffix(circuit)}": touchstone.touchstone(circuit, variant, scenario, victims),
    }
    for name, content in contents.items():
        (folder / name).write_text(content, encoding="ascii")
