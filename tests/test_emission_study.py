"""Emission of a study made by hand: differences, sentences, page, files."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from geometries.operation.emission import Cable, Emission, Site
from geometries.operation.published_limits import published_limit
from geometries.operation.switching import Switching
from solver.emission.comparison import compare_emission, verdict
from solver.emission.results import EmissionComparison, Margin
from solver.emission.variant_moment import moment_uncertainty, variant_moment
from solver.figures import emission_figure
from solver.report.documents import study_document
from solver.report.emission_part import emission_records, emission_table
from solver.report.folder import write_report
from solver.report.html import render_report
from solver.report.tables import terminal_table
from solver.section.results import PlaneInductance
from solver.study.results import StudyResult
from solver.study.study import conclude
from solver.variant.results import VariantResult

EMISSION = Emission(
    current=4.0,
    frequency=1.2e6,
    duty=0.21,
    rise_time=2e-9,
    fall_time=2e-9,
    distance=3.0,
    site=Site.OPEN_AREA_MAXIMUM,
    limits=(published_limit("CISPR 32 class B", 3.0), published_limit("FCC 15.109 class B", 3.0)),
    cable=Cable(length=1.0),
)
SWITCHING = Switching(
    input_voltage=24.0, edge_time=2e-9, output_capacitance=300e-12, switch_resistance=0.5, capacitor_resistance=0.0
)


def with_moment(result: VariantResult, lying: float, upright: float, peak: float) -> VariantResult:
    """The same with line moments [m] and a ground conductor's inductance per length [H/m]."""
    segments = tuple(replace(each, moment_parts=(lying, upright)) for each in result.segments)
    return replace(result, segments=segments, planes=(PlaneInductance(region="L2", value=0.0, peak=peak),))


@pytest.fixture(scope="module")
def results(study: StudyResult) -> tuple[VariantResult, ...]:
    bare, covered = study.results
    return with_moment(bare, 4e-3, 0.0, 3e-7), with_moment(covered, 0.04e-3, 0.2e-3, 2e-9)


@pytest.fixture(scope="module")
def comparison(results: tuple[VariantResult, ...]) -> EmissionComparison:
    return compare_emission(EMISSION, results, results[0].variant.name)


@pytest.fixture(scope="module")
def emitting(study: StudyResult, results: tuple[VariantResult, ...]) -> StudyResult:
    scenario = study.scenario.asking(EMISSION)
    return conclude(scenario, results)


def test_without_ring_the_difference_is_that_of_the_moments(comparison: EmissionComparison) -> None:
    covered = comparison.predictions[1]
    assert covered.difference_db == pytest.approx(covered.moment_db, abs=1e-9)
    assert covered.moment_db == pytest.approx(-25.85, abs=0.01)


def test_the_reference_differs_by_nothing_and_is_sure_of_it(comparison: EmissionComparison) -> None:
    reference = comparison.predictions[0]
    assert (reference.difference_db, reference.moment_db, reference.difference_band) == (0.0, 0.0, 0.0)


def test_a_difference_is_surer_than_a_level(comparison: EmissionComparison) -> None:
    assert 0 < comparison.predictions[1].difference_band < EMISSION.band


def test_a_ring_moves_the_margin_beside_the_moment(results: tuple[VariantResult, ...]) -> None:
    ringing = compare_emission(replace(EMISSION, switching=SWITCHING), results, results[0].variant.name)
    covered = ringing.predictions[1]
    assert abs(covered.difference_db - covered.moment_db) > 1.0
    assert covered.difference_band > compare_emission(EMISSION, results, "no ground").predictions[1].difference_band


def test_the_cable_bound_follows_the_ground_inductance(comparison: EmissionComparison) -> None:
    bare, covered = (each.cable for each in comparison.predictions)
    assert bare is not None
    assert covered is not None
    assert bare.levels - covered.levels == pytest.approx(43.52, abs=0.01)


def test_ground_inductance_is_the_largest_along_the_whole_loop(results: tuple[VariantResult, ...]) -> None:
    assert results[1].ground == ("L2", pytest.approx(8e-3 * 2e-9))
    assert replace(results[1], planes=()).ground is None


