"""A tolerance study of a small loop, solved coarsely."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from geometries.files.tolerance_reading import parse_tolerance
from geometries.study.tolerance import Tolerance
from solver.errors import ReportError
from solver.report.point_folder import prepare_folder
from solver.report.tolerance_files import write_tolerance
from solver.report.tolerance_report import tolerance_document, tolerance_records, tolerance_table
from solver.runs.checkpoint import Journal, open_journal
from solver.study.tolerance import (
    ToleranceResult,
    conclude_tolerance,
    journal_header,
    random_samples,
    solve_tolerance,
    solved_points,
)

TEXT = """
title = "Small <loop>"
stackup = "4L-7628"

[analysis]
frequencies = ["100 MHz"]
tolerance = "3 %"

[loop]
kind = "same-layer"
width = "1 mm"
gap = "0.5 mm"
length = "8 mm"

[tolerance]
prepreg = "10 %"
permittivity = "7 %"
samples = 500
seed = 3

[[variant]]
name = "over L2"
planes.L2 = { tie = "none", width = "4 mm" }

[[variant]]
name = "bare"
"""


@pytest.fixture(scope="module")
def tolerance() -> Tolerance:
    return parse_tolerance(TEXT)


@pytest.fixture(scope="module")
def journal(tolerance: Tolerance, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Journal]:
    path = tmp_path_factory.mktemp("tolerance") / "points.jsonl"
    with open_journal(path, journal_header(tolerance)) as opened:
        for _ in solve_tolerance(tolerance, opened, workers=1):
            pass
        yield opened


@pytest.fixture(scope="module")
def result(tolerance: Tolerance, journal: Journal) -> ToleranceResult:
    return conclude_tolerance(tolerance, solved_points(journal))


def test_permittivity_is_never_solved_for(result: ToleranceResult) -> None:
    over, bare = result.variants
    # Nominal, both ends of prepreg (worst corners too), four boards; a bare board's lower surface moves too.
    assert (over.solved, bare.solved) == (7, 7)
    assert (over.reused, bare.reused) == (3, 3)


def test_permittivity_does_nothing(result: ToleranceResult) -> None:
    figure = result.variants[0].figures[0]
    assert figure.alone[1].tolist() == [figure.nominal, figure.nominal]


def test_thicker_prepreg_is_more_inductance_over_a_plane(result: ToleranceResult) -> None:
    low, high = result.variants[0].figures[0].alone[0]
    assert low < result.variants[0].figures[0].nominal < high


def test_prepreg_is_nothing_to_a_loop_without_plane(result: ToleranceResult) -> None:
    figure = result.variants[1].figures[0]
    assert figure.lowest == figure.highest == figure.nominal
    assert np.ptp(figure.samples) == 0.0


def test_the_worst_corners_are_solved_ones(result: ToleranceResult) -> None:
    figure = result.variants[0].figures[0]
    assert (figure.lowest_at, figure.highest_at) == ((-1.0, 0.0), (1.0, 0.0))
    assert [figure.lowest, figure.highest] == figure.alone[0].tolist()


def test_all_samples_lie_between_the_worst_corners_within_the_surfaces_deviation(result: ToleranceResult) -> None:
    figure = result.variants[0].figures[0]
    assert figure.lowest - figure.deviation <= figure.samples.min()
    assert figure.samples.max() <= figure.highest + figure.deviation


def test_the_surface_is_within_a_part_in_a_thousand_of_what_is_solved_beside_it(result: ToleranceResult) -> None:
    # Third order of a change of 10 % in a power near 0.8: 0.8 x 0.2 x 1.2 / 6 x 1e-3, and the mesh.
    figure = result.variants[0].figures[0]
    assert 0 < figure.deviation < 1e-3 * figure.nominal


def test_the_same_seed_draws_the_same_samples(tolerance: Tolerance) -> None:
    assert random_samples(tolerance).tolist() == random_samples(parse_tolerance(TEXT)).tolist()
    assert (
        random_samples(tolerance).tolist()
        != random_samples(parse_tolerance(TEXT.replace("seed = 3", "seed = 4"))).tolist()
    )


def test_normal_samples_crowd_round_the_middle_and_stay_within_the_limits(tolerance: Tolerance) -> None:
    normal = random_samples(parse_tolerance(TEXT.replace("seed = 3", 'seed = 3\ndistribution = "normal"')))
    assert np.abs(normal).max() <= 1.0
    assert normal.std() == pytest.approx(1 / 3, rel=0.1)
    assert random_samples(tolerance).std() == pytest.approx(1 / np.sqrt(3), rel=0.1)


def test_the_finding_names_the_smallest_loop(result: ToleranceResult) -> None:
    assert result.finding.startswith("“over L2”: loop inductance ")
    assert "It is the lowest in 100 % of the random samples" in result.finding


def test_nothing_is_solved_again(tolerance: Tolerance, journal: Journal) -> None:
    assert list(solve_tolerance(tolerance, journal, workers=1)) == []


def test_other_tolerances_do_not_go_on_with_the_same_points(tolerance: Tolerance, journal: Journal) -> None:
    other = journal_header(parse_tolerance(TEXT.replace('"10 %"', '"12 %"')))
    assert other != journal_header(tolerance)


def test_a_record_that_is_no_point_is_refused(tolerance: Tolerance, tmp_path: Path) -> None:
    with open_journal(tmp_path / "points.jsonl", journal_header(tolerance)) as opened:
        opened.append({"variant": "bare"})
        with pytest.raises(ReportError, match="a record does not describe a point"):
            solved_points(opened)


def test_the_document_holds_every_figure_of_every_variant(result: ToleranceResult) -> None:
    document = tolerance_document(result)
    assert [variant["name"] for variant in document["variants"]] == ["over L2", "bare"]
    figure = document["variants"][0]["spreads"]["loop_inductance"]
    assert figure["lowest"] < figure["quantiles"]["0.05"] < figure["quantiles"]["0.5"] < figure["highest"]


def test_the_table_has_a_line_per_variant_and_figure(result: ToleranceResult) -> None:
    head, *lines = tolerance_records(result)
    assert len(lines) == 2 * len(result.variants[0].figures)
    assert {len(line) for line in lines} == {len(head)}
    assert len(tolerance_table(result).rows) == len(lines)


def test_the_folder_holds_page_table_document_and_drawings(result: ToleranceResult, tmp_path: Path) -> None:
    prepare_folder(tmp_path, "tolerance study")
    written = write_tolerance(result, tmp_path)
    assert [path.name for path in written] == ["tolerance.csv", "tolerance.json", "tolerance.html"]
    drawn = sorted(path.name for path in (tmp_path / "figures").iterdir())
    assert drawn == [
        "histogram.svg",
        *(f"tornado-{n}.svg" for n in ("bare", "over-l2")),
    ]
    page = (tmp_path / "tolerance.html").read_text(encoding="utf-8")
    assert "Small &lt;loop&gt;" in page
    assert "Small <loop>" not in page
    assert "W-ESTIMATE" in page
