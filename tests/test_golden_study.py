"""Golden cases of the comparison and of what is written down: the hand-made study of conftest, worked out by hand.

Without ground 4.65 nH, over a plane 1.097 nH, both 8 mm long. The fields at 3 mm are in proportion to the inductances.
"""

import re
from dataclasses import replace

import pytest

from solver.circuit.rl_network import network
from solver.report.figure_tables import figure_table
from solver.report.loop_part import brief_analysis_table, variant_rows
from solver.report.spice import subcircuit
from solver.report.tables import named, records
from solver.study.figures_of_merit import every_figure
from solver.study.study import conclude
from solver.variant.loop_figures import LOOP


@pytest.fixture(scope="module")
def covered(study):
    """Both variants, the second one's moment per length a quarter of the first one's."""
    first, second = study.results
    return conclude(study.scenario, [first, replace(second, moment=first.moment / 4)])


def changes(study, key):
    """Change of the second variant, as its table holds it."""
    found = next(each for each in every_figure() if each.key == key)
    before, after = variant_rows(study)
    _, _, row = records(figure_table("", (named(),), (before, after), (found,), before))
    return row[2:]


def test_change_of_inductance(covered):
    # 1.097 - 4.65 = -3.553 nH; 1.097/4.65 - 1 = -76.409 %.
    assert changes(covered, "loop_inductance") == pytest.approx([-3.553, -76.409], rel=1e-4, abs=0.0)


def test_change_of_field(covered):
    # 20 lg(1.097/4.65) = -12.545 dB above and below.
    assert changes(covered, "peak_field_above") == pytest.approx([-12.545], rel=0.0, abs=1e-3)
    assert changes(covered, "peak_field_below") == pytest.approx([-12.545], rel=0.0, abs=1e-3)


def test_change_of_moment(covered):
    # 20 lg(1/4) = -12.041 dB.
    assert changes(covered, "line_moment") == pytest.approx([-12.041], rel=0.0, abs=1e-3)


def test_error_and_resistance(covered):
    # 4e-4 of 1.097 nH; 2.3 ohm/m over 8 mm.
    readings = variant_rows(covered)[1].readings
    assert readings["loop_inductance"].uncertainty == pytest.approx(0.4388e-12, rel=1e-9, abs=0.0)
    assert readings["loop_resistance"].value == pytest.approx(18.4e-3, rel=1e-9, abs=0.0)


def test_sentence_of_the_best(study):
    # 3.553 nH of 4.65 nH are 76 %; 12.5 dB are said in whole decibels.
    decision = conclude(study.scenario, study.results).decision
    assert re.search(r"1\.1 nH at 100 MHz .*: 3\.55 nH or 76 % less than “no ground”, with 13 dB less field", decision)


def test_row_of_the_brief_table(study):
    row = brief_analysis_table(study, LOOP).rows[1]
    # nH with its error, % of change, 18.4 mohm with its error, decibels as of the inductances; both moments are alike.
    assert [cell.text for cell in row[1:]] == [
        "1.097 ± 0.001",
        "−76.4",
        "18.40 ± 0.06",
        "0.0",
        "−12.5",
        "−12.5",
        "0.0",
        "0.0",
    ]


def test_elements_of_a_written_loop(study):
    """Z' = 0.3 + s L0' + s 1.96/(s + 1e8), over 8 mm: 2.4 mohm, L0, and 15.68 mohm beside 0.1568 nH.

    The cell: s 1.96/(s + 1e8) is R and L side by side with R = 1.96 ohm/m and L = 1.96/1e8 H/m. At 100 MHz it adds
    1.96 x 1e8/(6.28319e8^2 + 1e16) = 4.84213e-10 H/m, 3.87370 pH over 8 mm: L0 = 1.097 - 0.00387370 = 1.0931263 nH.
    """
    result = study.results[1]
    circuit = network(result.segments[0].model, length=8e-3)
    text = subcircuit(circuit, result.variant, (), "x")
    written = [float(value) for value in re.findall(r"^[RL]\d+ \d+ \d+ (\S+)$", text, re.MULTILINE)]
    assert sorted(written) == pytest.approx([0.1568e-9, 1.0931263e-9, 2.4e-3, 15.68e-3], rel=1e-7, abs=0.0)
