"""The Touchstone files, read back by a library for network parameters."""

import math
from dataclasses import replace

import numpy as np
import pytest
import skrf

from solver.circuit.rl_network import BroadbandModel, network
from solver.report.remarks import circuit_remarks
from solver.report.touchstone import touchstone, touchstone_suffix

BAND = (1e3, 1e9)


@pytest.fixture(params=[1, 2, 3, 5], ids=lambda loops: f"{loops} ports")
def circuit(request):
    loops = request.param
    rates = 2 * math.pi * np.geomspace(1e5, 1e10, 6)
    weights = np.random.default_rng(loops).uniform(-1.0, 1.0, (6, loops)) * np.sqrt(rates / rates[0])[:, None] * 0.1
    mixing = np.eye(loops) + 0.2 * np.ones((loops, loops))
    model = BroadbandModel(
        resistance=0.3 * mixing,
        inductance=1.2e-7 * mixing,
        rates=rates,
        weights=weights,
        band=BAND,
        shifts=(1e9,),
        residual=1e-8,
        resistance_residual=1e-7,
    )
    return network(model, length=8e-3)


@pytest.fixture
def variant(with_loops, circuit):
    return with_loops(circuit.loops)


@pytest.fixture
def text(circuit, variant, study):
    result = replace(study.results[0], variant=variant)
    return touchstone(circuit, variant, circuit_remarks(circuit, result, study.scenario))


@pytest.fixture
def read(text, circuit, tmp_path):
    path = tmp_path / f"loop{touchstone_suffix(circuit)}"
    path.write_text(text, encoding="ascii")
    return skrf.Network(str(path))


def test_the_frequencies_are_spread_in_equal_ratios_over_the_band(read):
    assert read.f[0] == pytest.approx(BAND[0], rel=1e-12)
    assert read.f[-1] == pytest.approx(BAND[1], rel=1e-12)
    ratios = read.f[1:] / read.f[:-1]
    assert ratios == pytest.approx(np.full(240, 10 ** (1 / 40)), rel=1e-9)


def test_the_impedance_is_that_of_the_circuit(read, circuit):
    assert read.z0 == pytest.approx(50, rel=1e-12)
    for frequency, scattering in zip(read.f, read.s, strict=True):
        one = np.eye(len(scattering))
        found = 50 * np.linalg.solve(one - scattering, one + scattering)
        exact = circuit.impedance(frequency)
        assert np.abs(found - exact).max() < 1e-9 * np.abs(exact).max()


def test_it_agrees_with_the_library_s_own_conversion(read, circuit):
    exact = np.array([circuit.impedance(frequency) for frequency in read.f])
    assert np.abs(read.z - exact).max() < 1e-3 * np.abs(exact).max()


def test_it_is_reciprocal_and_passive(read):
    assert np.abs(read.s - read.s.transpose(0, 2, 1)).max() < 1e-12
    assert read.nports == 1 or read.is_reciprocal()  # the library has no answer for one port
    assert read.is_passive()
    assert np.linalg.norm(read.s, ord=2, axis=(1, 2)).max() < 1


def test_the_option_line_follows_the_comments(text):
    lines = text.splitlines()
    options = [number for number, line in enumerate(lines) if line.startswith("#")]
    assert [lines[number] for number in options] == ["# HZ S RI R 50"]
    assert all(line.startswith("!") for line in lines[: options[0]])
    assert any("Not included" in line for line in lines[: options[0]])


def test_no_line_holds_more_than_four_pairs(text, circuit):
    numbers = [len(line.split()) for line in text.splitlines() if line[0] not in "!#"]
    assert max(numbers) <= 9
    ports = circuit.loops
    assert sum(numbers) == 241 * (1 + 2 * ports**2)
