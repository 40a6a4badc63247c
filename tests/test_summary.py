"""The deciding table: rows, choice, sentence, columns, picture."""

from dataclasses import replace

import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario, read_builtin_scenario
from geometries.operation.budgets import read_budgets
from geometries.operation.emission import Emission, Site
from geometries.operation.price import Price, read_price
from geometries.operation.published_limits import published_limit
from geometries.operation.switching import Switching, SwitchingTolerance
from geometries.section.section import CrossSection, Role
from solver.figures import cost_figure
from solver.figures.cost import pareto_front
from solver.report.html import render_report
from solver.report.plain import plain
from solver.report.summary_part import SUMMARY_PART, summary_table, verdict_table
from solver.report.tables import records
from solver.study.decision import Decision, decision_sentence
from solver.study.results import StudyResult
from solver.study.study import conclude
from solver.study.summary import Summary, SummaryRow, _cautions, _sentence, _voltage_sentence, verdict_of
from solver.study.verdict import USUAL, objectives_of
from solver.switching.results import SwitchingComparison
from solver.variant.figure import Reading
from solver.variant.loop_figures import LOOP

SWITCHING = Switching(
    input_voltage=12.0,
    edge_time=1e-9,
    output_capacitance=300e-12,
    capacitance_curve="constant",
    switch_resistance=1.0,
    voltage_rating=21.25,
    derating=0.8,
    tolerance=SwitchingTolerance(edge_time=0.01),
    assumed=(),
)
EMISSION = Emission(
    current=4.0,
    frequency=1.2e6,
    duty=0.21,
    rise_time=2e-9,
    fall_time=2e-9,
    distance=3.0,
    site=Site.FREE_SPACE,
    limits=(published_limit("CISPR 32 class B", 3.0),),
)
BOARD = """
stackup = "2L-1.6"
loop = { kind = "next-layer", width = "2 mm", length = "6 mm" }
"""


def tied(section: CrossSection) -> CrossSection:
    """The section with its floating ground tied to the return."""
    regions = [
        replace(each, role=Role.RETURN) if each.name in section.ground_layers else each for each in section.regions
    ]
    return replace(section, regions=tuple(regions))


def concluded(
    study: StudyResult, prices: tuple[float, float] | None = None, *tables: object, **asked: object
) -> StudyResult:
    """The hand-made study with more asked of it, and with a price for either variant."""
    amounts = (None, None) if prices is None else prices
    results = tuple(
        replace(
            result,
            variant=replace(
                result.variant,
                section=tied(result.variant.section),
                price=None if amount is None else Price(amount=amount, currency="EUR"),
            ),
        )
        for result, amount in zip(study.results, amounts, strict=True)
    )
    scenario = replace(study.scenario, variants=tuple(each.variant for each in results), **asked).asking(*tables)
    return conclude(scenario, results)


def row(name: str, inductance: float, price: float | None = None, *, keeps: bool = True) -> SummaryRow:
    return SummaryRow(
        name=name,
        readings={"loop_inductance": Reading(value=inductance)},
        changes={"loop_inductance": 0.0},
        own_uncertainty=0.0,
        emission_change=None,
        emission_change_error=None,
        price=None if price is None else Price(amount=price, currency="EUR"),
        price_change=None,
        keeps=keeps,
        doubtful=False,
        exceeded=0 if keeps else 1,
        tied=True,
        product_change=None,
        product_change_error=None,
        product_margin=None,
    )


def chosen(*rows: SummaryRow, objectives: tuple[str, ...] = USUAL) -> tuple[str, ...]:
    return verdict_of(rows, objectives)[1].recommended


def noisy(name: str, inductance: float, noise: float) -> SummaryRow:
    plain_row = row(name, inductance)
    return replace(plain_row, readings={**plain_row.readings, "feedback_noise": Reading(value=noise)})


