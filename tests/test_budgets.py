"""Budgets: reading them, answering them, and the command that checks them."""

import json
from dataclasses import replace

import pytest
from typer.testing import CliRunner

from geometries.errors import ScenarioError
from geometries.files.reading import builtin_text, parse_scenario
from geometries.operation.budgets import read_budgets
from geometries.operation.emission import Emission, Site
from geometries.operation.published_limits import published_limit
from geometries.operation.switching import Switching
from geometries.study.scenario import Scenario, without_steps
from solver.cli import EXIT_BUDGET, EXIT_INPUT, app
from solver.report.budgets_part import check_details, check_sentence, check_table, limit_words, verdict
from solver.report.figure_tables import value_words
from solver.study.budgets import BudgetCheck, BudgetChecks, Limit, check_budgets, limits_of
from solver.study.figures_of_merit import every_figure
from solver.study.results import StudyResult
from solver.variant.figure import Reading, Sense

SWITCHING = Switching(
    input_voltage=12.0,
    edge_time=1e-9,
    output_capacitance=300e-12,
    switch_resistance=1.0,
    capacitor_resistance=0.0,
)
EMISSION = Emission(
    current=4.0,
    frequency=1.2e6,
    duty=0.21,
    rise_time=2e-9,
    fall_time=2e-9,
    distance=3.0,
    site=Site.OPEN_AREA_MAXIMUM,
    limits=(published_limit("CISPR 32 class B", 3.0),),
)
SMALL = """
title = "one board"
stackup = "2L-1.6"
loop = { kind = "next-layer", width = "2 mm", return_width = "10 mm", length = "6 mm" }
analysis = { frequencies = ["10 MHz"], report_frequency = "100 MHz", tolerance = "1 %", axisymmetric_view = false }
variant = [{ name = "thick" }, { name = "thin", stackup = "2L-0.8" }]
"""


def figure(key: str):
    return next(each for each in every_figure() if each.key == key)


def budgeted(study: StudyResult, **limits: str) -> Scenario:
    scenario = study.scenario.asking(SWITCHING, EMISSION)
    return replace(scenario, budgets=read_budgets(limits))


def answer(value: float, limit: float, uncertainty: float = 0.0, key: str = "peak_voltage") -> BudgetCheck:
    asked = Limit(figure=figure(key), value=limit)
    return BudgetCheck(variant="a", limit=asked, reading=Reading(value=value, uncertainty=uncertainty))


def checks_of(*checks: BudgetCheck) -> BudgetChecks:
    return BudgetChecks(checks=checks)


