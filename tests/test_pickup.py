import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from geometries.section.victims import Divider, Drive, Run
from solver.circuit.rl_network import BroadbandModel
from solver.pickup.divider import OPEN_RUN, electric_transfer, magnetic_transfer, pin_circuit
from solver.pickup.pin import PinTransfers, loop_current, open_peak, pin_signal, pin_sources, pin_spectrum
from solver.pickup.ringing_drive import PinSource
from solver.pickup.waveform import Transfer, Trapezoid
from tests.closed_forms import harmonics, periodic_response

WAVE = Trapezoid(height=3.0, period=1e-6, duty=0.3, rise_time=5e-9, fall_time=20e-9)
DIVIDER = Divider(upper=73.2e3, lower=10e3, feed_forward=22e-12, pin_capacitance=5e-12, source_resistance=0.1)
MODEL = BroadbandModel(
    resistance=np.array([[0.3, 0.0], [0.0, 0.5]]),
    inductance=np.array([[1.4e-7, 1.4e-9], [1.4e-9, 4e-7]]),
    rates=np.array([1e6, 3e8]),
    weights=np.array([[0.5, 0.01], [2.0, 0.03]]),
    band=(1e4, 1e9),
    shifts=(1e9,),
    residual=0.0,
    resistance_residual=0.0,
)
DRIVE = Drive(
    current=1.0,
    frequency=400e3,
    duty=0.4,
    rise_time=1e-9,
    fall_time=1e-9,
    voltage=12.0,
    voltage_rise_time=2e-9,
    voltage_fall_time=2e-9,
    reference_voltage=0.6,
    divider=DIVIDER,
)


def by_harmonics(transfer, wave, times, count):
    """The same response, as a sum of harmonics."""
    omega = 2 * math.pi / wave.period * np.arange(1, count + 1)
    lines = harmonics(wave, count) * transfer.at(1j * omega)
    return transfer.level * wave.mean + (lines * np.exp(1j * np.outer(times, omega))).sum(axis=1).real


def test_the_trapezoid_is_the_sum_of_its_harmonics():
    times = np.array([2e-9, 1e-7, 3.05e-7, 6e-7])
    unity = Transfer(level=1.0, slope=0.0, poles=np.array([-1.0]), residues=np.array([0.0]))
    assert by_harmonics(unity, WAVE, times, 20000) == pytest.approx(WAVE.values(times), abs=1e-4)


def test_the_trapezoid_has_the_mean_of_its_samples():
    times = np.linspace(0, WAVE.period, 200001)
    assert np.trapezoid(WAVE.values(times), times) / WAVE.period == pytest.approx(WAVE.mean, rel=1e-6)


def test_a_low_pass_answers_as_its_differential_equation():
    tau = 30e-9
    low_pass = Transfer(level=1.0, slope=-tau, poles=np.array([-1 / tau]), residues=np.array([1 / tau]))
    times = np.linspace(0, WAVE.period, 41)

    def rate(t, y):
        return [(WAVE.values(np.array([t % WAVE.period]))[0] - y[0]) / tau]

    start = periodic_response(low_pass, WAVE, times[:1])
    solved = solve_ivp(rate, (0, WAVE.period), start, t_eval=times, rtol=1e-9, atol=1e-12, max_step=1e-9)
    assert periodic_response(low_pass, WAVE, times) == pytest.approx(solved.y[0], abs=1e-5)


def test_a_pure_mutual_inductance_gives_its_slope():
    mutual = Transfer(level=0.0, slope=2e-9, poles=np.array([-1e9]), residues=np.array([0.0]))
    times = np.array([2e-9, 1e-7, 3e-7])
    assert periodic_response(mutual, WAVE, times) == pytest.approx([2e-9 * 3 / 5e-9, 0.0, -2e-9 * 3 / 20e-9], abs=1e-12)


@pytest.mark.parametrize("run", list(Run))
def test_pin_voltage_in_time_is_the_sum_of_its_harmonics(run):
    circuit = pin_circuit(DIVIDER, run, 1.5e-12)
    transfer = magnetic_transfer(MODEL, 1, 0.015, circuit.from_emf)
    times = np.array([2.5e-9, 4e-8, 2e-7, 3.1e-7, 7e-7])
    exact = periodic_response(transfer, WAVE, times)
    assert by_harmonics(transfer, WAVE, times, 40000) == pytest.approx(exact, abs=2e-3 * np.abs(exact).max())


@pytest.mark.parametrize("run", list(Run))
def test_magnetic_transfer_is_mutual_impedance_times_circuit(run):
    circuit = pin_circuit(DIVIDER, run, 1.5e-12).from_emf
    transfer = magnetic_transfer(MODEL, 1, 0.015, circuit)
    frequencies = np.array([1e4, 1e6, 1e8, 1e9])
    s = 2j * math.pi * frequencies
    expected = [
        0.015 * MODEL.impedance(f)[0, 1] * circuit.at(np.array([w]))[0] for f, w in zip(frequencies, s, strict=True)
    ]
    assert np.allclose(transfer.at(s), expected, rtol=1e-9, atol=0)