def headings(summary: Summary) -> list[str]:
    return [column.name for column in summary_table(summary).columns]


@pytest.mark.parametrize(
    ("text", "amount", "currency"), [("1.20 EUR", 1.2, "EUR"), ("3 Fr", 3.0, "Fr"), ("0.8€", 0.8, "€")]
)
def test_prices_are_read(text: str, amount: float, currency: str) -> None:
    assert read_price(text) == Price(amount=amount, currency=currency)


@pytest.mark.parametrize("text", ["1.20", "EUR", "-1 EUR", "1,20 EUR", "1 EUR per board", "nan EUR"])
def test_what_is_no_price_is_refused(text: str) -> None:
    with pytest.raises(ScenarioError, match="write amount and currency"):
        read_price(text)


def test_prices_of_two_currencies_are_refused() -> None:
    variants = 'variant = [{ name = "a", price = "1 EUR" }, { name = "b", price = "1 CHF" }]'
    with pytest.raises(ScenarioError, match="prices are in CHF and EUR"):
        parse_scenario(f'title = "x"\n{BOARD}{variants}')


def test_without_anything_beside_the_loops_there_is_no_table(study: StudyResult) -> None:
    assert concluded(study).outcome(Summary) is None


def test_only_columns_that_were_computed_are_shown(study: StudyResult) -> None:
    titles = headings(concluded(study, None, SWITCHING).outcome(Summary))
    assert titles == ["variant", "L", "peak", "overshoot", "f ring", "voltage limit"]


def test_emission_and_prices_add_their_columns(study: StudyResult) -> None:
    summary = concluded(study, (1.0, 1.6), EMISSION).outcome(Summary)
    assert headings(summary) == ["variant", "L", "margin", "Δ emission", "price", "Δ price"]
    assert summary_table(summary).columns[-1].unit == "EUR"


def test_changes_are_against_the_reference(study: StudyResult) -> None:
    first, second = concluded(study, (1.0, 1.6)).outcome(Summary).rows
    assert (first.changes["loop_inductance"], first.price_change) == (0.0, 0.0)
    assert second.changes["loop_inductance"] == pytest.approx(1.097e-9 - 4.65e-9, rel=1e-9, abs=0)
    assert second.price_change == pytest.approx(0.6)


def test_figures_are_those_of_the_switching_edge(study: StudyResult) -> None:
    result = concluded(study, None, SWITCHING)
    reading, shown = result.outcome(SwitchingComparison).readings[1], result.outcome(Summary).rows[1]
    assert shown.value("peak_voltage") == reading.built.peak.voltage


def test_sentence_names_the_only_variant_that_keeps_the_limit(study: StudyResult, hostile_name: str) -> None:
    sentence = concluded(study, None, replace(SWITCHING, voltage_rating=22.5)).outcome(Summary).sentence
    assert sentence.startswith(f"“{hostile_name}”: the voltage limit decided, by ")


def test_a_study_of_an_untied_ground_is_not_recommended(study_of_untied: StudyResult) -> None:
    result = conclude(study_of_untied.scenario.asking(SWITCHING), study_of_untied.results)
    summary = result.outcome(Summary)
    assert (summary.choice, [row.tied for row in summary.rows]) == ("no ground", [True, False])


def test_of_variants_that_all_miss_the_limit_the_least_miss_is_named(study: StudyResult, hostile_name: str) -> None:
    sentence = concluded(study, None, replace(SWITCHING, voltage_rating=16.0)).outcome(Summary).sentence
    assert sentence.startswith(f"“{hostile_name}”: the voltage limit decided, by ")


def test_the_sentence_sets_the_peak_against_the_limit_with_its_uncertainty(study: StudyResult) -> None:
    row = concluded(study, None, SWITCHING).outcome(Summary).rows[0]
    peak = Reading(value=43.0, uncertainty=4.0)
    there = replace(row, readings={**row.readings, "peak_voltage": peak})
    assert _voltage_sentence(there, 40.0) == (
        "Its peak of 43 ± 4 V lies above the limit of 40 V, within its uncertainty."
    )
    assert _voltage_sentence(there, 50.0) == "Its peak of 43 ± 4 V lies below the limit of 50 V."
    assert not _voltage_sentence(there, None)


