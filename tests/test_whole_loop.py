"""The whole loop of a placement: its terms, derivatives, symmetry."""

import math
import pickle
from dataclasses import replace

import pytest

from geometries import read_builtin_scenario
from geometries.board.capacitors import Capacitor, LumpedEsl, capacitor_body, switch_package
from geometries.board.parts import VIAS, capacitor_case
from geometries.files.stackups import named_stackup
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import FarSide, MirroredPair, PlacedLoop, SameSide, Site
from geometries.section.loops import Plane, Tie
from geometries.section.outline import Rectangle
from geometries.section.section import CrossSection, Region
from solver import assemble_section, mesh_section, solve_at_frequency, solve_variant
from solver.formulas import via_pair_inductance
from solver.loop.terms import CAPACITOR, COPPER, PACKAGE, SectionRule
from solver.loop.terms import VIAS as VIA_TERM
from solver.loop.whole_loop import whole_loop
from solver.plan import PlanMeshSettings, solve_plan
from solver.report.plain import plain
from solver.report.whole_loop_part import first_change, pair_sentence, rule_sentence

FREQUENCY = 100e6
QUICK = PlanMeshSettings().coarser().coarser()
FLOATING = Plane(layer="L2", tie=Tie.NONE, width=40e-3)


def capacitor(esl=0.3e-9, height=None):
    return Capacitor(
        case=capacitor_case("0603"),
        capacitance=1e-6,
        resistance=5e-3,
        body=capacitor_body(None if height else esl, height),
    )


def common(*capacitors, **changes):
    return {
        "copper_width": 1.6e-3,
        "gap": 0.6e-3,
        "distance": 0.6e-3,
        "capacitors": capacitors,
        "package": switch_package("flip-chip"),
        "via": VIAS[0],
        **changes,
    }


def placed(placement, *planes, board="4L-7628"):
    return PlacedLoop(placement=placement, site=Site(stackup=named_stackup(board), planes=planes))


@pytest.fixture(scope="module")
def lumped():
    return whole_loop("lumped", placed(SameSide(**common(capacitor())), FLOATING), FREQUENCY, QUICK)


@pytest.fixture(scope="module")
def pair():
    return whole_loop(
        "pair", placed(MirroredPair(**common(capacitor(), capacitor()), part_width=3e-3), FLOATING), FREQUENCY, QUICK
    )


def test_copper_is_what_the_plan_view_finds(lumped):
    solution = solve_plan(placement_plan("lumped", lumped.placed).near, FREQUENCY, QUICK)
    assert lumped.term(COPPER).amount == pytest.approx(solution.loop_inductance, rel=1e-9, abs=0)


def test_a_lumped_body_and_the_package_are_added_as_given(lumped):
    assert lumped.term(CAPACITOR).amount == pytest.approx(0.3e-9, rel=1e-6, abs=0)
    assert lumped.term(PACKAGE).amount == pytest.approx(0.125e-9, abs=0)
    assert lumped.term(VIA_TERM).amount == 0


def test_every_term_says_where_it_comes_from(lumped):
    assert all(len(term.source) > 10 for term in lumped.terms)
    assert "common practice" in lumped.term(PACKAGE).source


def test_the_uncertainties_add_as_squares(lumped):
    expected = math.sqrt(sum(term.uncertainty**2 for term in lumped.terms))
    assert lumped.uncertainty == pytest.approx(expected, abs=0)
    assert lumped.term(CAPACITOR).uncertainty == pytest.approx(0.09e-9, rel=1e-6, abs=0)


def test_farther_and_higher_is_more_and_the_largest_derivative_comes_first(lumped):
    slopes = {each.dimension: each.derivative for each in lumped.sensitivities}
    assert slopes["distance"] > 0
    assert slopes["prepreg 7628"] > 0
    sizes = [abs(each.derivative) for each in lumped.sensitivities]
    assert sizes == sorted(sizes, reverse=True)
    assert first_change(lumped).startswith(lumped.sensitivities[0].dimension)


def test_the_derivative_at_fixed_currents_is_that_of_placing_and_solving_anew(lumped):
    # Two meshes 10 % of the distance apart, each within 0.2 % of a loop that changes by 9 % between them.
    ends = [
        whole_loop("moved", placed(SameSide(**common(capacitor(), distance=each)), FLOATING), FREQUENCY, vary=())
        for each in (0.57e-3, 0.63e-3)
    ]
    found = next(each.derivative for each in lumped.sensitivities if each.dimension == "distance")
    expected = (ends[1].inductance - ends[0].inductance) / 0.06e-3
    assert found == pytest.approx(expected, rel=0.04, abs=0)


def test_what_ten_per_cent_brings_orders_the_dimensions_too(lumped):
    amounts = [abs(each.per_tenth) for each in lumped.by_tenth]
    assert amounts == sorted(amounts, reverse=True)
    package = next(each for each in lumped.by_tenth if each.dimension == PACKAGE)
    assert package.per_tenth == pytest.approx(lumped.term(PACKAGE).amount / 10, rel=1e-12, abs=0)


def test_no_derivative_is_taken_by_what_is_not_asked_for():
    found = whole_loop("bare", placed(SameSide(**common(capacitor())), FLOATING), FREQUENCY, QUICK, vary=())
    assert found.sensitivities == ()