def test_the_added_upright_part_counts_in_full(results: tuple[VariantResult, ...]) -> None:
    emission = replace(EMISSION, upright_height=0.3e-3, upright_length=1e-3)
    assert variant_moment(results[1], emission).added == pytest.approx(0.3e-6, abs=0)


def test_what_is_not_known_of_a_moment_counts_by_its_part(results: tuple[VariantResult, ...]) -> None:
    bare, covered = results
    assert moment_uncertainty(bare, variant_moment(bare, EMISSION)) == pytest.approx(0.1)
    # Over a ground layer, nearly all upright: 10 % of height, 0.83 dB.
    assert moment_uncertainty(covered, variant_moment(covered, EMISSION)) == pytest.approx(0.84, abs=0.01)


@pytest.mark.parametrize(
    ("level", "words"),
    [
        (25.0, "the loop alone lies 15 dB below the limit at 100 MHz to X, more than the band: cables decide"),
        (38.0, "the loop alone comes within the band of the limit at 100 MHz to X: a measurement decides"),
        (43.0, "the loop alone comes within the band of the limit at 100 MHz to X: a measurement decides"),
        (52.0, "the loop alone lies 12 dB above the limit at 100 MHz to X: loop, edge or snubber first"),
    ],
)
def test_a_margin_says_what_decides(level: float, words: str) -> None:
    assert verdict(Margin(limit="X", frequency=100e6, level=level, limit_level=40.0), 6.0) == words


def test_the_sentence_gives_difference_margin_and_cables(comparison: EmissionComparison) -> None:
    assert "dB less than “no ground”" in comparison.sentence
    assert "±6 dB" in comparison.sentence
    assert "common-mode current" in comparison.sentence


def test_no_text_says_pass(emitting: StudyResult) -> None:
    page = render_report(emitting)
    start = page.index('id="emission"')
    section = page[start : page.index("</details>", start)]
    assert "pass" not in section.lower().replace("passed", "")
    assert "accredited laboratory" in section


def test_the_page_shows_the_section_only_if_asked(study: StudyResult, emitting: StudyResult) -> None:
    assert 'id="emission"' in render_report(emitting)
    assert 'id="emission"' not in render_report(study)


def test_the_document_holds_inputs_limits_and_margins(emitting: StudyResult) -> None:
    document = json.loads(json.dumps(study_document(emitting, "compare")))["details"]["emission"]
    assert document["emission"]["cable"]["length"] == 1.0
    assert [line["name"] for line in document["emission"]["limits"]] == ["CISPR 32 class B", "FCC 15.109 class B"]
    closest = document["predictions"][0]["closest"]
    margin = emitting.outcome(EmissionComparison).predictions[0].closest.value
    assert margin == pytest.approx(closest["limit_level"] - closest["level"])


def test_a_study_without_emission_has_none_of_it(study: StudyResult) -> None:
    assert "emission" not in study_document(study, "compare")["details"]


def test_the_table_of_lines_has_every_line_of_every_variant(comparison: EmissionComparison) -> None:
    head, *lines = emission_records(comparison)
    assert len(lines) == sum(len(each.frequencies) for each in comparison.predictions)
    assert {len(line) for line in lines} == {len(head)}


def test_the_terminal_table_names_all_variants(comparison: EmissionComparison) -> None:
    console = Console(width=120, record=True)
    console.print(terminal_table(emission_table(comparison)))
    shown = console.export_text()
    assert "no ground" in shown
    assert "reference" in shown


def test_the_figure_draws_loops_and_cables(comparison: EmissionComparison) -> None:
    assert len(emission_figure(comparison).axes) == 2


def test_without_a_cable_the_figure_draws_loops_alone(results: tuple[VariantResult, ...]) -> None:
    alone = compare_emission(replace(EMISSION, cable=None), results, results[0].variant.name)
    assert len(emission_figure(alone).axes) == 1


def test_the_folder_holds_lines_and_figure(emitting: StudyResult, tmp_path: Path) -> None:
    names = {path.name for path in write_report(emitting, tmp_path / "report")}
    assert {"emission.csv", "emission.svg"} <= names
