"""What reports of round loops say: a whole turn, its moment, distances from an axis, and nothing of lengths."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from geometries.files.reading import parse_scenario
from geometries.files.sweep_reading import parse_sweep
from solver.cli import app
from solver.notation.numbers import with_uncertainty
from solver.report.folder import write_report
from solver.report.sweep_files import write_sweep
from solver.runs.checkpoint import open_journal
from solver.study.figures_of_merit import headline_figures
from solver.study.study import run_study
from solver.study.sweep import conclude_sweep, journal_header, solve_sweep
from solver.study.view_rows import ViewComparison

RINGS = """
title = "rings"
stackup = "4L-7628"

[analysis]
report_frequency = "10 MHz"
frequencies = ["1 MHz", "10 MHz"]
heights_above = ["3 mm"]
heights_below = ["3 mm"]
tolerance = "5 %"

[loop]
kind = "ring"
radius = "3 mm"
width = "1 mm"

[[variant]]
name = "alone"

[[variant]]
name = "over disc"
planes.L2 = { tie = "none", radius = "10 mm" }
"""

SWEEP = """
[sweep]
variant = "over disc"
vary = [{ key = "planes.L2.radius", values = ["4 mm", "12 mm"] }]
"""

OF_LENGTHS = re.compile(
    r"section . length|section times length|ends not included|nH/mm|line.moment|per.length|per metre of|"
    r"\blong\b|far end",
    re.IGNORECASE,
)
"""Words that belong to the section view alone."""


@pytest.fixture(scope="module")
def study():
    return run_study(parse_scenario(RINGS), workers=1)


@pytest.fixture(scope="module")
def folder(study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("rings") / "report"
    write_report(study, target)
    return target


@pytest.fixture(scope="module")
def sweep_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("sweep")
    sweep = parse_sweep(RINGS + SWEEP)
    with open_journal(target / "points.jsonl", journal_header(sweep)) as journal:
        outcomes = list(solve_sweep(sweep, journal, workers=1))
    write_sweep(conclude_sweep(sweep, outcomes), target)
    return target


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def words_of(page: str) -> str:
    """What a reader sees, without styles, scripts, pictures and the scenario as read."""
    bare = re.sub(r"<(style|script|pre)>.*?</\1>|<[^>]*>", " ", page, flags=re.DOTALL)
    return " ".join(bare.split())


def test_the_page_says_nothing_of_lengths(folder):
    assert not OF_LENGTHS.findall(words_of((folder / "report.html").read_text("utf-8")))


def test_the_page_shows_the_moment_in_square_millimetres(folder, study):
    page = words_of((folder / "report.html").read_text("utf-8"))
    moment = study.reading(study.results[0].variant.name, "loop_moment")
    assert 0 < moment.uncertainty < 0.01 * moment.value
    assert f"loop moment {with_uncertainty(moment.value, moment.uncertainty, 1e-6)} mm²" in page
    assert "from r = 2.5 mm to 3.5 mm, underside at z = 0 mm" in page


def test_no_drawing_says_anything_of_lengths(folder):
    for drawing in (folder / "figures").glob("*.svg"):
        assert not OF_LENGTHS.findall(drawing.read_text("utf-8")), drawing.name


def test_no_table_has_a_heading_of_the_section_view(folder):
    for file in folder.glob("*.csv"):
        headings = " ".join(table(file)[0])
        assert not OF_LENGTHS.findall(headings), file.name
    assert "r [mm]" in table(folder / "field_scans.csv")[0]


def test_impedance_is_that_of_the_whole_turn(folder, study):
    row = table(folder / "impedance.csv")[-1]
    assert float(row["inductance [H]"]) == pytest.approx(study.results[1].loop_inductance, rel=1e-8, abs=0)


def test_the_document_is_that_of_a_whole_turn(folder, study):
    document = json.loads((folder / "result.json").read_text("utf-8"))
    variant = document["variants"][1]
    assert variant["basis"] == "whole turn of an axisymmetric loop, nothing added"
    assert variant["figures"]["loop_inductance"]["value"] == study.results[1].loop_inductance
    assert "line_moment" not in variant["figures"]
    assert "length" not in variant["described"]


def test_circuit_files_say_that_they_hold_a_whole_turn(folder):
    for name in ("over-disc.sub", "over-disc-test.cir", "over-disc.s1p"):
        content = " ".join((folder / "circuits" / name).read_text("ascii").split())
        assert "Axisymmetric loop: one whole turn, mean radius 3 mm" in content
        assert not OF_LENGTHS.findall(content)


def test_fields_hold_the_flux_through_circles(folder):
    content = (folder / "fields" / "over-disc.vtu").read_bytes()
    assert b"flux_through_circle_real_Wb_per_A" in content
    assert b"vector_potential" not in content


def test_the_decision_is_about_a_whole_turn(study):
    assert "(whole turn)" in study.decision


def test_inspection_shows_distances_from_the_axis(tmp_path):
    file = tmp_path / "rings.toml"
    file.write_text(RINGS, encoding="utf-8")
    shown = CliRunner().invoke(app, ["inspect", str(file)]).stdout
    assert "over disc (4L-7628), axisymmetric about r = 0" in shown
    assert "r    2.5000 to    3.5000 mm" in shown
    outline = json.loads(CliRunner().invoke(app, ["inspect", str(file), "--json"]).stdout)
    assert "length" not in outline["variants"][0]


def test_tolerances_and_budgets_of_rings_know_the_moment_of_the_loop():
    moment = next(each for each in headline_figures(parse_scenario(RINGS)) if each.key == "loop_moment")
    assert (moment.title, moment.unit) == ("loop moment", "mm²")


def test_a_sweep_of_rings_says_nothing_of_lengths(sweep_folder):
    page = (sweep_folder / "sweep.html").read_text("utf-8")
    assert "whole turn of an axisymmetric loop" in page
    assert not OF_LENGTHS.findall(words_of(page))
    assert not OF_LENGTHS.findall((sweep_folder / "figures" / "sweep.svg").read_text("utf-8"))
    assert not OF_LENGTHS.findall(" ".join(table(sweep_folder / "sweep.csv")[0]))
    assert "loop moment [mm²]" in table(sweep_folder / "sweep.csv")[0]


def test_a_sweep_of_rings_shows_what_the_discs_shield(sweep_folder):
    small, large = table(sweep_folder / "sweep.csv")
    moments = [float(row["moment against the ring alone [dB]"]) for row in (small, large)]
    assert moments[1] < moments[0] < -10
    assert 0.01 < float(large["shielding corner frequency [MHz]"]) < 1
    point = json.loads((sweep_folder / "sweep.json").read_text("utf-8"))["points"][1]
    assert point["figures"]["shielding_moment"]["value"] == pytest.approx(moments[1], rel=1e-8)


def test_axisymmetric_variants_show_what_their_discs_shield_and_no_second_view(study, folder):
    views = study.outcome(ViewComparison)
    assert (views.pairs, views.without) == ((), ())
    assert views.rows[0].shielding.corner is None
    moment = next(figure for figure in study.figures if figure.key == "loop_moment")
    assert views.rows[1].shielding.moment_db == pytest.approx(study.change("over disc", moment), rel=1e-9)
    assert "What the discs shield at 10 MHz" in words_of((folder / "report.html").read_text("utf-8"))
    assert not list((folder / "figures").glob("axisymmetric-*"))
