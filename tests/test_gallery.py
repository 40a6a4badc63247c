"""The gallery: its studies are in the tree, its page says what they find, and the findings follow the numbers."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from geometries.files.reading import builtin_scenario_names, read_builtin_scenario
from solver.cli import app
from solver.errors import ReportError
from solver.figures import Curve, Panel, curves_figure
from solver.report.gallery_page import gallery_page, studies_named, write_gallery
from solver.report.gallery_studies import STUDIES
from solver.study.study import conclude, run_study

DOCS = Path(__file__).resolve().parent.parent / "docs"
PAGE = (DOCS / "gallery.md").read_text(encoding="utf-8")


def study_called(name):
    (found,) = studies_named([name])
    return found


@pytest.fixture(scope="module")
def stitching():
    scenario = read_builtin_scenario("gallery-stitching")
    kept = tuple(variant for variant in scenario.variants if variant.name.endswith("4L-7628"))
    return run_study(replace(scenario, variants=kept, reference=kept[0].name), workers=1)


def test_every_gallery_scenario_is_a_study_and_every_study_has_its_scenario():
    assert {name for name in builtin_scenario_names() if name.startswith("gallery-")} == {s.name for s in STUDIES}


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.name)
def test_the_page_names_the_rule_and_its_source(study):
    assert f"“{study.rule}” ({study.source})" in PAGE


@pytest.mark.parametrize("study", STUDIES, ids=lambda study: study.name)
def test_the_page_shows_the_title_of_the_scenario(study):
    assert f"## {read_builtin_scenario(study.name).title}" in PAGE


@pytest.mark.parametrize("link", re.findall(r"\]\(([^)]*)\)", PAGE))
def test_every_picture_is_there(link):
    assert (DOCS / link).is_file()


def test_the_page_in_the_docs_says_what_the_program_finds(stitching):
    assert study_called("gallery-stitching").find(stitching).sentence in PAGE


def test_a_finding_follows_the_numbers(stitching):
    floating, stitched, strip = stitching.results
    swapped = [replace(a, variant=b.variant) for a, b in ((stitched, floating), (floating, stitched), (strip, strip))]
    study = study_called("gallery-stitching")
    assert study.find(stitching).verdict.startswith("confirmed against a plane tied at one end")
    assert study.find(conclude(stitching.scenario, swapped)).verdict == "not decided"


def test_page_and_picture_are_written(stitching, tmp_path):
    study = study_called("gallery-stitching")
    page = write_gallery([(study, stitching)], tmp_path / "new" / "folder")
    assert page.read_text(encoding="utf-8") == gallery_page([(study, stitching)])
    assert (page.parent / "images" / "gallery-stitching.png").stat().st_size > 10_000


def test_an_unknown_study_is_refused_with_those_that_exist():
    with pytest.raises(ReportError, match=r"no study 'gallery-depht'; its studies are gallery-depth, "):
        studies_named(["gallery-depht"])


def test_all_studies_are_meant_if_none_is_named():
    assert studies_named([]) == STUDIES


def test_a_folder_that_cannot_be_made_is_refused_before_anything_is_solved(tmp_path):
    (tmp_path / "taken").write_text("")
    done = CliRunner().invoke(app, ["gallery", "gallery-depth", "-o", str(tmp_path / "taken")])
    assert done.exit_code == 3
    assert "choose a folder" in done.output


def test_the_names_of_slots_say_their_widths():
    # The curves are drawn over what the sections hold, the sentences name it.
    for variant in read_builtin_scenario("gallery-slot").variants:
        place, _, width = variant.name.partition(", ")
        pieces = sorted(r.outline.bounds[::2] for r in variant.section.regions if r.name.startswith("L2"))
        found = pieces[1][0] - pieces[0][1] if len(pieces) > 1 else sum(each.length for each in variant.segments)
        assert found == pytest.approx(0.0 if width == "no slot" else float(width.removesuffix(" mm")) * 1e-3, abs=1e-12)
        assert (len(variant.segments) > 0) == (place == "across the loop" and width != "no slot")


def test_the_names_of_overhangs_say_how_far_the_plane_reaches():
    for variant in read_builtin_scenario("gallery-overhang").variants:
        loop = max(variant.section.region(name).outline.right for name in ("go", "return"))
        reach = variant.section.region("L2").outline.right - loop
        said = 0.0 if variant.name == "as wide as the loop" else float(variant.name.partition(" mm")[0]) * 1e-3
        assert reach == pytest.approx(said, abs=1e-12)


def test_curves_reach_zero_on_an_axis_that_is_linear_below():
    panel = Panel(label="y", curves=(Curve(label="a", points=((0.0, 1.0), (2e-3, 2.0), (1e-3, 1.5))),))
    (axes,) = curves_figure("t", "s", "width", [panel], linear_below=0.5e-3).axes
    assert axes.lines[0].get_xdata().tolist() == [0.0, 1.0, 2.0]
    assert axes.get_xscale() == "symlog"
