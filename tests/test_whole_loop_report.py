"""Page, drawings, result file and deciding sentence of placements, from loops made by hand."""

import pytest

from solver.figures import placements_figure, sensitivity_figure, whole_loop_figure
from solver.report.circuits import circuit_files, exported_circuit
from solver.report.documents import study_document
from solver.report.html import render_report
from solver.variant.loop_of_record import Basis


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
    assert "258 % high here" in page
    assert "55 to 45" in page
    assert "C1 +50.0 %" in page


def test_a_page_without_placements_has_no_such_part(study):
    assert "whole-loop" not in render_report(study)


def test_the_result_file_holds_every_term(placed_study):
    document = study_document(placed_study, "compare")
    first = document["details"]["whole-loop"][0]
    inductance = document["variants"][0]["figures"]["loop_inductance"]["value"]
    assert sum(term["amount"] for term in first["whole_loop"]["terms"]) == pytest.approx(inductance, abs=0)
    assert first["section_check"] == pytest.approx({"section": 4.65e-9, "plan": 1.3e-9})


def test_every_table_says_that_the_loop_is_whole(placed_study):
    page = render_report(placed_study)
    assert "loop values: whole loop: copper, capacitor, vias and package" in page
    assert [result.basis for result in placed_study.results] == [Basis.WHOLE_LOOP] * 2


def test_the_exported_circuit_holds_the_whole_loop(placed_study):
    content = subcircuit_of(placed_study, 0)
    assert "Loop of record: whole loop" in content
    assert "Inductance of the whole loop at 1e+08 Hz: copper 1.2 nH" in content


def subcircuit_of(study, index):
    exported = exported_circuit(study.results[index], study.scenario)
    return circuit_files(exported, study.scenario, "it")["it.sub"]