def test_the_copper_of_a_far_side_is_as_uncertain_as_both_of_its_views():
    far = placed(FarSide(**common(capacitor(), distance=0.3e-3, via_count=2)), FLOATING, replace(FLOATING, layer="L3"))
    found = whole_loop("far", far, FREQUENCY, QUICK, vary=())
    views = [solve_plan(layout, FREQUENCY, QUICK) for layout in placement_plan("far", far).layouts]
    expected = sum(view.inductance_error * view.inductance[0, 0] for view in views)
    assert found.term(COPPER).uncertainty == pytest.approx(expected, rel=1e-9, abs=0)


def test_a_long_loop_grows_by_its_section_per_length():
    # The ends do not change with the distance: two coplanar strips of the copper's thickness, by the section view.
    # 1 % of the coarse mesh that derivatives are taken on.
    long = placed(SameSide(**common(capacitor(), distance=8e-3)), board="2L-1.6")
    found = whole_loop("long", long, 1e9, PlanMeshSettings().coarser())
    slope = next(each.derivative for each in found.sensitivities if each.dimension == "distance")
    strips = [
        Region(name=role, outline=Rectangle(left=left, right=left + 1.6e-3, bottom=0.0, top=35e-6), role=role)
        for role, left in (("go", -1.9e-3), ("return", 0.3e-3))
    ]
    meshed = mesh_section(CrossSection(name="strips", regions=tuple(strips)), highest_frequency=1e9)
    expected = solve_at_frequency(assemble_section(meshed, order=3), 1e9).inductance_per_length[0, 0]
    assert slope == pytest.approx(expected, rel=0.01, abs=0)


def test_a_body_at_electrode_height_adds_inductance_that_grows_with_its_height():
    body = whole_loop("body", placed(SameSide(**common(capacitor(height=0.2e-3))), FLOATING), FREQUENCY, QUICK)
    assert 0.1e-9 < body.term(CAPACITOR).amount < 0.6e-9
    slope = next(each.derivative for each in body.sensitivities if each.dimension == "electrode_height")
    assert slope > 0
    assert body.term(CAPACITOR).uncertainty == pytest.approx(slope * 0.1e-3, rel=1e-9, abs=0)


def test_two_far_apart_sides_in_parallel_have_half_of_one(pair):
    assert pair.pair.pair == pytest.approx(pair.pair.single / 2, rel=1e-3, abs=0)
    assert [share.real for share in pair.shares] == pytest.approx([0.5, 0.5], abs=1e-3)


def test_symmetry_cancels_the_moment_and_uneven_shares_leave_their_difference(pair):
    assert pair.pair.pair_moment < 1e-3 * pair.pair.single_moment
    assert pair.pair.uneven_moment == pytest.approx(0.1 * pair.pair.single_moment, rel=0.01, abs=0)


def test_one_side_alone_has_the_moment_of_about_its_area(pair):
    # From the pins' middles to the capacitor's middle: 1.0 mm by the gap and up to two copper widths.
    assert 0.6e-6 < pair.pair.single_moment < 3.8e-6


def test_the_sentence_of_a_pair_tells_both_facts(pair):
    sentence = pair_sentence(pair)
    assert "In parallel" in sentence
    assert "55 to 45" in sentence


def test_vias_through_a_board_come_near_to_the_two_wire_formula():
    # One via per net, 2.2 mm apart through 1.53 mm: their ends take off about a third of the endless pair.
    far = whole_loop("far", placed(FarSide(**common(capacitor(), via_count=1)), board="2L-1.6"), FREQUENCY, QUICK)
    endless = via_pair_inductance(1.53e-3, 0.15e-3, 2.2e-3)
    assert 0.55 * endless < far.term(VIA_TERM).amount < endless


def test_the_rule_tells_how_far_section_times_length_is_off(lumped):
    rule = SectionRule(section=0.9 * lumped.term(COPPER).amount, plan=lumped.term(COPPER).amount)
    assert rule.off == pytest.approx(-0.1)
    assert "10 % low" in rule_sentence(rule)


def test_the_document_holds_plain_values(lumped):
    document = plain(lumped)
    assert sum(term["amount"] for term in document["terms"]) == lumped.inductance
    assert [term["name"] for term in document["terms"]] == [COPPER, CAPACITOR, VIA_TERM, PACKAGE]
    assert document["pair"] is None


def test_a_larger_esl_changes_only_the_capacitor(lumped):
    bigger = replace(capacitor(), body=LumpedEsl(inductance=0.5e-9))
    changed = whole_loop("more", placed(SameSide(**common(bigger)), FLOATING), FREQUENCY, QUICK)
    assert changed.term(CAPACITOR).amount == pytest.approx(0.5e-9, rel=1e-6, abs=0)
    assert changed.term(COPPER).amount == pytest.approx(lumped.term(COPPER).amount, rel=1e-9, abs=0)


def test_the_result_travels_between_processes(lumped):
    assert pickle.loads(pickle.dumps(lumped)).inductance == lumped.inductance


def test_the_section_of_a_mirrored_pair_carries_half_of_the_current():
    # Two sides alike share the current: the field beside one of them is half of that beside a loop that stands alone.
    alone, pair = (
        next(each for each in read_builtin_scenario("greenhouse-vent").variants if each.name == name)
        for name in ("same side", "mirrored pair")
    )
    analysis = read_builtin_scenario("greenhouse-vent").analysis
    one, half = (solve_variant(each, analysis, frozenset()) for each in (alone, pair))
    assert half.variant.length == pytest.approx(one.variant.length / 2, rel=1e-9)
    assert [line.peak for line in half.lines] == pytest.approx([line.peak / 2 for line in one.lines], rel=1e-3)
    assert half.moment == pytest.approx(one.moment / 2, rel=1e-3)