def test_the_first_sentence_says_of_the_choice_that_its_peak_may_exceed_the_limit(study: StudyResult) -> None:
    missed, kept = (
        concluded(study, None, replace(SWITCHING, voltage_rating=rating)).outcome(Summary) for rating in (16.0, 60.0)
    )
    assert missed.sentence.endswith("lies above the limit of 12.8 V.")
    assert "limit of 48 V" not in kept.sentence
    assert kept.cautions[0].endswith("lies below the limit of 48 V.")


def test_of_those_that_keep_every_budget_the_smaller_loop_is_chosen(study: StudyResult, hostile_name: str) -> None:
    budgets = read_budgets({"loop_inductance": "9 nH"})
    summary = concluded(study, (1.0, 1.6), budgets=budgets).outcome(Summary)
    assert summary.choice == hostile_name
    assert summary.sentence.startswith(f"“{hostile_name}”: inductance decided, by ")


def test_exceeded_budget_takes_a_variant_out_of_the_choice(study: StudyResult, hostile_name: str) -> None:
    budgets = read_budgets({"loop_inductance": "2 nH"})
    summary = concluded(study, (1.0, 1.6), budgets=budgets).outcome(Summary)
    assert summary.choice == hostile_name
    lines = {line[0]: line[1:] for line in records(verdict_table(summary))}
    assert lines["price"] == ["1.60 EUR", "1.00 EUR", "+0.60 EUR", "not needed"]
    assert lines["the budgets"] == ["all kept", "1 exceeded", "", "decided"]


def test_without_limits_and_prices_the_smallest_loop_is_chosen(study: StudyResult, hostile_name: str) -> None:
    assert concluded(study, None, replace(SWITCHING, voltage_rating=None)).outcome(Summary).choice == hostile_name


def test_emission_is_told_as_a_margin_that_does_not_decide_alone(study: StudyResult) -> None:
    cautions = concluded(study, None, EMISSION).outcome(Summary).cautions
    assert cautions[-1].endswith("(±6 dB); cables and a measurement decide.")


def test_records_have_one_row_per_variant_and_units_in_the_headings(study: StudyResult) -> None:
    lines = list(records(summary_table(concluded(study, (1.0, 1.6), SWITCHING).outcome(Summary))))
    assert len(lines) == 3
    assert lines[0][1:3] == ["L [nH]", "peak [V]"]
    assert {len(line) for line in lines} == {len(lines[0])}


def test_document_holds_prices_as_written(study: StudyResult) -> None:
    document = plain(SUMMARY_PART.details(concluded(study, (1.0, 1.6))))
    assert document["variants"][1]["price"] == {"amount": 1.6, "currency": "EUR"}


def test_choice_is_marked(study: StudyResult) -> None:
    summary = concluded(study, None, SWITCHING).outcome(Summary)
    assert summary_table(summary).marked == summary.choice


def test_page_shows_the_table_and_the_picture_of_cost(study: StudyResult) -> None:
    page = render_report(concluded(study, (1.0, 1.6), SWITCHING, EMISSION))
    for part in ('id="summary"', "Price per board of all variants", 'id="switching"', "Voltage at the switch of all"):
        assert part in page


def test_page_without_prices_has_no_picture_of_cost(study: StudyResult) -> None:
    assert "Price per board of all variants" not in render_report(concluded(study, None, SWITCHING))


def test_front_keeps_what_no_other_beats() -> None:
    assert pareto_front([(2.0, 5.0), (1.0, 2.0), (2.0, 1.0), (1.0, 3.0), (3.0, 5.0)]) == [(1.0, 3.0), (2.0, 5.0)]


