"""The report as a folder: page, tables, result, figures and fields, written all together or not at all."""

from __future__ import annotations

import json
import shutil
from contextlib import AbstractContextManager
from pathlib import Path

from geometries.study.scenario import Scenario
from geometries.text_files import shown_path
from solver.errors import system_failures_reported
from solver.notation.labels import Wording, wording
from solver.report.circuits import circuit_files, exported_circuit
from solver.report.documents import SCHEMA, study_document
from solver.report.file_names import file_names
from solver.report.html import render_hand_out, render_page, report_drawings
from solver.report.part import Drawing
from solver.report.parts import shown_parts
from solver.report.point_folder import write_drawings
from solver.report.tables import table_text
from solver.runs.folders import replaced_folder, require_folder
from solver.runs.records import DamagedRecordError, parse_record
from solver.runs.workforce import Workforce
from solver.section.mesh import write_field_file
from solver.section.results import FieldMap, PotentialMap
from solver.study.results import StudyResult
from solver.variant.results import VariantResult

HAND_OUT_FILE = "hand-out.html"
"""The first page alone."""

RESULT_FILE = "result.json"
"""The file by which a report folder of ours is known; it lists every file of the folder."""

_VARIANTS_FILE = "variants.jsonl"
"""The variants solved until now; it lies in the folder until all of them are."""

_SPACE = 15_000_000
"""Journal, field and drawings of one variant [bytes]; measured 5 to 15 million."""

_LARGEST_RESULT = 200_000_000
"""A result of more bytes is none of ours."""


def write_report(
    study: StudyResult,
    folder: Path,
    *,
    command: str = "compare",
    hand_out: bool = False,
    png: bool = False,
    workers: Workforce | int = 1,
) -> tuple[Path, ...]:
    r"""Write the report of a study into a folder.

    Everything is first written into a new folder, which then takes its place (:mod:`solver.runs.folders`). An older
    report of ours is replaced; an interruption leaves the old or the new one. The journal of the variants that are
    solved already stays if the study is not complete.

    Parameters
    ----------
    study : StudyResult
        Finished or interrupted, with at least one solved variant.
    folder : Path
        Where to; made if it does not exist.
    command : str
        That asked for it; stands in the result file.
    hand_out : bool
        Whether the report's first page is written as a page of its own too.
    png : bool
        Whether the drawings, which are SVG, are written as PNG too.
    workers : Workforce or int
        An open executor, or processes, that draw side by side.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    ReportError
        If the folder cannot be written, or holds files that are not of an older report of ours; nothing was
        changed.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import run_study, write_report
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> study = run_study(read_builtin_scenario("garden-lamp"), workers=1)
    >>> with TemporaryDirectory() as place:
    ...     files = write_report(study, Path(place) / "report")
    >>> "report.html" in [each.name for each in files]
    True
    """
    require_writable(folder)
    journal = folder / _VARIANTS_FILE
    with _reported(folder), replaced_folder(folder, last=RESULT_FILE) as fresh:
        drawings = report_drawings(study, png=png, workers=workers)
        names = _write_all(study, command, fresh, drawings, hand_out=hand_out)
        if not study.complete and journal.is_file() and not journal.is_symlink():
            shutil.copyfile(journal, fresh / _VARIANTS_FILE)
    return tuple(folder / name for name in names)


def require_writable(folder: Path, variants: int = 0) -> None:
    """Check, before a long computation, that a report can be written into `folder`.

    Parameters
    ----------
    folder : Path
        Where to.
    variants : int
        Variants that will be kept there until the report is written, for the space that they need.

    Raises
    ------
    ReportError
        If it is a file, holds foreign files or links, its disk is nearly full, or it may not be written to.
    """
    with _reported(folder):
        require_folder(folder, {*_listed_files(folder / RESULT_FILE), _VARIANTS_FILE}, variants * _SPACE)


def prepare_variants(folder: Path, variants: int) -> Path:
    """Make the folder of a report of so many variants; where the journal of those that are solved lies.

    Raises
    ------
    ReportError
        As for :func:`require_writable`.
    """
    require_writable(folder, variants)
    with _reported(folder):
        folder.resolve().mkdir(exist_ok=True)
    return folder / _VARIANTS_FILE


def _reported(folder: Path) -> AbstractContextManager[None]:
    return system_failures_reported(f"cannot write the report to {shown_path(folder)}")


def _listed_files(result_file: Path) -> frozenset[str]:
    """Files that an earlier report lists as its own; none if there is no such report."""
    if result_file.is_symlink() or not result_file.is_file() or result_file.stat().st_size > _LARGEST_RESULT:
        return frozenset()
    try:
        document = parse_record(result_file.read_bytes())
    except DamagedRecordError:
        return frozenset()
    if not isinstance(document, dict) or document.get("schema") != SCHEMA:
        return frozenset()
    listed = document.get("files")
    return frozenset(name for name in listed if isinstance(name, str)) if isinstance(listed, list) else frozenset()


def _write_all(
    study: StudyResult, command: str, folder: Path, drawings: dict[str, tuple[Drawing, ...]], *, hand_out: bool
) -> tuple[str, ...]:
    """Write every file into the folder and return their names; the result, which lists them, comes last."""
    (folder / "report.html").write_text(render_page(study, drawings), encoding="utf-8")
    if hand_out:
        (folder / HAND_OUT_FILE).write_text(render_hand_out(study), encoding="utf-8")
    for part in shown_parts(study):
        for name, lines in part.files(study).items():
            (folder / name).write_text(table_text(lines), encoding="utf-8", newline="")
    write_drawings(folder, [each for part in drawings.values() for each in part])
    (folder / "fields").mkdir()
    (folder / "circuits").mkdir()
    slugs = file_names(result.variant.name for result in study.results)
    for result in study.results:
        _write_variant(study.scenario, result, slugs[result.variant.name], folder)
    names = [path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()]
    names = sorted([*names, RESULT_FILE])
    document = {**study_document(study, command), "files": names}
    content = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)
    (folder / RESULT_FILE).write_text(content + "\n", encoding="utf-8")
    return tuple(names)


def _write_variant(scenario: Scenario, result: VariantResult, slug: str, folder: Path) -> None:
    """Fields and circuits of one variant."""
    if result.layout_loop is None:
        _write_field(folder / "fields" / f"{slug}.vtu", result.sampled_field, wording(result.variant.view))
    if result.pickup is not None and result.pickup.potential_map is not None:
        _write_potential(folder / "fields" / f"{slug}-potential.vtu", result.pickup.potential_map)
    for name, content in circuit_files(exported_circuit(result, scenario), scenario, slug).items():
        (folder / "circuits" / name).write_text(content, encoding="ascii")


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
