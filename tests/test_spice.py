"""The written circuits, read back: by a nodal evaluation of our own, and by ngspice where it is installed."""

import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from solver.circuit.rl_network import BroadbandModel, network
from solver.report.circuits import ExportedCircuit, circuit_files
from solver.report.remarks import circuit_remarks, commented
from solver.report.spice import deck, subcircuit
from solver.variant.loop_of_record import Basis
from tests.simulated import run_ngspice, table

BAND = (1e3, 1e9)
FREQUENCIES = np.geomspace(*BAND, 25)
SLUG = "over-plane"


def remarks_of(circuit, variant, scenario):
    """Comments of a circuit of the section alone."""
    return circuit_remarks(circuit, result_of(variant), scenario)


def result_of(variant):
    return SimpleNamespace(variant=variant, basis=Basis.SECTION, planned_loop=None, whole_loop=None, layout_loop=None)


def write_circuits(folder, circuit, variant, scenario, victims=None):
    remarks = remarks_of(circuit, variant, scenario)
    exported = ExportedCircuit(network=circuit, result=result_of(variant), victims=victims, remarks=remarks)
    for name, content in circuit_files(exported, scenario, SLUG).items():
        (folder / name).write_text(content, encoding="ascii")


def circuit_of(loops):
    """Made by hand, with the values of a loop of copper on a board, some mutual terms negative."""
    generator = np.random.default_rng(7)
    rates = 2 * math.pi * np.geomspace(2e4, 3e10, 9)
    weights = generator.uniform(0.1, 1.0, (9, loops)) * np.sqrt(rates / rates[0])[:, None] * 0.1
    weights[::2, 1:] *= -0.2
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


@pytest.fixture(params=[1, 3], ids=["one loop", "three loops"])
def circuit(request):
    return circuit_of(request.param)


@pytest.fixture
def scenario(study):
    return study.scenario


@pytest.fixture
def variant(with_loops, circuit):
    return with_loops(circuit.loops)


def cards(text):
    return [line.split() for line in text.splitlines() if line and line[0] not in "*."]


