"""The edge of a switch whose capacitance falls with its voltage.

Peaks and limits of one loop were computed independently of this project: the loop's two equations, integrated by a
reviewer's own program, one case confirmed with a circuit simulator; values as printed there. Twelve more cases run
as exported decks through ngspice with its own junction capacitance, CJO/(1 + v/VJ)^M of a diode that blocks; points of
a data sheet run through it as a charge that follows from the voltage.
"""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from geometries.files.reading import builtin_text, parse_scenario
from geometries.operation.capacitance import CapacitanceCurve, ConstantCapacitance, JunctionCapacitance
from geometries.operation.recovery import NO_RECOVERY, NoRecovery, RecoveredCharge, RecoveryCurrent
from geometries.operation.voltage_limit import VoltageLimit
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.rl_network import Cell, RLNetwork, SeriesInductor, SeriesResistor
from solver.circuit.series_loop import SeriesLoop
from solver.report.spice import deck, subcircuit
from solver.report.spice_edge import DrivenLoop
from solver.switching.edge_peak import edge_peak, late_ring
from solver.switching.voltage_limits import largest_inductance_within

NANO, PICO = 1e-9, 1e-12
EDGE = Edge(height=24.0, duration=2 * NANO)
RESISTANCE, AT_INPUT = 0.305, 300 * PICO
SOURCE = "independent computation: the loop's ordinary differential equation, integrated by another program"
LAWS = {2.4: (1.0, 0.3, 50 * PICO), 3.2: (0.8, 0.4, 80 * PICO), 4.3: (0.8, 0.5, 80 * PICO), 5.6: (0.8, 0.5, 0.0)}
PEAKS = {
    2.4: ((1.69, 42.9), (1.16, 39.8), (0.960, 37.9)),
    3.2: ((1.69, 44.6), (1.16, 41.3), (0.960, 39.4)),
    4.3: ((1.69, 47.2), (1.16, 43.8), (0.960, 41.8)),
    5.6: ((1.69, 51.0), (1.16, 47.3), (0.960, 45.1)),
}


def junction(voltage: float, exponent: float, fixed: float) -> JunctionCapacitance:
    """With 300 pF at 24 V."""
    zero = (AT_INPUT - fixed) * (1 + EDGE.height / voltage) ** exponent
    return JunctionCapacitance(zero_bias=zero, junction_voltage=voltage, exponent=exponent, fixed=fixed)


def plain_loop(capacitance: JunctionCapacitance | ConstantCapacitance, inductance: float) -> NonlinearLoop:
    loop = SeriesLoop(resistance=RESISTANCE, inductance=inductance, capacitance=AT_INPUT)
    return NonlinearLoop(loop=loop, capacitance=capacitance)


@pytest.mark.parametrize("ratio", PEAKS)
def test_peaks_of_junctions(references, ratio: float) -> None:
    for inductance, peak in PEAKS[ratio]:
        references.compare(
            found=edge_peak(plain_loop(junction(*LAWS[ratio]), inductance * NANO), EDGE).voltage,
            reference=peak,
            rtol=0.005,
            source=SOURCE,
            item=f"24 V in 2 ns, {inductance} nH, 0.305 ohm, 300 pF at 24 V, C(0)/C(24 V) {ratio}: peak",
            unit="V",
            reason="three printed digits",
            mark="computed independently",
        )


@pytest.mark.parametrize(("ratio", "inductance"), [(2.4, 1.19), (3.2, 1.01), (4.3, 0.82)])
def test_largest_inductance_of_junctions(references, ratio: float, inductance: float) -> None:
    curve = junction(*LAWS[ratio])
    found = largest_inductance_within(lambda each: plain_loop(curve, each), NANO, EDGE, VoltageLimit(level=40.0))
    references.compare(
        found=found / NANO,
        reference=inductance,
        rtol=0.005,
        source=SOURCE,
        item=f"24 V in 2 ns, 0.305 ohm, 300 pF at 24 V, C(0)/C(24 V) {ratio}: largest inductance for 40 V",
        unit="nH",
        reason="two or three printed digits",
        mark="computed independently",
    )


@pytest.mark.parametrize(("inductance", "peak"), [(1.69, 37.8), (1.16, 35.0), (0.960, 33.5)])
def test_peaks_of_a_constant_capacitance(references, inductance: float, peak: float) -> None:
    references.compare(
        found=edge_peak(plain_loop(ConstantCapacitance(value=AT_INPUT), inductance * NANO), EDGE).voltage,
        reference=peak,
        rtol=0.005,
        source=SOURCE,
        item=f"24 V in 2 ns, {inductance} nH, 0.305 ohm, 300 pF at any voltage: peak",
        unit="V",
        reason="three printed digits",
        mark="computed independently",
    )


def test_largest_inductance_of_a_constant_capacitance(references) -> None:
    constant = ConstantCapacitance(value=AT_INPUT)
    found = largest_inductance_within(lambda each: plain_loop(constant, each), NANO, EDGE, VoltageLimit(level=40.0))
    references.compare(
        found=found / NANO,
        reference=2.45,
        rtol=0.005,
        source=SOURCE,
        item="24 V in 2 ns, 0.305 ohm, 300 pF at any voltage: largest inductance for 40 V",
        unit="nH",
        reason="three printed digits",
        mark="computed independently",
    )


