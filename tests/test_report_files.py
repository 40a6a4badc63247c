"""Facts about the report folder: what is in it, and that it is written all together or not at all."""

from __future__ import annotations

import csv
import dataclasses
import json
import math
from pathlib import Path

import numpy as np
import pytest

from solver.errors import ReportError
from solver.figures import stack_figure
from solver.report import folder as report_folder
from solver.report import html
from solver.report.documents import study_document
from solver.report.folder import require_writable, write_report
from solver.report.html import report_drawings
from solver.report.part import sketch
from solver.report.variants_part import INPUTS
from solver.section import mesh
from solver.study.results import StudyResult
from solver.study.study import conclude
from solver.variant.figure import Reading


@pytest.fixture(scope="module")
def folder(study: StudyResult, tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("out") / "deep" / "report"
    write_report(study, target)
    return target


@pytest.fixture
def one_drawing(monkeypatch: pytest.MonkeyPatch, study: StudyResult) -> None:
    """Spare the tests of the folder the time that drawing takes."""
    stackup = study.results[0].variant.stackups[0]
    parts = (dataclasses.replace(INPUTS, sketches=lambda _study: (sketch("stack", "a stack", stack_figure, stackup),)),)
    monkeypatch.setattr(report_folder, "shown_parts", lambda _study: parts)
    monkeypatch.setattr(html, "shown_parts", lambda _study: parts)


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def tree(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_drawings_made_in_other_processes_are_the_same(study: StudyResult) -> None:
    here, apart = (report_drawings(study, workers=workers) for workers in (1, 2))
    assert here["variants"]
    assert [each.svg for each in here["variants"]] == [each.svg for each in apart["variants"]]
    assert {key: [each.name for each in part] for key, part in here.items()} == {
        key: [each.name for each in part] for key, part in apart.items()
    }


@pytest.mark.usefixtures("one_drawing")
def test_every_drawing_is_a_png_too_on_request(study: StudyResult, tmp_path: Path) -> None:
    written = {path.relative_to(tmp_path).as_posix() for path in write_report(study, tmp_path / "report", png=True)}
    drawn = {name.removesuffix(".svg") for name in written if name.endswith(".svg")}
    assert drawn == {name.removesuffix(".png") for name in written if name.endswith(".png")} != set()


@pytest.mark.usefixtures("one_drawing")
def test_written_files_are_those_returned_and_listed(study: StudyResult, tmp_path: Path) -> None:
    written = write_report(study, tmp_path / "report")
    present = set(tree(tmp_path / "report"))
    assert {path.relative_to(tmp_path / "report").as_posix() for path in written} == present
    assert set(json.loads((tmp_path / "report" / "result.json").read_text("utf-8"))["files"]) == present
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


def test_folder_holds_page_tables_figures_and_fields(folder: Path) -> None:
    present = set(tree(folder))
    assert {"report.html", "comparison.csv", "impedance.csv", "field_scans.csv", "result.json"} <= present
    stems = {"comparison", "frequency", "field-scans", "benefit", "section-no-ground", "stack-4l-test"}
    assert {f"figures/{stem}.svg" for stem in stems} <= present
    assert not any(name.endswith(".png") for name in present)
    assert "fields/no-ground.vtu" in present


def test_comparison_table_has_one_row_per_variant_with_units(folder: Path, hostile_name: str) -> None:
    rows = table(folder / "comparison.csv")
    assert [row["variant"] for row in rows] == ["no ground", hostile_name]
    assert float(rows[1]["loop inductance [nH]"]) == pytest.approx(1.097, rel=1e-9)
    assert float(rows[1]["change of loop inductance [%]"]) == pytest.approx(100 * (1.097 / 4.65 - 1), rel=1e-9)
    for heading in rows[0]:
        assert heading in ("variant", "loop values") or heading.endswith("]")


def test_impedance_table_has_every_frequency(folder: Path) -> None:
    rows = table(folder / "impedance.csv")
    assert [float(row["frequency [Hz]"]) for row in rows] == [1e6, 1e8, 3e8] * 2
    assert float(rows[1]["inductance per length [H/m]"]) == pytest.approx(4.65e-9 / 8e-3, rel=1e-9)
    assert float(rows[1]["resistance per length [Ohm/m]"]) == pytest.approx(2.3, rel=1e-9)


def test_impedance_table_has_an_error_at_every_frequency(folder: Path) -> None:
    rows = table(folder / "impedance.csv")[:3]
    assert [float(row["± resistance per length [Ohm/m]"]) for row in rows] == [3e-4, 7e-3, 2e-2]
    assert float(rows[2]["± inductance per length [H/m]"]) == pytest.approx(4e-4 * 4.65e-9 / 8e-3, rel=1e-9)


def test_field_line_table_has_every_point(folder: Path, study: StudyResult) -> None:
    rows = table(folder / "field_scans.csv")
    assert len(rows) == sum(len(line.x) for result in study.results for line in result.lines)
    assert set(rows[0]) == {"variant", "side", "distance from board [mm]", "x [mm]", "H [A/m per A]"}


def test_result_survives_the_round_trip(folder: Path, study: StudyResult) -> None:
    read = json.loads((folder / "result.json").read_text("utf-8"))
    del read["files"]
    assert read == study_document(study, "compare")
    assert read["schema"] == "copperfield-result/2"
    figure = read["variants"][0]["figures"]["loop_inductance"]
    assert figure == {"value": study.results[0].loop_inductance, "uncertainty": 4e-4 * 4.65e-9, "unit": "H"}


def test_every_figure_of_the_result_carries_its_unit(study: StudyResult) -> None:
    for variant in study_document(study, "compare")["variants"]:
        assert list(variant["figures"]) == [figure.key for figure in study.figures]
        assert all(set(each) == {"value", "uncertainty", "unit"} for each in variant["figures"].values())


def test_result_holds_inputs_versions_cautions_and_mesh(study: StudyResult) -> None:
    document = study_document(study, "compare")
    assert document["inputs"]["scenario_text"] == study.scenario.text
    assert document["versions"]["copperfield"] == "0.0.test"
    assert document["warnings"][0]["code"] == "W-2D-ENDS"
    assert document["variants"][0]["mesh"]["unknowns"] == 4600
    assert document["complete"] is True


def test_number_that_is_not_finite_becomes_null(study: StudyResult) -> None:
    readings = {**study.readings[0], "loop_moment": Reading(value=math.nan)}
    document = study_document(dataclasses.replace(study, readings=(readings, study.readings[1])), "compare")
    assert document["variants"][0]["figures"]["loop_moment"]["value"] is None
    json.dumps(document, allow_nan=False)


def test_interrupted_study_is_marked_in_the_result(interrupted_study: StudyResult, hostile_name: str) -> None:
    document = study_document(interrupted_study, "compare")
    assert document["complete"] is False
    assert hostile_name in document["inputs"]["variants_asked_for"]


def test_field_file_reads_back(folder: Path, study: StudyResult) -> None:
    read = mesh.meshio.read(folder / "fields" / "no-ground.vtu")
    field_map = study.results[0].field_map
    np.testing.assert_allclose(read.points[:, :2], field_map.points, rtol=1e-12)
    potential = read.point_data["vector_potential_imag_Wb_per_m_per_A"]
    np.testing.assert_allclose(potential, field_map.potential.imag, rtol=1e-12)
    assert (read.cell_data["region_index"][0] == field_map.regions).all()


@pytest.mark.usefixtures("one_drawing")
def test_older_report_is_replaced_and_its_other_files_go(
    study: StudyResult, interrupted_study: StudyResult, tmp_path: Path
) -> None:
    target = tmp_path / "report"
    write_report(study, target)
    write_report(interrupted_study, target)
    assert len(list((target / "fields").iterdir())) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


@pytest.mark.usefixtures("one_drawing")
def test_empty_folder_is_used(interrupted_study: StudyResult, tmp_path: Path) -> None:
    (tmp_path / "report").mkdir()
    write_report(interrupted_study, tmp_path / "report")
    assert (tmp_path / "report" / "report.html").exists()


@pytest.mark.usefixtures("one_drawing")
@pytest.mark.parametrize("place", ["notes.txt", "figures/mine.png"])
def test_foreign_file_is_refused_by_name_and_kept(interrupted_study: StudyResult, tmp_path: Path, place: str) -> None:
    target = tmp_path / "report"
    write_report(interrupted_study, target)
    (target / place).write_text("mine")
    before = tree(target)
    with pytest.raises(ReportError, match=f"{place}.*name another folder, or move these files away"):
        write_report(interrupted_study, target)
    assert tree(target) == before


def test_foreign_folder_without_result_is_refused(interrupted_study: StudyResult, tmp_path: Path) -> None:
    (tmp_path / "report.html").write_text("not ours")
    with pytest.raises(ReportError, match="holds files that are not of an earlier run"):
        write_report(interrupted_study, tmp_path)
    assert (tmp_path / "report.html").read_text() == "not ours"


@pytest.mark.usefixtures("one_drawing")
def test_link_to_a_folder_is_foreign(interrupted_study: StudyResult, tmp_path: Path) -> None:
    write_report(interrupted_study, tmp_path / "report")
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "report" / "link").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(ReportError, match="link"):
        write_report(interrupted_study, tmp_path / "report")


@pytest.mark.parametrize("content", ["{", "[]", '{"schema": "other/1", "files": ["result.json"]}'])
def test_result_file_that_is_not_ours_is_foreign(interrupted_study: StudyResult, tmp_path: Path, content: str) -> None:
    (tmp_path / "result.json").write_text(content)
    with pytest.raises(ReportError, match=r"result\.json"):
        write_report(interrupted_study, tmp_path)


def test_file_in_place_of_the_folder_is_refused(interrupted_study: StudyResult, tmp_path: Path) -> None:
    (tmp_path / "report").write_text("a file")
    with pytest.raises(ReportError, match="it is a file; name a folder"):
        write_report(interrupted_study, tmp_path / "report")


def test_folder_that_cannot_be_made_is_named_with_the_cure(interrupted_study: StudyResult, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ReportError, match=r"report.*name a folder that you may write to"):
        write_report(interrupted_study, tmp_path / "file" / "report")


def test_folder_is_checked_before_the_computation(tmp_path: Path) -> None:
    require_writable(tmp_path / "new")
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(ReportError, match=r"mine\.txt"):
        require_writable(tmp_path)


def fail_midway(monkeypatch: pytest.MonkeyPatch, failure: BaseException) -> None:
    def broken(*_args: object, **_kwargs: object) -> None:
        raise failure

    monkeypatch.setattr(report_folder, "write_field_file", broken)


@pytest.mark.usefixtures("one_drawing")
def test_failure_midway_leaves_nothing(
    interrupted_study: StudyResult, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_midway(monkeypatch, OSError(28, "No space left on device"))
    with pytest.raises(ReportError, match=r"No space left on device.*a disk with space left"):
        write_report(interrupted_study, tmp_path / "report")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("one_drawing")
@pytest.mark.parametrize("failure", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_failure_midway_leaves_the_older_report(
    interrupted_study: StudyResult, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failure: BaseException
) -> None:
    write_report(interrupted_study, tmp_path / "report")
    before = tree(tmp_path / "report")
    fail_midway(monkeypatch, failure)
    with pytest.raises((ReportError, KeyboardInterrupt)):
        write_report(interrupted_study, tmp_path / "report")
    assert tree(tmp_path / "report") == before
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


@pytest.mark.usefixtures("one_drawing")
def test_interruption_of_the_exchange_brings_the_older_report_back(
    interrupted_study: StudyResult, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_report(interrupted_study, tmp_path / "report")
    before = tree(tmp_path / "report")
    rename = Path.rename

    def interrupted(self: Path, target: Path) -> Path:
        if self.name.endswith(".new"):
            raise KeyboardInterrupt
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_report(interrupted_study, tmp_path / "report")
    assert tree(tmp_path / "report") == before
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


@pytest.mark.usefixtures("one_drawing")
def test_variants_with_like_names_get_files_of_their_own(study: StudyResult, tmp_path: Path) -> None:
    renamed = [
        dataclasses.replace(result, variant=dataclasses.replace(result.variant, name=name))
        for result, name in zip(study.results, ("4 layers", "4-Layers"), strict=True)
    ]
    scenario = dataclasses.replace(
        study.scenario, variants=tuple(each.variant for each in renamed), reference="4 layers"
    )
    write_report(conclude(scenario, renamed), tmp_path / "report")
    assert sorted(path.name for path in (tmp_path / "report" / "fields").iterdir()) == [
        "4-layers-2.vtu",
        "4-layers.vtu",
    ]
