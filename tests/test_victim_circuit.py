"""Victims in the written circuits, read back by our own evaluation and by ngspice."""

import re
import shutil
import subprocess
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from geometries.files.reading import parse_scenario
from solver.circuit.rl_network import BroadbandModel, network, relinked
from solver.pickup.results import LineReading, NodeReading, PickupResult
from solver.report.circuits import ExportedCircuit, circuit_files
from solver.report.remarks import circuit_remarks
from solver.report.spice import subcircuit
from solver.report.victim_circuit import victim_nodes, with_victims
from solver.variant.loop_of_record import Basis

SLUG = "heard"
SCENARIO = """
title = "bench supply"
stackup = "4L-7628"
planes.L2 = { tie = "none", width = "40 mm" }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "10 mm" }
switch_node = { conductor = "go", length = "4 mm" }
victims.near = { layer = "L1", distance = "2 mm", width = "0.2 mm", reference = "L2", length = "6 mm" }
victims.far = { layer = "L1", distance = "5 mm", width = "0.2 mm", reference = "L2", length = "15 mm" }

[pickup]
current = "1 A"
frequency = "400 kHz"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "73.2 kohm", lower = "10 kohm" }
"""
MODEL = BroadbandModel(
    resistance=np.diag([0.3, 0.5, 0.6]),
    inductance=np.array([[1.4e-7, 1.4e-9, 0.3e-9], [1.4e-9, 4e-7, 1e-9], [0.3e-9, 1e-9, 4e-7]]),
    rates=np.array([1e6, 3e8]),
    weights=np.array([[0.5, 0.01, 0.002], [2.0, -0.03, -0.01]]),
    band=(1e4, 1e9),
    shifts=(1e9,),
    residual=0.0,
    resistance_residual=0.0,
)
LINE = LineReading(inductance=4e-7, capacitance=9e-11, impedance=66.7, effective_permittivity=3.2)


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


@pytest.fixture(scope="module")
def scenario():
    return parse_scenario(SCENARIO)


@pytest.fixture(scope="module")
def heard(scenario):
    """By hand, without a solver; only what the circuits need."""
    pickup = scenario.variants[0].pickup
    node = NodeReading(shares=(), total=6e-10, plate=5e-10, width=3e-3, length=4e-3, area_total=2.7e-12)
    victims = tuple(SimpleNamespace(victim=each, line=LINE, node_capacitance=1e-13) for each in pickup.victims)
    return PickupResult(
        pickup=pickup, model=MODEL, capacitance=None, victims=victims, node=node, curves=(), potential_map=None
    )


def circuit_beside(scenario, heard, rest):
    """With so much inductance beside the section [H]."""
    variant = scenario.variants[0]
    alone = replace(MODEL, resistance=np.eye(1), inductance=np.eye(1), weights=np.ones((2, 1)))
    result = SimpleNamespace(
        variant=variant,
        segments=(SimpleNamespace(model=alone, length=variant.length),),
        section_inductance=1e-9,
        loop=SimpleNamespace(inductance=1e-9 + rest),
    )
    return with_victims(result, heard)


@pytest.fixture(scope="module")
def circuit(scenario, heard):
    return circuit_beside(scenario, heard, 0.0)


def test_what_a_whole_loop_has_beside_its_section_couples_with_no_victim(circuit, scenario, heard):
    more = circuit_beside(scenario, heard, 0.3e-9).impedance(1e7) - circuit.impedance(1e7)
    assert more[0, 0] == pytest.approx(2j * np.pi * 1e7 * 0.3e-9, rel=1e-9)
    assert np.abs(more).sum() == pytest.approx(abs(more[0, 0]), rel=1e-9)


def test_relinked_loops_have_the_combined_impedance():
    links = np.array([[1.0, 0.0, 0.0], [0.0, 2.0, -1.0]])
    exact = links @ network(MODEL).impedance(1e7) @ links.T
    assert np.allclose(relinked(network(MODEL), links).impedance(1e7), exact, rtol=1e-12)


@pytest.mark.parametrize("frequency", [1e5, 1e7, 1e9])
def test_the_loop_has_its_own_length(circuit, frequency):
    assert circuit.impedance(frequency)[0, 0] == pytest.approx(MODEL.impedance(frequency)[0, 0] * 10e-3, rel=1e-9)


@pytest.mark.parametrize("frequency", [1e5, 1e7, 1e9])
@pytest.mark.parametrize(("victim", "length"), [(1, 6e-3), (2, 10e-3)])
def test_every_run_is_coupled_along_the_loop(circuit, frequency, victim, length):
    found = circuit.impedance(frequency)[0, victim]
    assert found == pytest.approx(MODEL.impedance(frequency)[0, victim] * length, rel=1e-9)


@pytest.mark.parametrize(("victim", "length"), [(1, 6e-3), (2, 15e-3)])
def test_every_run_has_the_impedance_of_its_own_length(circuit, victim, length):
    expected = MODEL.impedance(1e7)[victim, victim] * length
    assert circuit.impedance(1e7)[victim, victim] == pytest.approx(expected, rel=1e-9)


def test_half_of_a_runs_capacitance_lies_at_each_end(scenario, heard):
    nodes = victim_nodes(heard)
    at_first_end = [value for one, other, value in nodes.capacitors if one == 3]
    assert sum(at_first_end) == pytest.approx(LINE.capacitance * 6e-3 / 2)


def test_the_switch_node_is_coupled_over_the_shorter_length(scenario, heard):
    nodes = victim_nodes(heard)
    between = [value for one, other, value in nodes.capacitors if (one, other) in ((5, 7), (6, 7))]
    assert sum(between) == pytest.approx(1e-13 * 4e-3)


def test_the_subcircuit_names_its_nodes(circuit, scenario, heard):
    variant = scenario.variants[0]
    text = subcircuit(circuit, variant, remarks_of(circuit, variant, scenario), SLUG, victim_nodes(heard))
    assert ".subckt loop_heard 1 2 3 4 5 6 7 8" in text
    assert re.search(r"3 go, 4 return, of loop 2 \(near\)", text)
    assert "Node 7: the switch node's copper" in text
    assert "Node 8: all quiet copper" in text


def test_ngspice_runs_the_deck_and_hears_the_mutual_impedance(circuit, scenario, heard, tmp_path):
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed, so the decks cannot be run; .ci/circuit-simulator installs it as root")
    variant = scenario.variants[0]
    write_circuits(tmp_path, circuit, variant, scenario, victim_nodes(heard))
    command = ["ngspice", "-b", f"{SLUG}-test.cir"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 0, done.stdout + done.stderr
    rows = re.findall(r"^\d+\s+(\S+)\s+(\S+)\s+(\S+)\s*$", done.stdout.split("vr(2)")[1], flags=re.MULTILINE)
    found = {float(f): complex(float(re_), float(im)) for f, re_, im in rows[:40]}
    assert len(found) == 40
    for frequency, value in found.items():
        assert value == pytest.approx(circuit.impedance(frequency)[0, 1], rel=2e-3)
