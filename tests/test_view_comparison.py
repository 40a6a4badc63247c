"""Section view and round view of the same loops side by side, from the file to tables, page and drawings."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from geometries.files.reading import builtin_scenario_names, parse_scenario, read_builtin_scenario
from geometries.section.section import View
from solver.figures import axis_figure, shielding_figure
from solver.figures.axisymmetric import _mirrored
from solver.report.documents import study_document
from solver.report.folder import write_report
from solver.report.html import render_report
from solver.report.tables import fitted, terminal_table
from solver.report.views_part import VIEWS_PART, axisymmetric_curves, mappings
from solver.study.study import run_study
from solver.study.view_comparison import compare_views
from solver.study.view_rows import ViewComparison
from solver.variant.needs import EVERYTHING
from solver.variant.schedule import AxisymmetricTask, put_together, study_tasks

LOOPS = """
title = "both views"
reference = "no ground"
stackup = "4L-7628"

[analysis]
report_frequency = "10 MHz"
frequencies = ["1 MHz", "10 MHz"]
heights_above = ["3 mm"]
heights_below = ["3 mm"]
tolerance = "5 %"

[loop]
kind = "same-layer"
width = "1.5 mm"
gap = "1 mm"
length = "8 mm"

[[variant]]
name = "no ground"

[[variant]]
name = "floating"
planes.L2 = { tie = "none", width = "20 mm" }

[[variant]]
name = "stitched"
planes.L2 = { tie = "both ends", width = "20 mm" }

[[variant]]
name = "slotted"
planes.L2 = { tie = "none", width = "20 mm", slots = [{ width = "1 mm" }] }

[[variant]]
name = "upright"
loop = { kind = "next-layer", width = "2 mm", length = "8 mm" }

[[variant]]
name = "wide"
loop = { width = "9 mm", gap = "0.1 mm", length = "2 mm" }
"""


@pytest.fixture(scope="module")
def scenario():
    return parse_scenario(LOOPS)


@pytest.fixture(scope="module")
def study(scenario):
    return run_study(scenario, workers=1)


@pytest.fixture(scope="module")
def views(study):
    return study.outcome(ViewComparison)


def pair(views, name):
    return next(each for each in views.pairs if each.name == name)


def sentence(views, start):
    return next(each for each in views.sentences if each.startswith(start))


def test_variants_that_differ_in_their_ties_or_slots_share_one_round_view(scenario, study):
    shared = [task for task in study_tasks(scenario.variants, EVERYTHING) if isinstance(task, AxisymmetricTask)]
    names = [[variant.name for variant in task.variants] for task in shared]
    assert names == [["no ground"], ["floating", "stitched", "slotted"]]
    floating, stitched = (study.results[index].axisymmetric_view for index in (1, 2))
    assert floating.reading is stitched.reading
    assert stitched.loop is scenario.variants[2].axisymmetric_loop


def test_a_round_variant_is_one_task():
    variants = read_builtin_scenario("pond-aerator").variants
    assert study_tasks(variants, EVERYTHING) == variants


def test_a_variant_is_handed_over_when_both_its_views_are_solved(scenario, study):
    variant, result = scenario.variants[1], study.results[1]
    task = AxisymmetricTask(variants=(variant,))
    alone = replace(result, variant=replace(variant, axisymmetric_loop=None), axisymmetric_view=None)
    assert list(put_together([variant], [alone], EVERYTHING)) == []
    (whole,) = put_together([variant], [alone, (task, result.axisymmetric_view)], EVERYTHING)
    assert whole.variant is variant
    assert whole.axisymmetric_view.reading is result.axisymmetric_view.reading


def test_changes_are_against_the_same_reference_in_each_view(study, views):
    reference, floating = study.results[:2]
    each = pair(views, "floating")
    assert views.reference == "no ground"
    assert each.section_change == pytest.approx(floating.section_inductance / reference.section_inductance - 1)
    ratio = floating.axisymmetric_view.inductance / reference.axisymmetric_view.inductance
    assert each.axisymmetric_change == pytest.approx(ratio - 1, rel=1e-12)
    moments = 20 * np.log10(floating.axisymmetric_view.moment / reference.axisymmetric_view.moment)
    assert each.axisymmetric_moment_db == pytest.approx(moments, rel=1e-12)


def test_both_views_agree_on_what_a_floating_plane_is_worth(views):
    each = pair(views, "floating")
    assert each.section_change == pytest.approx(each.axisymmetric_change, abs=0.05)


def test_the_sentence_says_by_how_much_the_changes_differ_at_most(views):
    each = pair(views, "floating")
    apart = 100 * abs(each.section_change - each.axisymmetric_change)
    assert f"at most {apart:.2g} percentage points (“floating”" in sentence(views, "Where they agree")


def test_a_stitched_plane_and_a_slot_are_said_to_be_missing_from_the_round_view(views):
    assert pair(views, "stitched").tied
    assert not pair(views, "floating").tied
    assert "“stitched”" in sentence(views, "Where they cannot")
    assert "“slotted”: slots of L2" in sentence(views, "Left out of the axisymmetric view")


def test_stray_field_and_absolute_values_are_said_to_differ_by_nature(views):
    assert "the section's loop never closes" in sentence(views, "Stray field and moment")
    assert "leaves out the ends" in sentence(views, "The inductances themselves")


def test_variants_without_round_view_say_why(views):
    reasons = dict(views.without)
    assert set(reasons) == {"upright", "wide"}
    assert "stands upright" in reasons["upright"]
    assert "would cross its axis" in reasons["wide"]


def test_a_user_defined_section_says_why_it_has_no_axisymmetric_view():
    text = """