def nodal_impedance(text, frequency):
    """Impedance of the subcircuit between its pairs of nodes, by modified nodal analysis."""
    header = next(line.split() for line in text.splitlines() if line.startswith(".subckt"))
    elements = cards(text)
    names = sorted({node for card in elements for node in card[1:3]} | {c[3] for c in elements if c[0][0] == "E"})
    names = [name for name in names if name != "0"]
    branches = [card[0] for card in elements if card[0][0] in "LVE"]
    place = {name: index for index, name in enumerate([*names, *branches])}
    ports = [(header[2 + 2 * k], header[3 + 2 * k]) for k in range((len(header) - 2) // 2)]
    size = len(place)
    matrix = np.zeros((size, size), dtype=complex)

    def put(row, column, value):
        if row in place and column in place:
            matrix[place[row], place[column]] += value

    for name, plus, minus, *rest in elements:
        if name[0] == "R":
            for row, column, sign in ((plus, plus, 1), (minus, minus, 1), (plus, minus, -1), (minus, plus, -1)):
                put(row, column, sign / float(rest[0]))
        elif name[0] == "F":
            put(plus, rest[0], float(rest[1]))
            put(minus, rest[0], -float(rest[1]))
        else:
            put(plus, name, 1)
            put(minus, name, -1)
            put(name, plus, 1)
            put(name, minus, -1)
        if name[0] == "L":
            put(name, name, -2j * math.pi * frequency * float(rest[0]))
        if name[0] == "E":
            put(name, rest[0], -float(rest[2]))
            put(name, rest[1], float(rest[2]))
    for _, minus in ports:  # every loop's return node is tied to 0
        matrix[place[minus]] = 0
        matrix[place[minus], place[minus]] = 1
    sources = np.zeros((size, len(ports)))
    for column, (plus, _) in enumerate(ports):
        sources[place[plus], column] = 1
    solved = np.linalg.solve(matrix, sources)
    return np.array([solved[place[plus]] for plus, _ in ports])


def test_the_subcircuit_has_the_impedance_of_the_circuit(circuit, variant, scenario):
    text = subcircuit(circuit, variant, remarks_of(circuit, variant, scenario), SLUG)
    for frequency in FREQUENCIES:
        exact = circuit.impedance(frequency)
        assert np.abs(nodal_impedance(text, frequency) - exact).max() < 1e-9 * np.abs(exact).max()


def test_every_value_is_positive_and_in_exponent_form(circuit, variant, scenario):
    for card in cards(subcircuit(circuit, variant, remarks_of(circuit, variant, scenario), SLUG)):
        if card[0][0] in "RLE":
            assert re.fullmatch(r"-?\d\.\d+e[+-]\d\d", card[-1]), card
        if card[0][0] in "RL":
            assert float(card[-1]) > 0, card


def test_names_of_elements_differ(circuit, variant, scenario):
    names = [
        card[0].lower() for card in cards(subcircuit(circuit, variant, remarks_of(circuit, variant, scenario), SLUG))
    ]
    assert len(names) == len(set(names))


def test_one_loop_needs_no_source_and_no_ground(variant, scenario):
    elements = cards(subcircuit(circuit_of(1), variant, remarks_of(circuit_of(1), variant, scenario), SLUG))
    assert {card[0][0] for card in elements} == {"R", "L"}
    assert all("0" not in card[1:3] for card in elements)


def test_the_header_says_validity_what_is_missing_and_the_nodes(circuit, variant, scenario):
    lines = [
        line
        for line in subcircuit(circuit, variant, remarks_of(circuit, variant, scenario), SLUG).splitlines()
        if line.startswith("*")
    ]
    header = " ".join(line[2:].strip() for line in lines)
    assert "Valid from 0 to 1e+09 Hz" in header
    assert "Section times length: 8 mm" in header
    assert re.search("Not included: the ends .* capacitor .* package", header)
    assert "Nodes: 1 go, 2 return, of loop 1" in header
    assert scenario.title in header


def test_a_hostile_name_stays_a_comment(variant, scenario):
    hostile = replace(variant, name="ring\n.end\r\nR99 1 2 0\u2028+ 5 µ")
    for text in (
        subcircuit(circuit_of(1), hostile, remarks_of(circuit_of(1), hostile, scenario), SLUG),
        deck(circuit_of(1), 1e8, remarks_of(circuit_of(1), hostile, scenario), SLUG),
    ):
        assert text.isascii()
        assert sum(line.lower().startswith("r99") for line in text.splitlines()) == 0
        assert [line for line in text.splitlines() if line.startswith(".end")][-1] in (".end", ".ends loop_over_plane")


def test_no_comment_line_is_longer_than_a_page(circuit, variant, scenario):
    wordy = replace(scenario, title="long " * 200)
    lines = subcircuit(circuit, variant, remarks_of(circuit, variant, wordy), SLUG).splitlines()
    assert max(map(len, lines)) <= 100
    assert commented(["a" * 300], "*")[0].startswith("* a")


def test_the_files_of_a_variant_are_written(circuit, variant, scenario, tmp_path):
    write_circuits(tmp_path, circuit, variant, scenario)
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {f"{SLUG}.sub", f"{SLUG}-test.cir", f"{SLUG}.s{circuit.loops}p"}


def test_ngspice_finds_the_same_impedance(circuit, variant, scenario, tmp_path):
    write_circuits(tmp_path, circuit, variant, scenario)
    output = run_ngspice(tmp_path, f"{SLUG}-test.cir")
    ports = range(1, circuit.loops + 1)
    for port in ports:
        columns = [f"vr({port})", f"vi({port})"]
        found = {row[0]: row[1:] for row in table(output, ("frequency", *columns))}
        assert len(found) == 121
        for frequency, (real, imaginary) in found.items():
            exact = circuit.impedance(frequency)[port - 1, 0]
            assert real == pytest.approx(exact.real, rel=1e-3, abs=0)
            assert imaginary == pytest.approx(exact.imag, rel=1e-3, abs=0)


def test_ngspice_rings_at_the_report_frequency(circuit, variant, scenario, tmp_path):
    write_circuits(tmp_path, circuit, variant, scenario)
    output = run_ngspice(tmp_path, f"{SLUG}-test.cir")
    node = circuit.loops + 2
    time, voltage = table(output, ("time", f"v({node})")).T
    rising = np.flatnonzero((voltage[:-1] < 1) & (voltage[1:] >= 1))
    crossings = time[rising] + (1 - voltage[rising]) / (voltage[rising + 1] - voltage[rising]) * np.diff(time)[rising]
    frequency = 1 / np.diff(crossings)[:5].mean()
    assert frequency == pytest.approx(scenario.analysis.report_frequency, rel=0.02)
    assert 1.5 < voltage.max() < 2