def test_feedback_noise_is_refused_where_a_variant_has_no_victim() -> None:
    with pytest.raises(ScenarioError, match=r"feedback_noise is not known of every variant.*\[pickup\]"):
        limits_of(parse_scenario('budgets.feedback_noise = "10 mV"' + SMALL))


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('budgets.loop_inductence = "1 nH"', "did you mean 'loop_inductance'"),
        ('budgets.loop_inductance = "1 mm"', "budgets: .*not a inductance"),
        ("budgets.loop_inductance = 2", "bare value without a unit"),
        ('budgets.loop_inductance = "0 nH"', "can never be kept"),
        ('budgets.peak_voltage = "16 V"', r"add the table \[switching\]"),
        ('budgets.emission_margin = "6 dB"', r"add the table \[emission\]"),
    ],
)
def test_impossible_budgets_are_refused(line: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        limits_of(parse_scenario(line + SMALL))


def test_a_file_with_budgets_is_read() -> None:
    scenario = parse_scenario('budgets.loop_inductance = "1.5 nH"' + SMALL)
    assert [(each.key, each.text) for each in scenario.budgets] == [("loop_inductance", "1.5 nH")]


def test_the_limit_itself_is_kept() -> None:
    assert answer(16.0, 16.0).kept


def test_more_than_at_most_is_exceeded() -> None:
    assert not answer(16.1, 16.0).kept


def test_a_margin_has_to_be_at_least_its_budget() -> None:
    assert figure("emission_margin").sense is Sense.MORE
    assert answer(7.0, 6.0, key="emission_margin").kept
    assert not answer(5.0, 6.0, key="emission_margin").kept


def test_a_figure_within_its_uncertainty_of_the_limit_is_doubtful() -> None:
    assert verdict(answer(15.5, 16.0, uncertainty=0.6)) == "kept, within the uncertainty"
    assert verdict(answer(15.5, 16.0, uncertainty=0.4)) == "kept"
    assert verdict(answer(16.3, 16.0, uncertainty=0.4)) == "exceeded, within the uncertainty"


def test_words_carry_sense_unit_and_uncertainty() -> None:
    assert limit_words(answer(0, 16.0).limit) == "≤ 16 V"
    assert value_words(figure("peak_voltage"), Reading(value=15.53, uncertainty=0.21)) == "15.5 ± 0.3"


def test_answers_come_by_variant_and_budget(study: StudyResult) -> None:
    scenario = budgeted(study, loop_inductance="1.5 nH", peak_voltage="16 V")
    checks = check_budgets(scenario, study.results).checks
    found = [(each.variant, each.limit.figure.key, each.kept) for each in checks]
    names = [result.variant.name for result in study.results]
    assert found == [
        (names[0], "loop_inductance", False),
        (names[0], "peak_voltage", False),
        (names[1], "loop_inductance", True),
        (names[1], "peak_voltage", False),
    ]


def test_loop_inductance_is_answered_with_its_mesh_error(study: StudyResult) -> None:
    scenario = budgeted(study, loop_inductance="1.5 nH")
    assert (
        check_budgets(scenario, study.results).checks[0].reading.uncertainty
        == study.results[0].section_inductance_error
    )


def test_overshoot_is_the_peak_over_the_input(study: StudyResult) -> None:
    scenario = budgeted(study, peak_voltage="16 V", overshoot="30 %")
    peak, overshoot = check_budgets(scenario, study.results).checks[:2]
    assert overshoot.reading.value == pytest.approx(peak.reading.value / 12 - 1, rel=1e-12)


def test_without_budgets_there_are_no_answers(study: StudyResult) -> None:
    assert check_budgets(study.scenario, study.results).checks == ()


def test_sentence_names_who_keeps_and_who_exceeds() -> None:
    good, bad = answer(15.0, 16.0), replace(answer(17.0, 16.0), variant="b")
    assert check_sentence(checks_of(good, bad)) == "“a” keeps every budget. “b” exceeds at least one budget."
    assert check_sentence(checks_of(good)) == "“a” keeps every budget."
    assert check_sentence(checks_of(good, replace(good, variant="b"))) == "All variants keep every budget."
    assert check_sentence(checks_of(bad, replace(bad, variant="a"))) == "No variant keeps every budget."


def test_one_broken_budget_breaks_the_whole_check() -> None:
    checks = checks_of(answer(15.0, 16.0), replace(answer(17.0, 16.0), variant="b"))
    assert not checks.kept
    assert [each[0]["kept"] for each in check_details(checks).values()] == [True, False]


def test_table_shows_every_answer() -> None:
    assert len(check_table(checks_of(answer(15.0, 16.0), answer(17.0, 16.0))).rows) == 2


def test_reduced_scenario_has_no_steps_and_a_reference_among_its_variants() -> None:
    scenario = without_steps(parse_scenario(SMALL), ["thin"])
    assert [each.name for each in scenario.variants] == [scenario.reference] == ["thin"]
    assert without_steps(parse_scenario(SMALL)).reference == "thick"


def run(tmp_path, budgets: str, *words: str):
    path = tmp_path / "board.toml"
    path.write_text(budgets + SMALL)
    return CliRunner().invoke(app, ["check", str(path), "--workers", "1", *words])


def test_command_says_no_and_exits_with_one(tmp_path) -> None:
    done = run(tmp_path, 'budgets.loop_inductance = "1.8 nH"')
    assert done.exit_code == EXIT_BUDGET == 1
    assert done.stdout.startswith("“thin” keeps every budget. “thick” exceeds at least one budget.")


def test_command_checks_the_named_variant_alone(tmp_path) -> None:
    done = run(tmp_path, 'budgets.loop_inductance = "1.8 nH"', "--variant", "thin", "--json")
    document = json.loads(done.stdout)
    assert done.exit_code == 0
    assert (document["kept"], len(document["variants"])) == (True, 1)
    assert document["variants"][0]["budgets"][0]["limit"] == 1.8e-9


def test_command_without_budgets_says_how_to_add_them(tmp_path) -> None:
    done = run(tmp_path, "")
    assert done.exit_code == EXIT_INPUT
    assert "there is no [budgets] table; add one" in done.stderr


def test_the_budget_of_pick_up_is_one_with_that_of_the_study() -> None:
    text = builtin_text("weather-station")
    assert [(each.key, each.text) for each in parse_scenario(text).budgets] == [("feedback_noise", "8 mV")]
    moved = text.replace('budget = "8 mV"\n', "") + '\n[budgets]\nfeedback_noise = "8 mV"\n'
    assert parse_scenario(moved).variants[0].pickup.drive.budget == pytest.approx(8e-3)


def test_two_budgets_of_pick_up_are_refused() -> None:
    text = builtin_text("weather-station") + '\n[budgets]\nfeedback_noise = "9 mV"\n'
    with pytest.raises(ScenarioError, match="it is one budget: write it once"):
        parse_scenario(text)
