"""Facts about results in a notebook, and the worked example of the docs."""

from __future__ import annotations

import runpy
from pathlib import Path
from types import SimpleNamespace

import pytest

from solver.report.notebook import load_ipython_extension, notebook_view
from solver.study.results import StudyResult

EXAMPLE = Path(__file__).resolve().parent.parent / "docs" / "worked_example.py"


def test_view_holds_decision_table_and_picture(study: StudyResult):
    html = notebook_view(study)._repr_html_()
    assert study.decision in html
    assert "4.650 ± 0.002" in html
    assert html.count("<img ") == 1


def test_hostile_names_stay_text(study: StudyResult):
    assert "<script>" not in notebook_view(study).html


def test_anything_else_is_refused():
    with pytest.raises(TypeError, match="not int"):
        notebook_view(3)


def test_extension_lets_results_show_themselves(study: StudyResult):
    known = {}
    formatter = SimpleNamespace(for_type=known.__setitem__)
    load_ipython_extension(SimpleNamespace(display_formatter=SimpleNamespace(formatters={"text/html": formatter})))
    assert study.decision in known[StudyResult](study)


def test_worked_example_of_the_docs_runs():
    made = runpy.run_path(str(EXAMPLE))
    assert 0.3 < made["saved"] < 0.9
    assert made["study"].decision in made["study_view"].html
    values = [row.value("loop_inductance") for row in made["sweep"].rows]
    assert values == sorted(values)
    assert "loop.gap" in made["sweep_view"].html
