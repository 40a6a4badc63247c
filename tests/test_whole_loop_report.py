"""Page, drawings, result file and deciding sentence of placements, from loops made by hand."""

import pytest

from solver.figures import placements_figure, sensitivity_figure, whole_loop_figure
from solver.report.document import result_document
from solver.report.html import render_report
from solver.study.ranking import decide_placements


@pytest.mark.parametrize("draw", [whole_loop_figure, sensitivity_figure, placements_figure])
def test_every_drawing_names_every_placement(draw, placed_study):
    figure = draw(placed_study)
    words = " ".join(each.get_text() for axes in figure.axes for each in (*axes.texts, axes.title))
    words += " ".join(label.get_text() for axes in figure.axes for label in axes.get_yticklabels())
    words += " ".join(axes.get_title(loc="left") for axes in figure.axes)
    for result in placed_study.results:
        assert result.variant.name[:20] in words


def test_bars_end_at_the_whole_loop(placed_study):
    axes = whole_loop_figure(placed_study).axes[0]
    ends = sorted(bar.get_x() + bar.get_width() for bar in axes.patches)
    assert ends[-1] == pytest.approx(max(each.whole_loop.inductance for each in placed_study.results) * 1e9)


def test_the_page_shows_terms_with_their_sources_escaped(placed_study):
    page = render_report(placed_study)
    assert 'id="whole-loop"' in page
    assert "made up &lt;copper&gt;" in page
    assert "20 % low here" in page
    assert "55 to 45" in page
    assert "C1 +50.0 %" in page


def test_a_page_without_placements_has_no_such_part(study):
    assert "whole-loop" not in render_report(study)


def test_the_result_file_holds_every_term(placed_study):
    document = result_document(placed_study)
    first = document["variants"][0]["whole_loop"]
    assert sum(term["inductance_H"] for term in first["terms"]) == pytest.approx(first["loop_inductance_H"], abs=0)
    assert first["section_times_length"]["off_1"] == pytest.approx(-0.2)


def test_the_decision_ranks_whole_loops(placed_study):
    results = placed_study.results
    names = [each.variant.name for each in results]
    ranked = sorted(results, key=lambda each: each.whole_loop.inductance)
    sentence = decide_placements(results, names[0], 1e8)
    assert sentence.startswith(f"“{ranked[0].variant.name}” has the smallest whole loop")
    assert f"less than “{names[0]}”" in sentence


def test_one_placement_alone_is_only_told(placed_study):
    sentence = decide_placements(placed_study.results[:1], placed_study.results[0].variant.name, 1e8)
    assert sentence.endswith("capacitor and package included.")
