"""Golden cases of pick-up: voltages at a feedback pin and written circuits worked out by hand.

The divider of 70 and 10 kohm passes one eighth of what a run on its sense side picks up; its resistance at the pin is
8.75 kohm. Run and divider are so quick (1e-15 F) that every edge is slow for them.
"""

import math
import re
from types import SimpleNamespace

import numpy as np
import pytest

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.files.reading import parse_scenario
from geometries.section.outline import Rectangle
from geometries.section.victims import Divider, Drive, Run
from solver.circuit.rl_network import BroadbandModel, network
from solver.pickup.distance import mutual_curves
from solver.pickup.divider import OPEN_RUN, electric_transfer, magnetic_transfer, pin_circuit
from solver.pickup.pin import PinTransfers, loop_current, open_peak, pin_signal, pin_sources, pin_spectrum
from solver.pickup.results import NodeReading, PickupResult, PinSignal
from solver.pickup.ringing_drive import PinSource
from solver.report.spice import subcircuit
from solver.report.victim_circuit import victim_nodes

MODEL = BroadbandModel(
    resistance=np.diag([0.3, 0.5]),
    inductance=np.array([[1.4e-7, 1e-7], [1e-7, 4e-7]]),
    rates=np.array([1e8]),
    weights=np.array([[0.5, 0.0]]),
    band=(1e4, 1e9),
    shifts=(1e9,),
    residual=0.0,
    resistance_residual=0.0,
)
DRIVE = Drive(
    current=1.0,
    frequency=400e3,
    duty=0.5,
    rise_time=100e-9,
    fall_time=100e-9,
    voltage=12.0,
    voltage_rise_time=200e-9,
    voltage_fall_time=200e-9,
    reference_voltage=0.6,
    divider=Divider(upper=70e3, lower=10e3, pin_capacitance=1e-15),
)
CIRCUIT = pin_circuit(DRIVE.divider, Run.SENSE, 1e-15)
TRANSFERS = PinTransfers(
    magnetic=magnetic_transfer(MODEL, 1, 10e-3, CIRCUIT.from_emf),
    electric=electric_transfer(1e-15, pin_circuit(DRIVE.divider, Run.PIN, 1e-15).from_injection),
)


def test_emf_of_an_open_run():
    # 100 nH/m over 10 mm: 1 nH; 1 A in 100 ns: 10 mV.
    emf = magnetic_transfer(MODEL, 1, 10e-3, OPEN_RUN)
    found = open_peak(PinSource(name="emf", transfer=emf, wave=loop_current(DRIVE)))
    assert found == pytest.approx(10e-3, rel=1e-9, abs=0.0)


def test_magnetic_peak_at_the_pin():
    # An eighth of 10 mV.
    assert pin_signal(pin_sources(DRIVE, TRANSFERS)).magnetic_peak == pytest.approx(1.25e-3, rel=1e-4, abs=0.0)


def test_electric_peak_at_the_pin():
    # 1 fF x 12 V / 200 ns = 60 nA through 8.75 kohm: 0.525 mV.
    assert pin_signal(pin_sources(DRIVE, TRANSFERS)).electric_peak == pytest.approx(0.525e-3, rel=1e-4, abs=0.0)


def test_peak_at_the_pin_adds_both():
    assert pin_signal(pin_sources(DRIVE, TRANSFERS)).peak == pytest.approx(1.775e-3, rel=1e-4, abs=0.0)


def test_first_harmonic_at_the_pin():
    # Trapezoid of 1 A: 2/pi x sin(0.125664)/0.125664 = 0.634946 A; 2 pi 400 kHz x 1 nH = 2.51327 mohm; an eighth.
    spectrum = pin_spectrum(pin_sources(DRIVE, TRANSFERS), 1e6)
    assert spectrum.magnetic[0] == pytest.approx(0.634946 * 2.51327e-3 / 8, rel=1e-4, abs=0.0)


