"""Golden cases of the comparison and of what is written down: the hand-made study of conftest, worked out by hand.

Without ground 4.65 nH, over a plane 1.097 nH, both 8 mm long. The fields at 3 mm are in proportion to the inductances.
"""

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console
from solver.report.comparison_table import comparison_table

from solver.circuit.rl_network import network
from solver.report.spice import subcircuit
from solver.study.study import conclude


@pytest.fixture(scope="module")
def covered(study):
    """Row of the second variant, its moment a quarter of the first one's."""
    first, second = study.results
    concluded = conclude(study.scenario, [first, replace(second, moment=first.moment / 4)])
    return concluded.rows[1]


def test_change_of_inductance(covered):
    # 1.097 - 4.65 = -3.553 nH; 1.097/4.65 - 1 = -76.409 %.
    assert covered.change == pytest.approx(-3.553e-9, rel=1e-9, abs=0.0)
    assert covered.change_fraction == pytest.approx(-0.76409, rel=1e-5, abs=0.0)


def test_change_of_field(covered):
    # 20 lg(1.097/4.65) = -12.545 dB above and below.
    assert covered.above_db == pytest.approx(-12.545, abs=1e-3)
    assert covered.below_db == pytest.approx(-12.545, abs=1e-3)


def test_change_of_moment(covered):
    # 20 lg(1/4) = -12.041 dB.
    assert covered.moment_db == pytest.approx(-12.041, abs=1e-3)


def test_error_and_resistance(covered):
    # 4e-4 of 1.097 nH; 2.3 ohm/m over 8 mm.
    assert covered.inductance_error == pytest.approx(0.4388e-12, rel=1e-9, abs=0.0)
    assert covered.resistance == pytest.approx(18.4e-3, rel=1e-9, abs=0.0)


def test_sentence_of_the_best(study):
    # 3.553 nH of 4.65 nH are 76 %; 12.5 dB are said in whole decibels.
    decision = conclude(study.scenario, study.results).decision
    assert re.search(r"1\.1 nH at 100 MHz .*: 3\.55 nH or 76 % less than “no ground”, with 13 dB less field", decision)


def test_row_of_the_comparison_table(study):
    stream = io.StringIO()
    Console(file=stream, width=200).print(comparison_table(study))
    row = next(line for line in stream.getvalue().splitlines() if "$plane$" in line)
    # nH with its error, nH and % of change, 18.4 mohm, decibels as in the hand-made rows.
    assert row.rsplit("$plane$", 1)[1].split() == [
        "1.097",
        "0.001",
        "−3.553",
        "−76.4",
        "18.4",
        "−14.5",
        "−64.6",
        "−37.8",
    ]


def test_elements_of_a_written_loop(study):
    """Z' = 0.3 + s 0.96 L' + s 4/(s + 1e8), over 8 mm: 2.4 mohm, 0.96 x 1.097 = 1.05312 nH, and 32 mohm beside 0.32 nH.

    The cell: s 4/(s + 1e8) is R and L side by side with R = 4 ohm/m and L = 4/1e8 H/m.
    """
    result = study.results[1]
    circuit = network(result.segments[0].model, length=8e-3)
    text = subcircuit(circuit, result.variant, study.scenario, "x")
    written = [float(value) for value in re.findall(r"^[RL]\d+ \d+ \d+ (\S+)$", text, re.MULTILINE)]
    assert sorted(written) == pytest.approx([0.32e-9, 1.05312e-9, 2.4e-3, 32e-3], rel=1e-9, abs=0.0)
