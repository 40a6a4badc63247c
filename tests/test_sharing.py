"""Parallel capacitors with mutual inductance: shares, impedance, resonances."""

import math
import subprocess
from pathlib import Path
from shutil import which

import numpy as np
import pytest
from numpy.typing import ArrayLike

from geometries.board.capacitors import Capacitor, LumpedEsl
from geometries.board.parts import capacitor_case
from solver.loop.capacitor_bank import CapacitorBank, capacitor_bank


def bank(inductance: ArrayLike, resistance: ArrayLike, capacitance: ArrayLike) -> CapacitorBank:
    resistances = np.asarray(resistance, dtype=float)
    return CapacitorBank(
        names=tuple(f"C{number}" for number in range(1, len(resistances) + 1)),
        inductance=np.asarray(inductance, dtype=float),
        resistance=np.diag(resistances) if resistances.ndim == 1 else resistances,
        capacitance=np.asarray(capacitance, dtype=float),
    )


UNEVEN = bank([[1.1e-9, 0.25e-9], [0.25e-9, 0.6e-9]], [8e-3, 20e-3], [2.2e-6, 0.1e-6])
COUPLED = (0.8e-9, 1.3e-9, 0.4e-9)


def coupled_inductors() -> CapacitorBank:
    first, second, mutual = COUPLED
    return bank([[first, mutual], [mutual, second]], [1e-9, 1e-9], [math.inf, math.inf])


def test_two_parallel_coupled_inductors_have_their_known_inductance() -> None:
    # (L1 L2 - M^2)/(L1 + L2 - 2M); any text on circuits.
    first, second, mutual = COUPLED
    expected = (first * second - mutual**2) / (first + second - 2 * mutual)
    found = coupled_inductors().impedance(1e8)
    assert found.imag / (2 * math.pi * 1e8) == pytest.approx(expected, rel=1e-9, abs=0)


def test_two_parallel_coupled_inductors_share_by_the_other_ones_leakage() -> None:
    first, second, mutual = COUPLED
    expected = (second - mutual) / (first + second - 2 * mutual)
    assert coupled_inductors().shares(1e8)[0].real == pytest.approx(expected, rel=1e-9)
    assert coupled_inductors().inductive_shares()[0] == pytest.approx(expected, rel=1e-12)


def test_far_above_resonance_the_inductances_decide() -> None:
    np.testing.assert_allclose(UNEVEN.shares(1e11), UNEVEN.inductive_shares(), atol=1e-4)


def test_far_below_resonance_the_capacitances_decide() -> None:
    np.testing.assert_allclose(UNEVEN.shares(1.0), np.array([2.2, 0.1]) / 2.3, atol=1e-5)


def test_shares_sum_to_one() -> None:
    assert UNEVEN.shares(7e6).sum() == pytest.approx(1.0)


def test_equal_branches_share_equally_and_quarter_nothing() -> None:
    twin = bank([[1e-9, 0.2e-9], [0.2e-9, 1e-9]], [5e-3, 5e-3], [1e-6, 1e-6])
    np.testing.assert_allclose(twin.shares(1e8), [0.5, 0.5])
    alone = bank([[1e-9]], [5e-3], [1e-6])
    halved = twin.impedance(1e8).imag / alone.impedance(1e8).imag
    assert halved == pytest.approx(0.6, rel=1e-3)


def test_one_branch_resonates_where_its_reactances_meet() -> None:
    alone = bank([[1e-9]], [5e-3], [1e-6])
    (dip,) = alone.series_resonances()
    assert dip.frequency == pytest.approx(1 / (2 * math.pi * math.sqrt(1e-15)), rel=1e-12)
    assert dip.quality == pytest.approx(math.sqrt(1e-9 / 1e-6) / 5e-3, rel=1e-9)
    assert alone.anti_resonances() == ()


def test_anti_resonance_of_two_has_its_closed_form() -> None:
    # Round the two branches: L1 + L2 - 2M against C1 and C2 in series.
    (peak,) = UNEVEN.anti_resonances()
    around = 1.1e-9 + 0.6e-9 - 2 * 0.25e-9
    series = 2.2e-6 * 0.1e-6 / 2.3e-6
    assert peak.frequency == pytest.approx(1 / (2 * math.pi * math.sqrt(around * series)), rel=1e-9)
    assert peak.quality == pytest.approx(math.sqrt(around / series) / 28e-3, rel=1e-9)


def test_impedance_peaks_near_the_anti_resonance_and_dips_near_the_others() -> None:
    frequencies = np.geomspace(1e6, 1e8, 4001)
    sizes = np.abs([UNEVEN.impedance(frequency) for frequency in frequencies])
    (peak,) = UNEVEN.anti_resonances()
    inner = np.flatnonzero((sizes[1:-1] > sizes[:-2]) & (sizes[1:-1] > sizes[2:])) + 1
    assert len(inner) == 1
    # Losses move the peak by about 1/Q^2.
    assert frequencies[inner[0]] == pytest.approx(peak.frequency, rel=peak.quality**-2)
    assert len(UNEVEN.series_resonances()) == 2


