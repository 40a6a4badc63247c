"""Facts about what-if studies: the box, the polynomials, their measured error, and the scenario of a state."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from explored import BOARD, CHECKED, OUTLINE, PLACED, solved_by_hand, value_of

from geometries.errors import ScenarioError
from geometries.files.explore_reading import parse_exploration
from geometries.files.explored_text import explored_text
from geometries.files.reading import parse_scenario, read_builtin_scenario
from geometries.quantities import write_quantity
from geometries.study.explore import Exploration, shape_of
from solver.circuit.rl_network import Cell, RLNetwork, SeriesInductor, SeriesResistor
from solver.explore.consequences import circuit_of, fixed_corners
from solver.explore.inputs import followed, inputs_of, numbers_of
from solver.explore.interpolation import NODES, further_points, interpolate, leja_nodes, place, up_to_degree
from solver.explore.points import Place, Search, SolvedPlace, explored_figures, operating_states, whole_index
from solver.explore.surrogate import MARGIN
from solver.report.explore_page import page_data, render_exploration
from solver.report.explore_shapes import plan_shapes
from solver.variant.figure import Reading


@pytest.fixture(scope="module")
def asked() -> Exploration:
    return parse_exploration(BOARD)


def test_nodes_lie_in_the_box_and_are_all_different():
    assert len(set(NODES)) == len(NODES)
    assert min(NODES) == -1
    assert max(NODES) == 1
    assert leja_nodes(3) == (0.0, -1.0, 1.0)


def test_polynomial_of_the_same_degree_is_met_everywhere():
    def function(x: float, y: float) -> float:
        return 1 + 2 * x - y + 3 * x * y + x**2 - 0.5 * y**3 + x * y**2

    found = interpolate({index: [function(*place(index))] for index in up_to_degree(2, 3)})
    for x, y in [(0.3, -0.7), (-0.9, 0.2), (1.0, 1.0)]:
        assert found.values((x, y))[0] == pytest.approx(function(x, y), abs=1e-12)


def test_further_point_leaves_the_values_at_earlier_ones():
    few = {index: [math.exp(sum(place(index)))] for index in up_to_degree(2, 1)}
    more = {**few, (1, 1): [math.exp(sum(place((1, 1))))]}
    for index, (value,) in few.items():
        assert interpolate(more).values(place(index))[0] == pytest.approx(value, abs=1e-14)


def test_point_follows_only_when_all_points_below_it_are_accepted():
    assert list(further_points([(0, 0)], (0, 0))) == [(1, 0), (0, 1)]
    assert list(further_points([(0, 0), (1, 0)], (1, 0))) == [(2, 0)]
    assert (1, 1) in further_points([(0, 0), (1, 0), (0, 1)], (1, 0))


def test_keys_that_shape_copper_are_told_from_those_that_do_not(asked):
    assert [axis.shapes for axis in asked.axes] == [True, False]


def test_logarithmic_axis_moves_by_ratios(asked):
    assert asked.axes[1].value(0.0) == pytest.approx(math.sqrt(1.5e-9 * 3e-9))
    assert asked.values((-1, 1)) == pytest.approx((0.6e-3, 3e-9))


def test_file_without_a_table_moves_the_usual_keys():
    without = parse_exploration(BOARD[: BOARD.index("[explore]")])
    assert [axis.key for axis in without.axes] == [
        "loop.width",
        "loop.gap",
        "loop.length",
        "switching.edge_time",
        "switching.switch_resistance",
    ]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("0.6 mm", "1.6 mm", "write the smaller end first"),
        ('"0.6 mm"', '"1.2 mm"', "outside 1.2 mm to 1.4 mm; widen the range"),
        ("loop.gap", "loop.gab", "did you mean .gap."),
        ("loop.gap", "loop.height", "unknown key"),
        ("0.6 mm", "0 mm", "gap is 0 m; it must be above zero"),
        ("switching.edge_time", "loop.gap", "named twice"),
        ("points = 5", 'points = 5\nvariants = ["other"]', "no variant is called 'other'"),
    ],
)
def test_box_that_cannot_be_is_refused_with_the_reason(old, new, message):
    with pytest.raises(ScenarioError, match=message):
        parse_exploration(BOARD.replace(old, new, 1))


def test_scenario_of_a_state_describes_today_and_the_state(asked):
    text = explored_text(asked, asked.variants[0]).replace("@0@", "1.25 mm").replace("@1@", "2.5 ns")
    scenario = parse_scenario(text)
    assert [variant.name for variant in scenario.variants] == [asked.scenario.reference, "explored"]
    assert scenario.switching.edge_time == 2.5e-9
    wanted = asked.scenario_at(asked.variants[0], (1.25e-3, 2.5e-9)).variants[0]
    assert scenario.variants[1].section.regions == wanted.section.regions


def test_layer_of_a_board_becomes_a_board_of_its_own():
    text = BOARD.replace("loop.gap", "stackup.core.thickness").replace(
        '"0.6 mm", to = "1.4 mm"', '"0.5 mm", to = "1 mm"'
    )
    asked = parse_exploration(text)
    scenario = parse_scenario(explored_text(asked, asked.variants[0]).replace("@0@", "0.6 mm").replace("@1@", "2 ns"))
    today, explored = (variant.stackups[0].thickness for variant in scenario.variants)
    assert explored - today == pytest.approx(0.6e-3 - asked.variants[0].today[0], abs=1e-9)


@pytest.fixture(scope="module")
def known(asked: Exploration):
    return solved_by_hand(asked)


def test_measured_error_is_that_of_independent_places(known):
    figure = known[0].figures[0]
    errors = []
    for state in CHECKED:
        found = known[0].readings(state)[figure.figure.key].value
        errors.append(abs(math.log(found / value_of(state, 0))))
    assert figure.error == pytest.approx(MARGIN * max(errors), rel=1e-9)
    assert figure.within == (max(errors) <= 1e-3)


def test_shown_uncertainty_holds_the_error_of_the_interpolation(known):
    rng = np.random.default_rng(7)
    kept = 0
    for state in rng.uniform(-1, 1, (100, 2)):
        reading = known[0].readings(tuple(state))[known[0].figures[0].figure.key]
        kept += abs(reading.value - value_of(tuple(state), 0)) <= reading.uncertainty
    assert kept >= 95


def test_page_escapes_what_the_scenario_says(asked, known):
    page = render_exploration(asked, known)
    assert "<b>board</b>" not in page
    assert page.count("</script>") == 2


def test_page_data_are_finite_and_in_shown_units(asked, known):
    data = page_data(asked, known)
    assert data["axes"][0] == {
        "key": "loop.gap",
        "title": "loop gap",
        "unit": "mm",
        "size": 1e-3,
        "low": pytest.approx(0.6),
        "high": pytest.approx(1.4),
        "logarithmic": False,
        "whole": False,
    }
    assert data["variants"][0]["figures"][0]["limit"] == pytest.approx(4.0)
    assert all(map(math.isfinite, (value for row in data["variants"][0]["surpluses"] for value in row)))


def test_drawn_corners_move_with_the_key(asked, known):
    variant = page_data(asked, known)["variants"][0]
    for picture, axis in (("section", 0), ("plan", 1)):
        copper = [shape for shape in variant[picture]["shapes"] if shape["kind"] in ("go", "return", "near")]
        moved = [max(abs(corner[axis]) for corner in shape["moves"][0]) for shape in copper]
        assert moved == pytest.approx([500.0] * len(copper))  # each side moves by half of the gap [mm per m]
        assert all(corner == [0.0, 0.0] for shape in copper for corner in shape["moves"][1])


def test_plan_of_a_placement_holds_lands_vias_and_bodies():
    variant = read_builtin_scenario("greenhouse-vent").variants[0]
    kinds = {shape.kind for shape in plan_shapes(variant)}
    assert {"near", "land", "body"} <= kinds


def test_plan_of_a_layout_begins_with_the_lowest_copper_and_has_voids_after_their_copper():
    shapes = plan_shapes(parse_exploration(OUTLINE).scenario.variants[0])
    kinds = [(shape.kind, shape.name) for shape in shapes]
    assert kinds[:4] == [("far", "layer"), ("void", "layer"), ("near", "input"), ("near", "ground")]
    assert {name for kind, name in kinds if kind == "land"} == {"switches", "C1"}


def test_keys_of_edge_and_current_need_no_solved_places(asked):
    assert followed(asked).computes
    assert operating_states(followed(asked)) == ((0,) * 0,)
    assert whole_index(followed(asked), (2,), ()) == (2, 0)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('frequency = "1 MHz"\nvoltage', 'recovery = { charge = "5 nC" }\nfrequency = "1 MHz"\nvoltage'),
        ('frequency = "1 MHz"\nvoltage', 'snubber = { capacitance = "600 pF" }\nfrequency = "1 MHz"\nvoltage'),
    ],
)
def test_what_a_page_cannot_follow_is_solved(old, new):
    assert not followed(parse_exploration(BOARD.replace(old, new))).computes


def test_numbers_of_the_edge_follow_the_keys(asked):
    inputs = inputs_of(asked, asked.variants[0])
    for place_of_state in [(0.2, -0.9), (-0.5, 0.77)]:
        scenario = asked.scenario_at(asked.variants[0], asked.values(place_of_state))
        assert inputs.interpolation.values(place_of_state) == pytest.approx(numbers_of(scenario), rel=1e-4)
    durations = numbers_of(scenario)[1 :: (len(numbers_of(scenario)) - 6) // (1 + sum(inputs.sources))][:3]
    assert durations[0] == pytest.approx(scenario.switching.edge_time)


def test_circuit_with_fixed_corners_has_the_impedance_of_the_loop():
    circuit = RLNetwork(
        resistors=(SeriesResistor(resistance=2e-3, turns=(1.0,)),),
        inductors=(SeriesInductor(inductance=3e-9, turns=(1.0,)),),
        cells=tuple(
            Cell(resistance=r, inductance=r / rate, turns=(1.0,))
            for r, rate in [(2e-3, 3e6), (5e-3, 4e7), (2e-2, 7e8), (6e-2, 5e9)]
        ),
        band=(1e4, 3e8),
    )
    fitted = circuit_of(fixed_corners(circuit))
    for frequency in (1e6, 2e7, 1.3e8, 4e8):
        found, wanted = (each.impedance(frequency)[0, 0] for each in (fitted, circuit))
        assert found.imag == pytest.approx(wanted.imag, rel=1e-3)
        assert found.real == pytest.approx(wanted.real, rel=2e-2)


CHOICES = BOARD.replace("vary = [", 'vary = [\n  { key = "stackup", choices = ["2L-1.6", "2L-0.8"] },')


def test_choices_stand_beside_keys_that_are_moved():
    asked = parse_exploration(CHOICES)
    assert [(choice.key, choice.labels) for choice in asked.choices] == [("stackup", ("2L-1.6", "2L-0.8"))]
    assert [variant.picked for variant in asked.variants] == [(1,), (0,)]  # that of the file first
    thin, thick = (asked.scenario_at(each, each.today).variants[0] for each in asked.variants)
    assert thick.stackups[0].thickness > thin.stackups[0].thickness


def test_scenario_of_a_choice_describes_it():
    asked = parse_exploration(CHOICES)
    text = explored_text(asked, asked.variants[1]).replace("@0@", "1 mm").replace("@1@", "2 ns")
    today, explored = parse_scenario(text).variants
    assert [each.stackups[0].name for each in (today, explored)] == ["2L-0.8", "2L-1.6"]


C0603, C0402 = (
    f'{{ case = "{case}", capacitance = "1 uF", esr = "4 mohm", esl = "0.4 nH" }}' for case in ("0603", "0402")
)
TABLES = {
    "two placements of one kind": (
        PLACED,
        "placement",
        '[{ kind = "same-side", distance = "0.6 mm" }, { kind = "same-side", distance = "1 mm" }]',
        ("kind same-side, distance 0.6 mm", "kind same-side, distance 1 mm"),
    ),
    "two kinds of placement": (
        PLACED,
        "placement",
        '[{ kind = "same-side", distance = "0.6 mm" }, { kind = "mirrored", distance = "0.6 mm" }]',
        ("same-side", "mirrored"),
    ),
    "a capacitor by its case": (PLACED, "capacitor.0603.case", '["0402", "0603"]', ("0402", "0603")),
    "all capacitors": (PLACED, "capacitor", f"[[{C0603}], [{C0402}]]", ("0603", "0402")),
    "a package": (PLACED, "switch.package", '["land-grid", "flip-chip"]', ("land-grid", "flip-chip")),
    "a tie": (PLACED, "planes.L2.tie", '["switch end", "absent"]', ("switch end", "absent")),
    "faces of a layer's copper": (
        OUTLINE,
        "outline.copper.layer.faces",
        '["one face", "both faces"]',
        ("one face", "both faces"),
    ),
}


@pytest.mark.parametrize(("text", "key", "choices", "labels"), TABLES.values(), ids=TABLES)
def test_choices_of_any_kind_are_told_apart_and_read_back(text, key, choices, labels):
    asked = parse_exploration(text.replace("vary = [", f"vary = [\n  {{ key = '{key}', choices = {choices} }},"))
    assert asked.choices[0].labels == labels
    assert len({variant.name for variant in asked.variants}) == 2
    other = asked.variants[1]
    copied = explored_text(asked, other).replace("@0@", write_quantity(other.today[0], asked.axes[0].quantity))
    wanted = asked.scenario_at(other, other.today)
    both = parse_scenario(copied)
    alone = replace(both, reference="explored", variants=both.variants[1:])
    assert shape_of(alone) == shape_of(wanted) != shape_of(asked.scenario_at(asked.variants[0], other.today))


@pytest.mark.parametrize(
    ("key", "choices", "message"),
    [
        ("capacitor.C9.case", '["0603", "0402"]', "no entry is called 'C9'; known here: 0603"),
        ("capacitor.0.cas", '["0603", "0402"]', "unknown key 'cas'; did you mean 'case'"),
        ("placement.kind", '["same-side", "under"]', r"explore: lamp: placement.kind = under: .*placement's kind is"),
        ("plane.L2.tie", '["both ends", "absent"]', "unknown key 'plane'"),
    ],
)
def test_key_of_choices_that_leads_nowhere_is_refused_with_the_nearest(key, choices, message):
    text = PLACED.replace("vary = [", f"vary = [\n  {{ key = '{key}', choices = {choices} }},")
    with pytest.raises(ScenarioError, match=message) as found:
        parse_exploration(text)
    assert "line" not in str(found.value)  # lines of a text that is not the file's


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"2L-1.6", "2L-0.8"', '"2L-1.6", "4L-7628"', "has '2L-0.8' today; state it there, and have it among"),
        ('"2L-1.6", "2L-0.8"', '"2L-0.8"', "at least two choices"),
        ('"2L-1.6", "2L-0.8"', '"2L-0.8", "2L-9"', "2L-9"),
        ('choices = ["2L-1.6", "2L-0.8"]', 'choices = ["2L-1.6", "2L-0.8"], from = "1 mm"', "or has choices"),
        ('"2L-1.6", "2L-0.8"', ", ".join(f'"2L-0.{n}"' for n in range(30)), "at most 24 are solved"),
    ],
)
def test_choices_that_cannot_be_are_refused_with_the_reason(old, new, message):
    with pytest.raises(ScenarioError, match=message):
        parse_exploration(CHOICES.replace(old, new, 1))


def test_figures_that_are_smooth_need_fewer_places(asked):
    def solve(bend: float) -> int:
        search, wanted = Search(asked=asked, accepted=(), known={}), [(0,)]
        while wanted:
            for index in wanted:
                size = 1e-9 * (1 + 0.2 * place(index)[0] + bend * place(index)[0] ** 4)
                readings = {figure.key: Reading(value=size) for figure in explored_figures(asked)}
                where = Place(variant=asked.variants[0].name, number=index, states=((0.0, 0.0),))
                search = search.with_place(SolvedPlace(place=where, readings=(readings,)))
            search, wanted = search.next_points()
        return len(search.known)

    assert solve(0.0) == 3  # the third one, which changed nothing, is not followed
    assert solve(0.3) == asked.points
