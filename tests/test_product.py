"""All sources of a product together: sums, changes, and what is said of them."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario
from geometries.files.stackups import named_stackup
from geometries.operation.emission import Cable, Emission, Site
from geometries.operation.product import Board, SwitchNode
from geometries.operation.published_limits import published_limit
from geometries.operation.sites import BoardAxis, Orientation
from geometries.operation.switching import Switching
from geometries.quantities import MM
from geometries.section.loops import Plane, SameLayerLoop, Tie, cross_section
from geometries.study.scenario import Variant
from solver.emission.comparison import compare_emission, product_of
from solver.emission.measures import one_change
from solver.emission.product import ground_below, product_lines
from solver.emission.product_results import Measure, ProductComparison
from solver.emission.warnings import emission_warnings
from solver.report.product_part import site_table
from solver.report.tables import records
from solver.study.results import StudyResult

BOARD = Board(width=60 * MM, length=80 * MM)
NODE = SwitchNode(width=8 * MM, length=8 * MM, offset_along=15 * MM, inductor_width=7 * MM, inductor_length=7 * MM)
SWITCHING = Switching(
    input_voltage=24.0, edge_time=2e-9, output_capacitance=300e-12, switch_resistance=0.3, capacitor_resistance=5e-3
)
EMISSION = Emission(
    current=4.0,
    frequency=1e6,
    duty=0.3,
    rise_time=2e-9,
    fall_time=2e-9,
    limits=(published_limit("CISPR 32 class B", 3.0),),
    upright_height=0.2 * MM,
    upright_length=1.4 * MM,
    cable=Cable(length=1.0),
    board=BOARD,
    node=NODE,
    orientation=Orientation.FLAT,
    switching=SWITCHING,
)


def variant(*planes: Plane) -> Variant:
    loop = SameLayerLoop(width=3 * MM, return_width=3 * MM, gap=1 * MM, length=8 * MM, layer="L1")
    section = cross_section("board", named_stackup("4L-7628"), loop, planes)
    return Variant(name="board", note="", section=section, length=8 * MM)


@pytest.fixture(scope="module")
def product(study: StudyResult) -> ProductComparison:
    found = compare_emission(EMISSION, study.results, study.reference).product
    assert found is not None
    return found


def test_without_a_board_only_the_loop_is_predicted(study: StudyResult) -> None:
    emission = replace(EMISSION, board=None, node=None)
    assert compare_emission(emission, study.results, study.reference).product is None
    assert product_of(emission, study.results[0]) is None


def test_every_source_has_its_line_and_the_sum_comes_last(product: ProductComparison) -> None:
    names = [line.name for line in product.predictions[0].lines]
    assert names == ["loop", "switch node", "cable, current-driven", "cable, voltage-driven", "sum"]


def test_the_sum_is_that_of_the_powers_at_its_highest_line(product: ProductComparison) -> None:
    for each in product.predictions:
        index = each.total.nearest(each.sum_line.highest.frequency)
        power = sum(10 ** (float(source.levels[index]) / 10) for source in each.total.sources)
        assert each.sum_line.highest.level == pytest.approx(10 * math.log10(power), abs=1e-9)
        assert each.ceiling >= each.sum_line.highest.level


def test_the_figure_of_a_variant_is_the_line_of_the_comparison(study: StudyResult, product: ProductComparison) -> None:
    for result, prediction in zip(study.results, product.predictions, strict=True):
        assert product_of(EMISSION, result) == prediction.sum_line


def test_the_margin_of_the_sum_is_smaller_than_that_of_the_loop_alone(study: StudyResult) -> None:
    # On a flat board at 3 m the site adds less than the 6 dB of the loop's bound; the cable more than makes up for it.
    found = compare_emission(EMISSION, study.results, study.reference)
    assert found.product is not None
    assert found.product.predictions[0].margin.value < found.predictions[0].closest.value


def test_the_reference_changes_by_nothing_and_surely(product: ProductComparison) -> None:
    reference = next(each for each in product.predictions if each.name == product.reference)
    assert {(each.change, each.band) for each in reference.changes} == {(0.0, 0.0)}


def test_the_sums_change_is_that_of_its_highest_lines(product: ProductComparison) -> None:
    base, other = product.predictions[:2]
    assert other.sum_change.change == pytest.approx(
        other.sum_line.highest.level - base.sum_line.highest.level, abs=1e-9
    )
    assert other.sum_change.band > 0


def test_the_gain_of_the_site_is_named_by_the_axis_that_points_up(study: StudyResult) -> None:
    emission = replace(EMISSION, orientation=Orientation.UNKNOWN)
    product = compare_emission(emission, study.results, study.reference).product
    assert product is not None
    assert [axis for axis, _ in product.predictions[0].gains] == [BoardAxis.NORMAL, BoardAxis.ACROSS, BoardAxis.ALONG]


def test_an_unknown_orientation_widens_the_band_of_a_level(study: StudyResult, product: ProductComparison) -> None:
    emission = replace(EMISSION, orientation=Orientation.UNKNOWN)
    unknown = compare_emission(emission, study.results, study.reference).product
    assert unknown is not None
    assert unknown.predictions[0].lines[0].band > product.predictions[0].lines[0].band


def test_in_free_space_nothing_is_added_to_a_flat_loop(study: StudyResult) -> None:
    # The rest of it, a vertical loop, is received in another polarisation: less than the whole, and never more.
    emission = replace(EMISSION, site=Site.FREE_SPACE)
    product = compare_emission(emission, study.results, study.reference).product
    assert product is not None
    assert all(gain <= 1e-9 for _, gain in product.predictions[0].gains)


def test_a_stray_capacitance_that_is_given_is_taken_instead_of_the_computed_one(study: StudyResult) -> None:
    levels = []
    for stray in (1e-14, 1e-13):
        product = compare_emission(replace(EMISSION, stray_capacitance=stray), study.results, study.reference).product
        assert product is not None
        levels.append(product.predictions[0].lines[3].highest.level)
    assert levels[1] - levels[0] == pytest.approx(20.0, abs=1e-6)


def test_the_sentence_fits_on_two_lines_of_the_page(product: ProductComparison) -> None:
    assert len(product.sentence) <= 240


def test_lines_beside_every_step_of_a_limit_are_looked_at() -> None:
    frequencies = np.arange(30e6, 1000.1e6, 0.4e6)
    chosen = product_lines(frequencies, EMISSION)
    assert {30e6, frequencies[frequencies <= 230e6][-1], frequencies[frequencies > 230e6][0]} <= set(chosen.tolist())
    assert len(chosen) <= 600 + 2 * 5


def test_few_lines_are_all_looked_at() -> None:
    frequencies = np.arange(30e6, 1000.1e6, 40e6)
    assert product_lines(frequencies, EMISSION) == pytest.approx(frequencies)


def test_the_ground_below_the_node_is_the_uppermost_layer() -> None:
    planes = [Plane(layer=layer, tie=Tie.NONE, width=40 * MM) for layer in ("L2", "L3")]
    ground = ground_below(variant(*planes))
    assert ground.depth == pytest.approx(0.2e-3, rel=0.1)
    assert ground.relative_permittivity > 4.0


def test_without_ground_layers_there_is_none_below() -> None:
    assert math.isinf(ground_below(variant()).depth)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"board": None}, "a node stands on a board, of which nothing is said; give its size"),
        ({"switching": None}, "nothing is said of the switch node's voltage"),
        (
            {"node": replace(NODE, offset_along=50 * MM)},
            "50 mm from the middle of a board as large as a disc of 39",
        ),
    ],
)
def test_a_node_without_what_it_needs_is_refused(changes: dict, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        replace(EMISSION, **changes)


DESCRIBED = """
title = "emission"
stackup = "4L-7628"
[analysis]
frequencies = ["100 MHz", "300 MHz"]
[loop]
kind = "same-layer"
width = "1 mm"
gap = "0.5 mm"
length = "8 mm"
[switching]
input_voltage = "24 V"
edge_time = "2 ns"
output_capacitance = "300 pF"
switch_resistance = "0.5 ohm"
capacitor_resistance = "10 mohm"
frequency = "1.2 MHz"
[emission]
current = "4 A"
limits = ["CISPR 32 class B"]
cable = { length = "1 m" }
board = { width = "60 mm", length = "80 mm", attached_capacitance = "3 pF" }
"""
WITH_NODE = 'node = { width = "8 mm", length = "8 mm", offset_along = "15 mm" }\norientation = "on edge"\n'


def test_board_node_and_orientation_are_read_from_a_scenario() -> None:
    emission = parse_scenario(DESCRIBED + WITH_NODE).emission
    assert emission.board == replace(BOARD, attached_capacitance=3e-12)
    assert emission.node == SwitchNode(width=8 * MM, length=8 * MM, offset_along=15 * MM)
    assert emission.orientation is Orientation.ON_EDGE


def test_a_board_without_its_node_is_warned_of() -> None:
    codes = [{each.code for each in emission_warnings(parse_scenario(DESCRIBED + more))} for more in ("", WITH_NODE)]
    assert ["W-NO-NODE" in each for each in codes] == [True, False]


def test_the_cables_warning_says_whether_there_is_an_estimate() -> None:
    bare = DESCRIBED.replace("board =", "# board =")
    texts = [
        next(each.text for each in emission_warnings(parse_scenario(text)) if each.code == "W-CABLE-BOUND")
        for text in (bare, DESCRIBED)
    ]
    assert "give board for an estimate" in texts[0]
    assert "±10 dB" in texts[1]


def measured(product: ProductComparison) -> dict[str, Measure]:
    return {each.name: each for each in product.measures}


def test_one_change_of_the_least_board_is_told_as_what_it_brings_to_the_sum(product: ProductComparison) -> None:
    found = measured(product)
    names = list(found)
    assert names[-3:] == [
        "edge 2 times as long",
        "snubber of 3 times the switch's capacitance",
        "filter of 20 dB at the cable",
    ]
    assert all(each.change < 0 for each in list(found.values())[-3:])


def test_a_filter_brings_no_more_than_its_20_db_and_leaves_loop_and_node(product: ProductComparison) -> None:
    least = product.least
    total = least.total
    cables = [each for each in total.sources if each.name.startswith("cable")]
    power = 10 ** (total.levels / 10) - 0.99 * sum(10 ** (each.levels / 10) for each in cables)
    expected = 10 * np.log10(power).max() - total.levels.max()
    assert measured(product)["filter of 20 dB at the cable"].change == pytest.approx(expected, abs=0.01)
    assert -20 <= expected < 0


@pytest.mark.parametrize(
    ("before", "after", "kind"),
    [
        (Tie.CAPACITOR_END, Tie.BOTH_ENDS, "tie"),
        (Tie.CAPACITOR_END, Tie.SWITCH_END, "tie"),
        (Tie.BOTH_ENDS, Tie.BOTH_ENDS, ""),
    ],
)
def test_boards_that_differ_in_their_tie_alone_are_known(before: Tie, after: Tie, kind: str) -> None:
    sections = [variant(Plane(layer="L2", tie=tie, width=40 * MM)).section for tie in (before, after)]
    assert one_change(*sections) == kind


def test_boards_that_differ_in_tie_and_layers_are_no_one_change() -> None:
    before = variant(Plane(layer="L2", tie=Tie.CAPACITOR_END, width=40 * MM)).section
    after = variant(Plane(layer="L3", tie=Tie.BOTH_ENDS, width=40 * MM)).section
    assert one_change(before, after) == ""
    assert one_change(before, variant(Plane(layer="L3", tie=Tie.CAPACITOR_END, width=40 * MM)).section) == "layers"


def test_a_board_whose_ground_is_tied_nowhere_is_not_the_least_of_those_that_can_be_built(
    study: StudyResult, study_of_untied: StudyResult
) -> None:
    products = [compare_emission(EMISSION, each.results, each.reference).product for each in (study, study_of_untied)]
    assert [[each.study for each in product.predictions] for product in products] == [[False, False], [False, True]]
    assert [product.predictions.index(product.least) for product in products] == [1, 0]


def test_the_sites_gain_is_shown_by_frequency_for_a_loop_that_lies_and_one_that_stands() -> None:
    lines = {line[0]: list(line[1:]) for line in records(site_table(EMISSION))}
    assert lines["30"] == ["−6.8", "+4.6"]
    assert lines["144"] == ["+2.8", "+2.2"]
    assert "3000" not in lines