@pytest.mark.parametrize("run", list(Run))
def test_electric_transfer_is_injected_current_times_circuit(run):
    circuit = pin_circuit(DIVIDER, run, 1.5e-12).from_injection
    s = 2j * math.pi * np.array([1e4, 1e6, 1e8])
    expected = s * 3e-15 * circuit.at(s)
    assert np.allclose(electric_transfer(3e-15, circuit).at(s), expected, rtol=1e-7, atol=0)


def parallel(*impedances):
    return 1 / sum(1 / each for each in impedances)


def test_on_the_sense_side_the_divider_divides_the_emf():
    s = np.array([2j * math.pi * 3e6])
    divider = Divider(upper=73.2e3, lower=10e3, feed_forward=22e-12, pin_capacitance=5e-12)
    upper = parallel(divider.upper, 1 / (s * divider.feed_forward))
    lower = parallel(divider.lower, 1 / (s * divider.pin_capacitance))
    found = pin_circuit(divider, Run.SENSE, 1.5e-12).from_emf.at(s)
    assert np.allclose(found, lower / (upper + lower), rtol=1e-9)


def test_between_divider_and_pin_the_capacitances_at_both_ends_divide_the_emf():
    s = np.array([2j * math.pi * 3e6])
    node = parallel(73.2e3, 10e3, 1 / (s * 22e-12), 1 / (s * 0.75e-12))
    pin = 1 / (s * (5e-12 + 0.75e-12))
    found = pin_circuit(DIVIDER, Run.PIN, 1.5e-12).from_emf.at(s)
    assert np.allclose(found, pin / (pin + node), rtol=1e-9)


def test_current_injected_between_divider_and_pin_flows_through_the_divider():
    found = pin_circuit(DIVIDER, Run.PIN, 1.5e-12).from_injection.level
    assert found == pytest.approx(parallel(73.2e3, 10e3))


def test_current_injected_into_a_sense_run_is_drained_by_the_output():
    stiff = Divider(upper=73.2e3, lower=10e3)
    s = 2j * math.pi * np.array([1e5, 1e8])
    assert np.abs(pin_circuit(stiff, Run.SENSE, 1e-12).from_injection.at(s)).max() < 1e-6


def test_without_feed_forward_the_fast_part_of_a_sense_run_is_filtered():
    plain, forward = (
        pin_circuit(Divider(upper=73.2e3, lower=10e3, feed_forward=c), Run.SENSE, 1e-12).from_emf for c in (0.0, 22e-12)
    )
    s = np.array([2j * math.pi * 1e8])
    assert abs(plain.at(s)[0]) < 0.01 < 0.8 < abs(forward.at(s)[0])


def test_a_run_without_capacitance_is_refused():
    with pytest.raises(ValueError, match="must be positive"):
        pin_circuit(DIVIDER, Run.PIN, 0.0)


def test_the_open_emf_of_a_known_mutual_inductance():
    """1.44 pH/mm over 15 mm at 1 A/ns."""
    line = BroadbandModel(
        resistance=np.zeros((2, 2)),
        inductance=np.array([[1.4e-7, 1.44e-9], [1.44e-9, 4e-7]]),
        rates=np.array([1e6]),
        weights=np.zeros((1, 2)),
        band=(1e4, 1e9),
        shifts=(1e9,),
        residual=0.0,
        resistance_residual=0.0,
    )
    emf = magnetic_transfer(line, 1, 0.015, OPEN_RUN)
    assert open_peak(PinSource(name="emf", transfer=emf, wave=loop_current(DRIVE))) == pytest.approx(21.6e-3, rel=1e-6)


@pytest.fixture(scope="module")
def transfers():
    circuit = pin_circuit(DIVIDER, Run.PIN, 1.5e-12)
    return PinTransfers(
        magnetic=magnetic_transfer(MODEL, 1, 0.015, circuit.from_emf),
        electric=electric_transfer(3e-15, circuit.from_injection),
    )


def test_magnetic_and_electric_peaks_bound_their_sum(transfers):
    signal = pin_signal(pin_sources(DRIVE, transfers))
    assert max(signal.magnetic_peak, signal.electric_peak) <= signal.peak
    assert signal.peak <= signal.magnetic_peak + signal.electric_peak


def test_a_coupling_without_shared_resistance_leaves_no_mean(transfers):
    assert pin_signal(pin_sources(DRIVE, transfers)).mean == pytest.approx(0.0, abs=1e-15)


def test_the_power_of_the_harmonics_is_that_of_the_signal(transfers):
    signal = pin_signal(pin_sources(DRIVE, transfers))
    spectrum = pin_spectrum(pin_sources(DRIVE, transfers), 1e9)
    power = np.trapezoid(signal.magnetic**2, signal.times) * DRIVE.frequency
    assert (spectrum.magnetic**2).sum() / 2 == pytest.approx(power, rel=0.1)


def test_the_spectrum_ends_at_the_highest_frequency(transfers):
    assert pin_spectrum(pin_sources(DRIVE, transfers), 5e6).frequencies == pytest.approx(400e3 * np.arange(1, 13))