title = "pair"
[[variant.region]]
name = "go"
role = "go"
shape = "circle"
centre = ["0 mm", "0 mm"]
radius = "0.5 mm"
[[variant.region]]
name = "return"
role = "return"
shape = "circle"
centre = ["3 mm", "0 mm"]
radius = "0.5 mm"
"""
    text = text.replace("[[variant.region]]", '[[variant]]\nname = "pair"\nlength = "1 m"\n[[variant.region]]', 1)
    assert "user-defined" in parse_scenario(text).variants[0].no_axisymmetric_view


def test_nothing_is_said_of_round_views_that_were_not_asked_for():
    switched_off = parse_scenario(LOOPS.replace("[analysis]", "[analysis]\naxisymmetric_view = false"))
    assert [variant.no_axisymmetric_view for variant in switched_off.variants] == [""] * 6
    assert all(variant.axisymmetric_loop is None for variant in switched_off.variants)


def test_without_its_reference_a_study_compares_with_the_first_that_has_both_views(study):
    views = compare_views(study.results[1:], "no ground")
    assert views.reference == "floating"
    assert pair(views, "floating").section_change == 0


def test_results_without_any_round_view_have_no_comparison(study):
    bare = replace(study.results[0], axisymmetric_view=None)
    assert compare_views([bare], "no ground") is None


def test_every_mapping_is_named_once(views):
    ((names, mapping),) = mappings(views)
    assert names == "all variants"
    assert mapping.startswith("ring of mean radius 2.52 mm")


def test_terminal_shows_both_views_and_the_corner(study):
    console = Console(width=80, record=True, file=io.StringIO())
    for table in VIEWS_PART.tables(study):
        for piece in fitted(table, 80):
            console.print(terminal_table(piece))
    shown = console.export_text()
    assert "Both views at 10 MHz, against no ground" in shown
    assert "Axisymmetric view at 10 MHz, against the same ring alone" in shown
    assert "[MHz]" in shown
    assert "…" not in shown


@pytest.fixture(scope="module")
def folder(study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("views") / "report"
    write_report(study, target)
    return target


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_tables_hold_both_views_the_shielding_and_the_axis(folder, study, views):
    row = table(folder / "both_views.csv")[1]
    assert float(row["ΔL, section [%]"]) == pytest.approx(100 * pair(views, "floating").section_change, rel=1e-8)
    corner = float(table(folder / "axisymmetric_view.csv")[1]["shielding corner frequency [MHz]"])
    assert corner == pytest.approx(study.results[1].axisymmetric_view.corner / 1e6, rel=1e-8)
    shielding = [line for line in table(folder / "shielding.csv") if line["variant"] == "floating"]
    assert [float(line["frequency [Hz]"]) for line in shielding] == [1e6, 1e7]
    assert float(shielding[1]["moment [dB]"]) == pytest.approx(
        study.results[1].axisymmetric_view.moment_db[1], rel=1e-8
    )
    assert len(table(folder / "axis.csv")) == 4 * len(study.results[0].axisymmetric_view.reading.axis)


def test_the_document_holds_both_views(study, views):
    document = json.loads(json.dumps(study_document(study, "compare")))["details"]["axisymmetric-view"]
    compared = document["comparison"]
    assert compared["reference"] == "no ground"
    assert compared["rows"][1]["shielding"]["corner"] == study.results[1].axisymmetric_view.corner
    assert compared["pairs"][1]["section_change"] == pair(views, "floating").section_change
    assert compared["rows"][1]["mapping"].startswith("ring of mean radius")
    assert [name for name, _ in compared["without"]] == ["upright", "wide"]


def test_the_page_shows_both_views_the_mapping_and_the_reasons(study):
    page = render_report(study)
    for words in (
        "Section view and axisymmetric view at 10 MHz",
        "Mapping, all variants: ring of mean radius",
        "“upright” has no",
    ):
        assert words in page
    for each in study.outcome(ViewComparison).sentences:
        assert each.split("“")[0].replace("'", "&#39;") in page


def test_drawings_show_every_different_round_view_once(folder):
    present = {path.name for path in (folder / "figures").glob("*.svg")}
    assert {"shielding.svg", "axis.svg", "axisymmetric-no-ground.svg", "axisymmetric-floating.svg"} <= present
    assert not {"axisymmetric-stitched.svg", "axisymmetric-upright.svg"} & present


def test_the_shielding_drawing_marks_the_corner_in_every_panel(study):
    curves = [curve for curve in axisymmetric_curves(study) if curve.has_discs]
    figure = shielding_figure(curves)
    assert len(figure.axes) == 4
    for axes in figure.axes:
        places = [line.get_xdata()[0] for line in axes.lines if len(line.get_xdata())]
        assert study.results[1].axisymmetric_view.corner in places
    assert curves[0].name == "floating; stitched; slotted"


def test_a_line_looks_the_same_in_all_drawings_of_a_study(study):
    assert [curve.number for curve in axisymmetric_curves(study)] == [0, 1]


def test_the_axis_drawing_shows_the_ring_alone_once(study):
    labels = axis_figure(axisymmetric_curves(study), 1e7).axes[0].get_legend_handles_labels()[1]
    assert labels == ["ring alone", "floating; stitched; slotted"]


def test_shielding_cannot_be_drawn_without_discs():
    with pytest.raises(ValueError, match="no axisymmetric view has discs"):
        shielding_figure([])


def test_the_mirror_image_joins_a_disc_across_the_axis(study):
    view = study.results[1].axisymmetric_view
    body = _mirrored(view.loop.section, view.reading.field_map)
    outlines = {(region.name, region.role.value): region.outline.bounds for region in body.regions}
    left, _, right, _ = outlines["L2", "floating"]
    assert (left, right) == (-right, view.loop.section.region("L2").outline.bounds[2])
    assert outlines["go", "go"][2] == -outlines["go", "return"][0]
    assert set(body.field_map.regions) == {-1, 0, 1, 2}


def test_the_built_in_study_of_rings_is_round_and_says_that_it_is_invented():
    assert "pond-aerator" in builtin_scenario_names()
    scenario = read_builtin_scenario("pond-aerator")
    assert {variant.view for variant in scenario.variants} == {View.AXISYMMETRIC}
    assert "Invented data" in scenario.setting
