"""Facts about a what-if page in a real browser, and that the solver says the same."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import (
    WIDTHS,
    hidden_letters,
    open_browser,
    overlaps,
    printed,
    requests,
    serious_violations,
    show,
    show_state,
    sideways,
)
from explored import BOARD, OUTLINE, PLACED, solved_by_hand

from geometries.files.explore_reading import parse_exploration
from geometries.files.reading import parse_scenario
from geometries.study.explore import Exploration
from solver.explore.consequences import CONSEQUENCES, RATES, consequences, handed_of, shape_of_levels
from solver.explore.inputs import inputs_of, numbers_of
from solver.explore.points import solve_state
from solver.report.explore_commands import run_exploration
from solver.report.explore_page import inputs_data, render_exploration, site_data
from solver.study.study import run_study

STATES = 4
"""Random states that are solved as well; the same in every run."""


@pytest.fixture(scope="module")
def asked() -> Exploration:
    return parse_exploration(BOARD)


@pytest.fixture(scope="module")
def page(asked: Exploration, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "what-if.html"
    run_exploration(asked, path, workers=1)
    return path


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with open_browser() as opened:
        yield opened


def slide(browser: Any, number: int, place: int) -> None:
    browser.execute_script(
        "const input = document.getElementById(`key-${arguments[0]}`);"
        "input.value = arguments[1]; input.dispatchEvent(new Event('input'));",
        number,
        place,
    )


def address_at_rest(browser: Any) -> str:
    """The address some time after the last move; it is not written with every one."""
    browser.execute_async_script("setTimeout(arguments[0], 150)")
    return str(browser.current_url)


def figures(browser: Any) -> dict[str, tuple[float, float]]:
    rows = browser.execute_script(
        "return [...document.querySelectorAll('#figures tr')].map((row) => [row.dataset.key, row.dataset.value,"
        " row.dataset.uncertainty])"
    )
    return {key: (float(value), float(uncertainty)) for key, value, uncertainty in rows}


def test_every_slider_changes_figures_and_address(browser, page, asked):
    show(browser, page)
    for number in range(len(asked.axes)):
        before, address = figures(browser), browser.current_url
        slide(browser, number, 900)
        assert figures(browser) != before
        assert address_at_rest(browser) != address


def test_address_brings_the_state_back(browser, page):
    show(browser, page)
    slide(browser, 0, 250)
    state, address = figures(browser), address_at_rest(browser)
    show_state(browser, page, address.split("#")[1])
    assert figures(browser) == state


def test_nothing_is_shown_outside_the_box(browser, page):
    show_state(browser, page, "s=0~9~2")
    assert figures(browser) == {}
    assert browser.execute_script("return document.getElementById('outside').checkVisibility()")


def test_two_pinned_states_stand_side_by_side_with_their_difference(browser, page):
    show(browser, page)
    browser.find_element("id", "pin-a").click()
    slide(browser, 0, 1000)
    browser.find_element("id", "pin-b").click()
    rows = browser.execute_script(
        "return [...document.querySelectorAll('#pins tr')].map((row) => [...row.cells].map((each) => each.textContent))"
    )
    row = next(row for row in rows if row[0] == "inductance of perfect conductors, section alone")
    one, other = (float(cell.split(" ")[0]) for cell in row[1:3])
    assert row[3].startswith("+")  # the gap has grown
    assert float(row[3].split(" ")[0]) == pytest.approx(other - one, abs=2e-3)


def test_curve_of_any_figure_over_any_key_is_drawn(browser, page, asked):
    show(browser, page)
    for figure in range(3):
        for key in range(len(asked.axes)):
            browser.execute_script(
                "for (const [id, value] of [['curve-figure', arguments[0]], ['curve-key', arguments[1]]]) {"
                " document.getElementById(id).value = value;"
                " document.getElementById(id).dispatchEvent(new Event('change')); }",
                figure,
                key,
            )
            drawn = browser.execute_script("return document.querySelector('#curve .curve').getAttribute('d')")
            assert drawn.count("L") == 60
            assert "NaN" not in drawn


@pytest.mark.parametrize("width", WIDTHS)
def test_page_fits_its_window_and_no_text_lies_over_another(browser, page, width):
    show(browser, page, width)
    assert sideways(browser) <= 0
    assert overlaps(browser) == []


def test_page_fits_the_sheet_it_is_printed_on(browser, page):
    with printed(browser, page):
        assert sideways(browser) <= 0
        assert overlaps(browser) == []


def test_page_keeps_the_accessibility_rules(browser, page):
    show(browser, page)
    assert serious_violations(browser) == []


def test_page_asks_for_nothing_and_logs_no_error(browser, page):
    browser.get_log("browser")
    browser.get_log("performance")
    show(browser, page)
    slide(browser, 0, 700)
    assert requests(browser) == []
    assert browser.get_log("browser") == []


def test_title_is_text(browser, page):
    show(browser, page)
    assert browser.find_element("tag name", "h1").text == "small <b>board</b> </script>"


def test_page_and_solver_agree_within_the_shown_uncertainty(browser, page, asked):
    draw = random.Random(3)
    outside = 0
    for _ in range(STATES):
        values = asked.values([draw.uniform(-1, 1) for _ in asked.axes])
        code = "~".join(f"{value / size:.6g}" for value, size in zip(values, (1e-3, 1e-9), strict=True))
        show_state(browser, page, f"s=0~{code}")
        solved = solve_state(asked, asked.variants[0].name, values)
        scales = browser.execute_script(
            "return JSON.parse(document.getElementById('data').textContent).variants[0].figures.map("
            "(each) => [each.key, each.scale])"
        )
        shown = figures(browser)
        for key, scale in scales:
            value, uncertainty = shown[key]
            distance = abs(value - solved[key].value / scale)
            assert distance <= 2 * uncertainty
            outside += distance > uncertainty
    assert outside <= 0.05 * STATES * len(scales)


def test_copied_scenario_solves_to_what_the_page_shows(browser, page):
    show(browser, page)
    slide(browser, 0, 300)
    browser.find_element("id", "copy").click()
    text = browser.execute_script("return document.getElementById('scenario').value")
    shown = figures(browser)["loop_inductance"]
    solved = run_study(parse_scenario(text), workers=1).reading("explored", "loop_inductance")
    assert abs(shown[0] - solved.value * 1e9) <= shown[1]


def test_computed_figures_are_those_of_the_solver_where_nothing_is_interpolated(browser, page, asked):
    show(browser, page)
    middle = asked.values([0.0, 0.6])
    found = browser.execute_script(
        "const data = JSON.parse(document.getElementById('data').textContent), variant = data.variants[0];"
        "const state = stateAt(data, variant, arguments[0].map((value, n) => value / data.axes[n].size));"
        "return variant.figures.map((figure, n) => [figure.key, figure.computed, state.figure(n).value * figure.scale,"
        " state.figure(n).own * figure.scale]).filter((each) => each[1])",
        list(middle),
    )
    solved = solve_state(asked, asked.variants[0].name, middle)
    assert {key for key, *_ in found} == set(CONSEQUENCES)
    for key, _, value, uncertainty in found:
        assert value == pytest.approx(solved[key].value, rel=1e-3), key
        # The ± are differences of values that agree within 0.1 %.
        assert uncertainty == pytest.approx(solved[key].uncertainty, rel=0.01, abs=2e-3 * abs(value)), key


EDGES = {
    "typical curve": {},
    "points of a curve": {'"300 pF"': '{ points = [["0 V", "1.1 nF"], ["5 V", "520 pF"], ["24 V", "300 pF"]] }'},
    "constant": {'"300 pF"': '{ constant = "300 pF" }'},
    "snubber": {
        'frequency = "1 MHz"\nv': 'snubber = { capacitance = "700 pF", resistance = "2 ohm" }\nfrequency = "1 MHz"\nv'
    },
    "stated ringing": {'switch_resistance = "0.3 ohm"': "ringing = { quality_factor = 9 }"},
    "nothing said of the ring": {'switch_resistance = "0.3 ohm"\n': ""},
}


@pytest.mark.parametrize("changes", EDGES.values(), ids=EDGES)
def test_script_computes_what_the_solver_computes(browser, page, changes):
    text = BOARD
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    asked = parse_exploration(text)
    inputs = inputs_of(asked, asked.variants[0])
    site = site_data(asked.scenario)
    show(browser, page)
    draw = random.Random(5)
    for _ in range(4):
        scenario = asked.scenario_at(asked.variants[0], asked.values([draw.uniform(-1, 1) for _ in asked.axes]))
        ways, sources = shape_of_levels(scenario)
        handed = handed_of(
            [
                math.log(draw.uniform(1e-3, 1e-2)),
                math.log(draw.uniform(0.5e-9, 5e-9)),
                *(draw.uniform(0.0, 0.03) for _ in RATES),
                0.5e-9,
                *(math.log(draw.uniform(1e-7, 1e-6)) for _ in range(site["points"])),
                *(draw.uniform(3, 10) for _ in range(sources)),
                *(draw.uniform(40, 60) for _ in range(ways * sources * site["points"])),
            ],
            scenario,
        )
        found = browser.execute_script(
            "const [numbers, rest, inputs, data] = arguments;"
            "const handed = handedFrom(numbers, 0, data.rates, data.site);"
            "const { edges, shared } = inputsFrom(rest, inputs);"
            "const held = inputs.holdsPackage;"
            "return { ...edgeFigures(handed, edges, held), ...emissionFigures(handed, edges[0][0], shared, held,"
            " data.site), inductance_margin: inductanceMargin(handed, edges, shared, held) }",
            list(handed.numbers()),
            numbers_of(scenario),
            inputs_data(inputs),
            {"rates": RATES, "site": site},
        )
        wanted = consequences(scenario, handed)
        assert found.keys() == wanted.keys()
        for key, value in wanted.items():
            assert (math.inf if found[key][0] is None else found[key][0]) == pytest.approx(
                value, rel=2e-3, abs=1e-12
            ), key


def test_choices_are_selectors_that_change_the_board(browser, tmp_path):
    text = BOARD.replace("vary = [", 'vary = [\n  { key = "stackup", choices = ["2L-1.6", "2L-0.8"] },')
    asked = parse_exploration(text)
    page = tmp_path / "choices.html"
    page.write_text(render_exploration(asked, solved_by_hand(asked)), encoding="utf-8")
    show(browser, page)
    before = figures(browser)
    browser.execute_script(
        "const chooser = document.getElementById('choice-1'); chooser.value = 0;"
        "chooser.dispatchEvent(new Event('change'));"
    )
    for key, (value, _) in figures(browser).items():
        assert value == pytest.approx(2 * before[key][0])
    browser.find_element("id", "copy").click()
    text = browser.execute_script("return document.getElementById('scenario').value")
    assert [each.stackups[0].name for each in parse_scenario(text).variants] == ["2L-0.8", "2L-1.6"]
    assert parse_scenario(text).budgets == asked.scenario.budgets
    assert sideways(browser) <= 0
    assert serious_violations(browser) == []
    browser.find_element("id", "today").click()
    assert figures(browser) == before


@pytest.mark.parametrize("text", [PLACED, OUTLINE], ids=["placement", "outline"])
def test_names_of_ports_lie_in_the_plan_and_not_over_each_other(browser, tmp_path, text):
    asked = parse_exploration(text)
    page = tmp_path / "plan.html"
    page.write_text(render_exploration(asked, solved_by_hand(asked)), encoding="utf-8")
    for width in WIDTHS:
        show(browser, page, width)
        assert hidden_letters(browser, "plan") == []
        assert sideways(browser) <= 0
    words = browser.execute_script(
        "return [...document.querySelectorAll('#plan text')].map((each) => each.textContent)"
    )
    assert len({"switch", "switches", "C1"} & set(words)) == 2


def test_voids_are_holes_in_their_copper(browser, tmp_path):
    asked = parse_exploration(OUTLINE)
    page = tmp_path / "voids.html"
    page.write_text(render_exploration(asked, solved_by_hand(asked)), encoding="utf-8")
    show(browser, page)
    inside = browser.execute_script(
        "const layer = document.querySelector('#plan path.far'), box = layer.getBBox();"
        "const at = (x, y) => layer.isPointInFill(new DOMPoint(box.x + x * box.width, box.y + y * box.height));"
        "return [at(5.5 / 11, 0.5), at(1 / 11, 0.5)];"  # in the hole, which lies from 4 mm to 7 mm, and beside it
    )
    assert inside == [False, True]


def test_state_of_a_choice_is_what_its_copied_scenario_solves_to(browser, tmp_path):
    tie = '{ key = "planes.L2.tie", choices = ["both ends", "capacitor end"] },'
    text = BOARD.replace('"6 mm" }', '"6 mm" }\nplanes.L2 = { tie = "both ends", width = "20 mm" }', 1)
    text = text.replace("vary = [", f"vary = [\n  {tie}").replace("points = 5", "points = 2")
    page = tmp_path / "ties.html"
    run_exploration(parse_exploration(text), page, workers=1)
    show_state(browser, page, "s=1~1.1~1.8")
    shown = figures(browser)
    browser.find_element("id", "copy").click()
    copied = parse_scenario(browser.execute_script("return document.getElementById('scenario').value"))
    solved = run_study(copied, workers=1)
    for figure in solved.figures:
        value, uncertainty = shown[figure.key]
        assert abs(value - solved.reading("explored", figure.key).value / figure.scale) <= uncertainty, figure.key


def test_budget_that_is_changed_on_the_page_is_kept_in_address_and_scenario(browser, page):
    show(browser, page)
    browser.execute_script(
        "const input = document.getElementById('budget-loop_inductance'); input.value = 1.25;"
        "input.dispatchEvent(new Event('change'));"
    )
    assert "l=loop_inductance~1.25" in address_at_rest(browser)
    assert "over budget: loop inductance" in browser.find_element("id", "said").text
    browser.find_element("id", "copy").click()
    text = browser.execute_script("return document.getElementById('scenario').value")
    assert [(each.key, each.text) for each in parse_scenario(text).budgets] == [("loop_inductance", "1.25 nH")]