CELLS = ((2e-3, 20 * PICO), (30e-3, 60 * PICO), (0.2, 90 * PICO))
CURVES = {
    "C(0)/C(24 V) 1": (1.0, 0.0, 0.0),
    "C(0)/C(24 V) 2.4": LAWS[2.4],
    "C(0)/C(24 V) 4.3": LAWS[4.3],
    "C(0)/C(24 V) 6": (0.75, 0.5134, 0.0),
}
BARE = SeriesLoop(resistance=0.2, inductance=1.1 * NANO, capacitance=AT_INPUT, cells=CELLS)
SETTINGS = {
    "": (BARE, NO_RECOVERY),
    ", 2 nC recovered": (BARE, RecoveredCharge(charge=2e-9)),
    ", 2 nC recovered, 2.2 ohm and 1 nF": (BARE.with_snubber(2.2, 1e-9), RecoveredCharge(charge=2e-9)),
}


VARIANT = parse_scenario(builtin_text("orchard-pump")).variants[0]
"""Gives the files its names of loops; nothing of its copper is used."""


def exported(circuit: NonlinearLoop, folder: Path) -> str:
    """The circuit files of a loop, with measurements; half of its inductance and resistance lie beside the copper."""
    loop = circuit.loop
    copper = RLNetwork(
        resistors=(SeriesResistor(resistance=loop.resistance / 2, turns=(1.0,)),),
        inductors=(SeriesInductor(inductance=loop.inductance / 2, turns=(1.0,)),),
        cells=tuple(Cell(resistance=one, inductance=two, turns=(1.0,)) for one, two in loop.cells),
        band=(1e4, 1e9),
    )
    (folder / "loop.sub").write_text(subcircuit(copper, VARIANT, (), "loop"), encoding="ascii")
    text = deck(copper, 1e8, (), "loop", driven=DrivenLoop(circuit=circuit, edge=EDGE))
    measured = [
        ".meas tran peak MAX v(switch)",
        f".meas tran first WHEN v(switch)={EDGE.height} RISE=9",
        f".meas tran last WHEN v(switch)={EDGE.height} RISE=13",
    ]
    return text.replace("\n.end\n", "\n" + "\n".join(measured) + "\n.end\n")


def simulated(text: str, folder: Path) -> dict[str, float]:
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed; .ci/circuit-simulator installs it as root")
    (folder / "edge.cir").write_text(text, encoding="ascii")
    done = subprocess.run(
        ["ngspice", "-b", "edge.cir"], cwd=folder, capture_output=True, text=True, check=False, timeout=60
    )
    found = re.findall(r"^(peak|first|last)\s*=\s*(\S+)", done.stdout, flags=re.MULTILINE)
    assert "peak" in dict(found), done.stdout + done.stderr
    return {name: float(value) for name, value in found}


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("name", CURVES)
def test_edge_of_a_junction_in_a_circuit_simulator(references, tmp_path: Path, name: str, setting: str) -> None:
    law, (loop, recovery) = junction(*CURVES[name]), SETTINGS[setting]
    circuit = NonlinearLoop(loop=loop, capacitance=law, recovery=recovery)
    theirs = simulated(exported(circuit, tmp_path), tmp_path)
    source = "ngspice, transient analysis of the exported deck, with its own junction capacitance"
    references.compare(
        found=edge_peak(circuit, EDGE).voltage,
        reference=theirs["peak"],
        rtol=0.005,
        source=source,
        item=f"24 V in 2 ns, 1.1 nH and three cells, 300 pF at 24 V, {name}{setting}: peak",
        unit="V",
        reason="trapezoidal rule with 400 steps in a period",
        mark="computed independently",
    )
    ring = late_ring(circuit, EDGE)
    if loop.snubber is None and ring is not None:
        references.compare(
            found=ring.frequency / 1e6,
            reference=4e-6 / (theirs["last"] - theirs["first"]),
            rtol=0.01,
            source=source,
            item=f"24 V in 2 ns, 1.1 nH and three cells, 300 pF at 24 V, {name}{setting}: ring, cycles 9 to 13",
            unit="MHz",
            reason="the ring is small by then; its frequency is that of the capacitance at the input voltage",
            mark="computed independently",
        )


POINTS = CapacitanceCurve(points=((0.0, 1100 * PICO), (5.0, 520 * PICO), (12.0, 380 * PICO), (24.0, 300 * PICO)))


STEEP = JunctionCapacitance(zero_bias=2000 * PICO, junction_voltage=6.0, exponent=1.2, fixed=40 * PICO)


@pytest.mark.parametrize(
    ("curve", "recovery", "words"),
    [
        (POINTS, NO_RECOVERY, "four points from 1100 to 300 pF"),
        (POINTS, RecoveryCurrent(current=3.0), "four points from 1100 to 300 pF, 3 A recovered"),
        (STEEP, NO_RECOVERY, "a junction with an exponent of 1.2"),
    ],
    ids=["points", "points and 3 A", "steep junction"],
)
def test_edge_of_a_charge_curve_in_a_circuit_simulator(
    references,
    tmp_path: Path,
    curve: CapacitanceCurve | JunctionCapacitance,
    recovery: NoRecovery | RecoveryCurrent,
    words: str,
) -> None:
    circuit = NonlinearLoop(loop=BARE, capacitance=curve, recovery=recovery)
    theirs = simulated(exported(circuit, tmp_path), tmp_path)
    references.compare(
        found=edge_peak(circuit, EDGE).voltage,
        reference=theirs["peak"],
        rtol=0.005,
        source="ngspice, transient analysis of the exported deck, charge as a function of the voltage",
        item=f"24 V in 2 ns, 1.1 nH and three cells, {words}: peak",
        unit="V",
        reason="400 steps in a period",
        mark="computed independently",
    )