def test_an_overdamped_exchange_is_no_anti_resonance() -> None:
    damped = bank([[1e-9, 0.0], [0.0, 1e-9]], [1.0, 1.0], [1e-6, 1e-6])
    assert damped.anti_resonances() == ()


def test_capacitors_add_what_is_theirs() -> None:
    case = capacitor_case("0603")
    parts = [
        Capacitor(case=case, capacitance=1e-6, resistance=4e-3, body=LumpedEsl(inductance=each))
        for each in (0.3e-9, 0.5e-9)
    ]
    made = capacitor_bank(("a", "b"), parts, np.array([[1e-9, 1e-10], [1e-10, 1e-9]]), 1e-3 * np.eye(2))
    np.testing.assert_allclose(made.inductance, [[1.3e-9, 1e-10], [1e-10, 1.5e-9]])
    np.testing.assert_allclose(made.resistance, 5e-3 * np.eye(2))


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: bank([[1.0, 2.0], [2.0, 1.0]], [1.0, 1.0], [1.0, 1.0]), "negative energy"),
        (lambda: bank([[1.0, 0.2], [0.1, 1.0]], [1.0, 1.0], [1.0, 1.0]), "inductance is not symmetric"),
        (lambda: bank([[1.0]], [1.0, 1.0], [1.0, 1.0]), r"inductance has the shape \(1, 1\); allowed: \(2, 2\)"),
        (lambda: bank([[1.0]], [1.0], [0.0]), "capacitances are"),
    ],
)
def test_impossible_banks_are_refused(make: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        make()  # type: ignore[operator]


@pytest.mark.skipif(which("ngspice") is None, reason="no circuit simulator on this machine")
def test_shares_and_impedance_agree_with_a_circuit_simulator(tmp_path: Path) -> None:
    three = bank(
        [[1.1e-9, 0.25e-9, -0.1e-9], [0.25e-9, 0.6e-9, 0.05e-9], [-0.1e-9, 0.05e-9, 0.9e-9]],
        [8e-3, 20e-3, 12e-3],
        [2.2e-6, 0.1e-6, 0.47e-6],
    )
    for frequency in (3e5, 7e6, 1.5e7, 1e8):
        shares, impedance = simulated(three, frequency, tmp_path)
        # The simulator's convergence tolerance is 1e-3 by default, a linear network is solved to 1e-6.
        np.testing.assert_allclose(three.shares(frequency), shares, rtol=1e-5, atol=1e-6)
        assert three.impedance(frequency) == pytest.approx(impedance, rel=1e-5)


def simulated(network: CapacitorBank, frequency: float, folder: Path) -> tuple[np.ndarray, complex]:
    """Drive the bank with one ampere and print voltage and branch currents."""
    size = len(network.names)
    lines = ["* bank of capacitors", "I1 0 top AC 1"]
    for k in range(size):
        lines += [f"V{k} top a{k} 0", f"R{k} a{k} b{k} {network.resistance[k, k]:.12g}"]
        lines += [f"L{k} b{k} c{k} {network.inductance[k, k]:.12g}", f"C{k} c{k} 0 {network.capacitance[k]:.12g}"]
        lines.append(f"Rdc{k} c{k} 0 1e12")
    for row in range(size):
        for column in range(row):
            coupling = network.inductance[row, column] / math.sqrt(
                network.inductance[row, row] * network.inductance[column, column]
            )
            lines.append(f"K{row}{column} L{row} L{column} {float(coupling)!r}")
    printed = " ".join(f"vr({node}) vi({node})" for node in ["top"])
    branch = " ".join(f"real(i(v{k})) imag(i(v{k}))" for k in range(size))
    deck = folder / f"bank-{frequency:g}.cir"
    table = folder / f"bank-{frequency:g}.txt"
    lines += [
        ".control",
        "set filetype=ascii",
        "set numdgt=12",
        "set wr_singlescale",
        f"ac lin 1 {frequency!r} {frequency!r}",
        f"wrdata {table} {printed} {branch}",
        "quit 0",
        ".endc",
        ".end",
    ]
    deck.write_text("\n".join(lines) + "\n", encoding="ascii")
    subprocess.run(["ngspice", "-b", str(deck)], cwd=folder, check=True, capture_output=True, timeout=60)
    numbers = [float(each) for each in table.read_text(encoding="ascii").split()][1:]
    pairs = [complex(*numbers[2 * k : 2 * k + 2]) for k in range(size + 1)]
    return np.array(pairs[1:]) / sum(pairs[1:]), pairs[0]