def test_root_mean_square_of_the_sum():
    # 3 mV for a quarter of the period and 1 mV for the rest: sqrt((9 + 3 x 1) / 4) = 1.7321 mV, both parts adding.
    times = np.array([0.0, 1.0, 1.0 + 1e-9, 4.0])
    signal = PinSignal(
        times=times, magnetic=np.array([2.0, -2, 1, -1]) * 1e-3, electric=np.array([1.0, 1, 0, 0]) * 1e-3, mean=0.0
    )
    assert signal.rms == pytest.approx(math.sqrt(3) * 1e-3, rel=1e-6, abs=0.0)


def test_curve_of_mutual_inductance_is_read_in_the_middle_of_the_layer(monkeypatch):
    """A potential of 1 Wb/m per metre of height and none in the reference: M' is the height itself, in H/m.

    Layers of 100 and 400 um with 1 mm between them, counted from the lower face of the upper one: their middles stand
    at +50 and -1200 um.
    """
    monkeypatch.setattr("solver.pickup.distance.vector_potential", lambda field, points: points[:, 1] + 0j)
    layers = (
        CopperLayer(name="top", thickness=100e-6),
        DielectricLayer(name="core", thickness=1e-3, relative_permittivity=4.4),
        CopperLayer(name="bottom", thickness=400e-6),
    )
    ground = SimpleNamespace(
        name="ground", group="ground", outline=Rectangle(left=-2e-3, right=-1e-3, bottom=-1e-3, top=-0.5e-3)
    )
    setup = SimpleNamespace(
        stackup=Stackup(name="two", note="invented", layers=layers),
        section=SimpleNamespace(regions=(ground,)),
        victims=(SimpleNamespace(reference="ground", conductor="trace"),),
        loop_edge=0.0,
    )
    field = SimpleNamespace(frequency=1e6, voltage=lambda name: 0.0)
    curves = {curve.layer: curve.mutual for curve in mutual_curves(setup, field)}
    assert np.allclose(curves["top"], 50e-6, rtol=1e-9)
    assert np.allclose(curves["bottom"], 1200e-6, rtol=1e-9)


SCENARIO = """
title = "fixture supply"
stackup = "4L-7628"
planes.L2 = { tie = "none", width = "40 mm" }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "10 mm" }
switch_node = { conductor = "go", length = "4 mm" }
victims.near = { layer = "L1", distance = "2 mm", width = "0.2 mm", reference = "L2", length = "6 mm" }
[pickup]
current = "1 A"
frequency = "400 kHz"
rise_time = "1 ns"
voltage = "12 V"
reference_voltage = "0.6 V"
divider = { upper = "70 kohm", lower = "10 kohm" }
"""


def test_capacitors_of_the_written_victim_circuit():
    """90 pF/m over 6 mm: 0.54 pF in all; 1 pF/m beside 4 mm of switch node: 4 fF of them; node to all: 2.7 pF.

    Half at each end: 2 fF to the switch node (5), (540 - 4)/2 = 268 fF to quiet copper (6); node to quiet 2.7 pF less
    the 4 fF.
    """
    scenario = parse_scenario(SCENARIO)
    variant = scenario.variants[0]
    reading = SimpleNamespace(
        victim=variant.pickup.victims[0], line=SimpleNamespace(capacitance=90e-12), node_capacitance=1e-12
    )
    node = NodeReading(shares=(), total=6e-10, plate=5e-10, width=3e-3, length=4e-3, area_total=2.7e-12)
    found = PickupResult(
        pickup=variant.pickup,
        model=MODEL,
        capacitance=None,
        victims=(reading,),
        node=node,
        curves=(),
        potential_map=None,
    )
    text = subcircuit(network(MODEL, length=10e-3), variant, (), "near", victim_nodes(found))
    written = {
        (one, two): float(value) for one, two, value in re.findall(r"^C\d+ (\d) (\d) (\S+)$", text, re.MULTILINE)
    }
    assert written == {
        ("3", "5"): pytest.approx(2e-15, rel=1e-9, abs=0.0),
        ("4", "5"): pytest.approx(2e-15, rel=1e-9, abs=0.0),
        ("3", "6"): pytest.approx(268e-15, rel=1e-9, abs=0.0),
        ("4", "6"): pytest.approx(268e-15, rel=1e-9, abs=0.0),
        ("5", "6"): pytest.approx(2.696e-12, rel=1e-9, abs=0.0),
    }
