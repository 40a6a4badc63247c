"""Page, drawings, result file and deciding sentence of placements, from loops made by hand."""

from dataclasses import replace

import numpy as np
import pytest

from geometries.capacitors import Capacitor, LumpedEsl, switch_package
from geometries.constructions import named_construction
from geometries.parts import VIAS, capacitor_case
from geometries.placement_plan import placement_plan
from geometries.placements import FarSide, MirroredPair, PlacedLoop, Site
from solver.decision import decide_placements
from solver.figures import placements_figure, sensitivity_figure, whole_loop_figure
from solver.loop_terms import PairFacts, SectionRule, Sensitivity, Term, WholeLoop
from solver.report.document import result_document
from solver.report.html import render_report
from solver.sharing import CapacitorBank

PART = Capacitor(case=capacitor_case("0603"), capacitance=1e-6, resistance=5e-3, body=LumpedEsl(inductance=0.3e-9))
COMMON = {
    "copper_width": 1.6e-3,
    "gap": 0.6e-3,
    "distance": 0.6e-3,
    "package": switch_package("flip-chip"),
    "via": VIAS[0],
}
PLACEMENTS = (
    FarSide(capacitors=(PART,), via_count=2, **COMMON),
    MirroredPair(capacitors=(PART, replace(PART, capacitance=0.1e-6)), part_width=3e-3, **COMMON),
)


def loop(placement, copper):
    placed = PlacedLoop(placement=placement, site=Site(stackup=named_construction("2L-1.6")))
    size = len(placement.capacitors)
    amounts = {"copper": copper, "capacitor": 0.3e-9, "vias": 0.1e-9, "package": 0.125e-9}
    pair = PairFacts(
        single=2e-9, pair=1e-9, single_moment=2e-6, pair_moment=1e-10, uneven_moment=2e-7, upright_moment=3e-7
    )
    return WholeLoop(
        placed=placed,
        plan=placement_plan("by hand", placed),
        frequency=1e8,
        terms=tuple(
            Term(name=name, amount=amount, uncertainty=amount / 10, source=f"made up <{name}>")
            for name, amount in amounts.items()
        ),
        bank=CapacitorBank(
            names=tuple(f"C{k + 1}" for k in range(size)),
            inductance=1e-9 * np.eye(size),
            resistance=5e-3 * np.eye(size),
            capacitance=np.array([each.capacitance for each in placement.capacitors]),
        ),
        shares=np.full(size, 1 / size, dtype=complex),
        moment=2e-6,
        net_moment=1e-6,
        pair=pair if size == 2 else None,
        sensitivities=(
            Sensitivity(dimension="distance", value=0.6e-3, derivative=4e-7, step=6e-5),
            Sensitivity(dimension="copper_width", value=1.6e-3, derivative=-1e-7, step=1.6e-4),
        ),
        rule=SectionRule(section=0.8e-9, plan=1e-9),
        seconds=1.0,
    )


@pytest.fixture
def placed_study(study):
    loops = [loop(each, copper) for each, copper in zip(PLACEMENTS, (1.2e-9, 0.2e-9), strict=True)]
    results = tuple(replace(result, whole_loop=each) for result, each in zip(study.results, loops, strict=True))
    return replace(study, results=results)


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