def summary_of(*rows: SummaryRow) -> Summary:
    objectives, decision = verdict_of(rows, USUAL)
    return Summary(
        reference="a",
        figures=LOOP.figures[:1],
        rows=rows,
        choice="b",
        objectives=objectives,
        decision=decision,
        sentence="b it is",
        cautions=(),
    )


def test_cost_is_drawn_against_every_figure_of_the_summary() -> None:
    axes = cost_figure(summary_of(row("a", 2e-9, 1.0), row("b", 1e-9, 2.0))).axes
    assert [each.get_ylabel() for each in axes] == ["loop inductance, nH"]


def test_less_inductance_lies_higher_in_the_picture_of_cost() -> None:
    low, high = cost_figure(summary_of(row("a", 2e-9, 1.0), row("b", 1e-9, 2.0))).axes[0].get_ylim()
    assert low > high


def test_names_at_one_price_keep_apart() -> None:
    figure = cost_figure(summary_of(*(row(name, 1e-9, 1.0) for name in "abc")))
    places = sorted(text.xy[1] for text in figure.axes[0].texts)
    assert places[0] < places[1] < places[2]


def test_of_loops_as_small_within_a_percent_the_one_that_hears_least_is_chosen() -> None:
    rows = [
        noisy("beside", 1.000e-9, 19e-3),
        noisy("below", 1.002e-9, 0.3e-3),
        noisy("far", 1.5e-9, 0.1e-3),
    ]
    assert chosen(*rows) == ("below",)


def test_an_untied_ground_is_not_recommended_beside_one_that_can_be_built() -> None:
    assert chosen(replace(row("floating", 0.5e-9), tied=False), row("stitched", 1e-9)) == ("stitched",)


def test_where_no_ground_is_tied_the_best_study_is_named() -> None:
    assert chosen(*(replace(row(name, L), tied=False) for name, L in (("a", 2e-9), ("b", 1e-9)))) == ("b",)


def test_a_budget_that_is_surely_exceeded_rules_a_variant_out() -> None:
    assert chosen(row("small", 0.5e-9, keeps=False), row("large", 1e-9)) == ("large",)


def test_emission_with_cables_decides_before_inductance() -> None:
    rows = [
        replace(row(name, L), product_change=change, product_change_error=band)
        for name, L, change, band in (("a", 2e-9, -20.0, 6.0), ("b", 1e-9, 0.0, 0.0))
    ]
    assert chosen(*rows) == ("a",)


def test_emissions_closer_than_their_bands_leave_it_to_inductance() -> None:
    rows = [
        replace(row(name, L), product_change=change, product_change_error=band)
        for name, L, change, band in (("a", 2e-9, -20.0, 6.0), ("b", 1e-9, -15.0, 6.0))
    ]
    assert chosen(*rows) == ("b",)


def test_of_equal_loops_the_cheaper_is_chosen() -> None:
    assert chosen(row("dear", 1.001e-9, 2.0), row("cheap", 1.0e-9, 1.0)) == ("cheap",)


def test_the_stated_order_of_objectives_decides() -> None:
    rows = row("dear", 1.0e-9, 2.0), row("cheap", 2.0e-9, 1.0)
    assert chosen(*rows, objectives=("loop_inductance", "price")) == ("dear",)
    assert chosen(*rows, objectives=("price", "loop_inductance")) == ("cheap",)


def test_any_figure_may_be_an_objective(study: StudyResult, hostile_name: str) -> None:
    summary = concluded(study, None, SWITCHING, objectives=("ring_frequency",)).outcome(Summary)
    assert (summary.objectives, summary.choice) == (("ring_frequency",), hostile_name)


@pytest.mark.parametrize(
    ("objectives", "message"),
    [
        (("noise",), "unknown objective 'noise'"),
        (("price",), "price needs the price of every variant"),
        (("voltage_limit",), r"voltage_limit needs a \[switching\] table with its voltage_rating"),
        (("budgets",), r"budgets needs a \[budgets\] table"),
        (("emission_margin",), r"objectives: emission_margin is not known of every variant"),
        (("loop_quality",), "neither less nor more of loop_quality is better"),
        (("loop_inductance", "loop_inductance"), "'loop_inductance' stands there twice"),
    ],
)
def test_objectives_that_nothing_is_known_of_are_refused(objectives: tuple[str, ...], message: str) -> None:
    variants = "".join(f'[[variant]]\nname = "{name}"\n' for name in "ab")
    scenario = parse_scenario(f'title = "x"\nobjectives = {list(objectives)}\n{BOARD}{variants}')
    with pytest.raises(ScenarioError, match=message):
        objectives_of(scenario)


def test_the_first_sentence_of_the_built_in_study_fits_on_two_lines_of_the_page() -> None:
    # A line of the page is 52 rem wide and its letters about 0.8 rem, bold and 1.3 rem high.
    names = [variant.name for variant in read_builtin_scenario("irrigation-controller").variants]
    rows = [
        replace(row(name, (1 + place) * 1e-9, 1.0), product_change=-40.0, product_change_error=9.0)
        for place, name in enumerate(sorted(names, key=len, reverse=True))
    ]
    sentence = decision_sentence(verdict_of(rows, USUAL)[1])
    assert "inductance decided, by " in sentence
    assert len(sentence) < 2 * 64


def alone(study: StudyResult, *tables: object, **asked: object) -> Summary:
    """Summary of the second variant of the hand-made study, without the first."""
    both = concluded(study, None, *tables, **asked)
    scenario = replace(both.scenario, variants=both.scenario.variants[1:], reference=both.scenario.variants[1].name)
    return conclude(scenario, both.results[1:]).outcome(Summary)


def test_of_one_variant_it_is_said_what_it_does_not_that_it_is_chosen(study: StudyResult, hostile_name: str) -> None:
    budgets = read_budgets({"loop_inductance": "1 nH", "ring_frequency": "1 MHz"})
    summary = alone(study, replace(SWITCHING, voltage_rating=16.0), EMISSION, budgets=budgets)
    assert summary.sentence.startswith(f"“{hostile_name}” has a loop of 1.097 ± 0.001 nH. Its peak of ")
    assert " V lies above the limit of 12.8 V" in summary.sentence
    assert "It misses its budget of loop inductance by 0.097 nH" in summary.sentence
    assert summary.sentence.endswith("(±6 dB); cables and a measurement decide.")
    assert "the only one" not in summary.sentence
    assert summary.cautions == ()


def test_of_one_variant_kept_budgets_are_said_to_be_kept(study: StudyResult) -> None:
    assert alone(study, budgets=read_budgets({"loop_inductance": "2 nH"})).sentence.endswith(" It keeps its budgets.")
    assert alone(study, SWITCHING).sentence.count("budget") == 0


@pytest.mark.parametrize(("margin", "first"), [(-8.0, True), (8.0, True), (10.0, False)])
def test_the_first_sentence_says_of_the_choice_what_with_cables_may_exceed_the_limits(
    margin: float, first: bool
) -> None:
    readings = {"emission_margin": Reading(value=14.0, uncertainty=6.0)}
    choice = replace(row("a", 1e-9), readings=readings, product_margin=Reading(value=margin, uncertainty=9.4))
    side = "above" if margin < 0 else "below"
    told = f"Emission with cables: estimated {abs(margin):.0f} dB {side} limits (±10 dB)."
    loop = "Its loop alone lies 14 dB below the limits of emission (±6 dB); a measurement decides."
    assert _sentence(Decision(recommended=("a",), steps=(), studies=()), choice, None).endswith(told) is first
    assert _cautions(choice, None) == ((loop,) if first else (told, loop))
