"""Spectrum of a ringing loop current, moments, cables and margins."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario
from geometries.operation.emission import Cable, Emission, Site
from geometries.operation.published_limits import published_limit
from geometries.operation.switching import Switching
from solver.circuit.series_loop import DampedBranch, SeriesLoop
from solver.emission.cable import DrivingGround, node_driven_current, plane_driven_current
from solver.emission.current import LoopCurrent, RingCircuit, harmonic_numbers
from solver.emission.moment import LoopMoment
from solver.emission.prediction import cable_bound, closest_margin, line_frequencies, loop_current, loop_levels

EMISSION = Emission(
    current=4.0,
    frequency=1.2e6,
    duty=0.21,
    rise_time=2e-9,
    fall_time=2e-9,
    distance=3.0,
    site=Site.OPEN_AREA_MAXIMUM,
    limits=(published_limit("CISPR 32 class B", 3.0),),
    cable=Cable(length=1.0),
)
RING = RingCircuit(voltage=24.0, loop=SeriesLoop(resistance=0.8, inductance=2e-9, capacitance=300e-12))
SWITCHING = Switching(
    input_voltage=24.0, edge_time=2e-9, output_capacitance=300e-12, switch_resistance=0.6, capacitor_resistance=0.2
)
RINGING = LoopCurrent(amplitude=4.0, frequency=1.2e6, duty=0.21, rise_time=2e-9, fall_time=2e-9, ring=RING)


def waveform(samples: int) -> np.ndarray:
    """One period of the current: a trapezoid and the exact ramp response of a series circuit, past edges too."""
    period, resistance, inductance = 1 / 1.2e6, 0.8, 2e-9
    decay = resistance / (2 * inductance)
    omega = math.sqrt(1 / (inductance * 300e-12) - decay**2)

    def charge(t: np.ndarray) -> np.ndarray:
        """Charge of the capacitance per volt after a step: its derivative is the current."""
        since = np.maximum(t, 0.0)
        swing = np.cos(omega * since) + decay / omega * np.sin(omega * since)
        return np.where(t > 0, 300e-12 * (1 - np.exp(-decay * since) * swing), 0.0)

    def edge(t: np.ndarray) -> np.ndarray:
        """Current after a ramp of 1 V in 2 ns."""
        return (charge(t) - charge(t - 2e-9)) / 2e-9

    times = np.arange(samples) / samples * period
    trapezoid = np.interp(times, [0, 2e-9, 0.21 * period, 0.21 * period + 2e-9, period], [0.0, 4.0, 4.0, 0.0, 0.0])
    past = [edge(times + n * period) - edge(times + n * period - 0.21 * period) for n in range(3)]
    return trapezoid + 24.0 * np.sum(past, axis=0)


def test_lines_of_a_ringing_current_are_the_fourier_transform_of_its_waveform() -> None:
    samples = 1 << 20
    transformed = 2 * np.fft.fft(waveform(samples)) / samples
    # Aliases of corners fall off as the square: (harmonic/samples)² of a line, and 1e-9 A of them all together.
    harmonics = np.array([1, 7, 25, 100, 171, 250])
    assert RINGING.lines(harmonics) == pytest.approx(transformed[harmonics], rel=1e-5, abs=1e-8)


@pytest.mark.parametrize("duty", [0.1, 0.21, 0.6])
def test_no_line_passes_the_bound_for_any_duty(duty: float) -> None:
    current = replace(RINGING, duty=duty)
    harmonics = np.arange(1, 800)
    assert (np.abs(current.lines(harmonics)) <= current.bounds(harmonics * 1.2e6) * (1 + 1e-12)).all()


def test_the_ring_raises_the_spectrum_at_its_frequency_by_what_its_admittance_says() -> None:
    ring_frequency = np.array([1 / (2 * math.pi * math.sqrt(2e-9 * 300e-12))])
    # In resonance only the resistance of 0.8 ohm is left.
    expected = abs(4.0 + 24.0 / 0.8) / 4.0
    without = replace(RINGING, ring=None)
    assert RINGING.bounds(ring_frequency) / without.bounds(ring_frequency) == pytest.approx(expected, rel=1e-9, abs=0)


def test_far_below_the_ring_the_switch_node_follows_the_edge() -> None:
    assert RING.node_gain(np.array([1e3])) == pytest.approx(1.0, abs=1e-5)


def test_a_snubber_takes_its_current_beside_the_switch() -> None:
    snubbed = replace(RING, loop=replace(RING.loop, snubber=DampedBranch(resistance=2.6, capacitance=900e-12)))
    s = 2j * math.pi * 150e6
    shunt = s * 300e-12 + 1 / (2.6 + 1 / (s * 900e-12))
    expected = 1 / (0.8 + s * 2e-9 + 1 / shunt)
    assert snubbed.admittance(np.array([150e6])) == pytest.approx(expected, rel=1e-12, abs=0)


def test_lines_begin_and_end_within_the_band() -> None:
    numbers = harmonic_numbers(RINGING, 30e6, 1e9)
    assert (numbers[0], numbers[-1]) == (25, 833)


def test_very_many_lines_are_thinned_out() -> None:
    numbers = harmonic_numbers(replace(RINGING, frequency=20e3, ring=None), 30e6, 1e9)
    assert (numbers[0], numbers[-1]) == (1500, 50000)
    assert len(numbers) < 20_001
    assert np.diff(numbers).min() >= 1


def test_both_parts_of_a_moment_stand_at_right_angles() -> None:
    moment = LoopMoment(lying=3e-6, upright=3e-6, added=1e-6, source="invented")
    assert moment.total == pytest.approx(5e-6, rel=1e-12, abs=0)


def test_a_negative_area_is_refused() -> None:
    with pytest.raises(ValueError, match="zero or more square metres"):
        LoopMoment(lying=-1e-6, upright=0.0, added=0.0, source="invented")


def test_twice_the_moment_is_6_db_more() -> None:
    current = loop_current(EMISSION, None)
    harmonics = line_frequencies(EMISSION, current)
    one, two = (loop_levels(EMISSION, current, moment, harmonics)[0] for moment in (20e-6, 40e-6))
    assert two - one == pytest.approx(20 * math.log10(2), rel=1e-12)


def test_the_open_area_gives_6_db_more_than_free_space() -> None:
    current = loop_current(EMISSION, None)
    harmonics = line_frequencies(EMISSION, current)
    free = loop_levels(replace(EMISSION, site=Site.FREE_SPACE), current, 20e-6, harmonics)[0]
    assert loop_levels(EMISSION, current, 20e-6, harmonics)[0] - free == pytest.approx(20 * math.log10(2), rel=1e-12)


def test_the_closest_margin_is_the_smallest_of_all_limits() -> None:
    limits = (published_limit("CISPR 32 class B", 3.0), published_limit("FCC 15.109 class B", 3.0))
    margin = closest_margin(np.array([50e6, 100e6, 300e6]), np.array([20.0, 39.0, 45.0]), limits)
    assert (margin.limit, margin.frequency, margin.value) == ("CISPR 32 class B", 100e6, 1.0)


def test_no_frequency_within_a_limit_is_refused() -> None:
    with pytest.raises(ValueError, match="no frequency lies within a limit line"):
        closest_margin(np.array([1e6]), np.array([20.0]), EMISSION.limits)


def test_the_plane_drives_a_resonant_cable_with_its_voltage() -> None:
    found = plane_driven_current(1e-3, 10e-12, Cable(length=1.0), 100e6)
    assert found == pytest.approx(2 * math.pi * 100e6 * 10e-12 * 1e-3 / 36.54, rel=1e-3, abs=0)


def test_stray_capacitance_never_drives_more_than_its_voltage_would() -> None:
    cable = Cable(length=1.0)
    small, large = (node_driven_current(1.0, c, cable, 100e6) for c in (0.1e-12, 1e-6))
    assert small == pytest.approx(2 * math.pi * 100e6 * 0.1e-12, rel=1e-12, abs=0)
    assert large == pytest.approx(1 / 36.54, rel=1e-3, abs=0)


def test_a_cable_bound_of_more_ground_inductance_is_higher_by_its_ratio() -> None:
    current = loop_current(EMISSION, None)
    frequencies = line_frequencies(EMISSION, current) * 1.2e6
    assert EMISSION.cable is not None
    one, ten = (
        cable_bound(EMISSION, EMISSION.cable, current, frequencies, DrivingGround(copper="L2", reported=h))
        for h in (1e-12, 1e-11)
    )
    assert ten.levels - one.levels == pytest.approx(20.0, rel=1e-12)
    assert ten.allowed_current == one.allowed_current


def test_stray_capacitance_without_ring_adds_nothing_and_with_it_something() -> None:
    emission = replace(EMISSION, stray_capacitance=0.2e-12, switching=SWITCHING)
    current = LoopCurrent(amplitude=4.0, frequency=1.2e6, duty=0.21, rise_time=2e-9, fall_time=2e-9)
    frequencies = np.array([120e6])
    assert emission.cable is not None
    levels = [
        float(
            cable_bound(each, emission.cable, driven, frequencies, DrivingGround(copper="L2", reported=1e-12)).levels[0]
        )
        for each, driven in ((EMISSION, current), (emission, current), (EMISSION, RINGING), (emission, RINGING))
    ]
    assert levels[0] == levels[1]
    assert levels[3] > levels[2]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"current": 0.0}, "emission: current is 0 A; it must be above zero"),
        ({"band": -1.0}, "emission: band is -1 dB; it must be zero or above"),
        ({"duty": 0.0}, r"emission: the duty is 0; with these edges it lies between 0\.0024 and 0\.998"),
        ({"limits": ()}, "no limit is named"),
        ({"stray_capacitance": 1e-13}, "a stray_capacitance is driven by the switch node, of which nothing is said"),
        ({"highest_frequency": 20e6}, r"highest_frequency is 2e\+07 Hz; it must lie above the switching"),
    ],
)
def test_impossible_values_are_refused(change: dict[str, object], message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        replace(EMISSION, **change)


def test_a_cable_as_thick_as_long_is_refused() -> None:
    with pytest.raises(ScenarioError, match="at least ten times as long as thick"):
        Cable(length=0.02, diameter=4e-3)


HEAD = """
title = "emission"
stackup = "4L-7628"
[loop]
kind = "same-layer"
width = "1 mm"
gap = "0.5 mm"
length = "8 mm"
"""
SWITCHED = """
[switching]
input_voltage = "24 V"
edge_time = "1.6 ns"
edge_span = "10-90 %"
output_capacitance = "300 pF"
switch_resistance = "0.5 ohm"
capacitor_resistance = "10 mohm"
frequency = "1.2 MHz"
"""


def read(table: str, where: str = "board.toml") -> Emission:
    emission = parse_scenario(HEAD + table, where=where).emission
    assert emission is not None
    return emission


def test_frequency_and_edge_are_taken_from_the_switching_edge() -> None:
    emission = read(SWITCHED + '[emission]\ncurrent = "4 A"\nlimits = ["CISPR 32 class B"]\n')
    assert (emission.frequency, emission.rise_time, emission.fall_time) == pytest.approx((1.2e6, 2e-9, 2e-9), abs=0)
    assert emission.switching is not None


def test_values_of_the_table_come_before_those_of_the_switching_edge() -> None:
    table = '[emission]\ncurrent = "4 A"\nlimits = ["CISPR 32 class B"]\nfrequency = "2 MHz"\nfall_time = "5 ns"\n'
    emission = read(SWITCHED + table)
    assert (emission.frequency, emission.fall_time) == (2e6, 5e-9)


def test_a_file_of_limits_is_looked_for_beside_the_scenario(tmp_path: Path) -> None:
    (tmp_path / "house.csv").write_text("from,to,level\n30 MHz,1 GHz,33\n", encoding="utf-8")
    table = '[emission]\ncurrent = "4 A"\nlimits_file = "house.csv"\nfrequency = "2 MHz"\nrise_time = "2 ns"\n'
    emission = read(table, where=str(tmp_path / "board.toml"))
    assert [line.name for line in emission.limits] == ["house"]


def test_a_mistake_in_the_switching_edge_is_told_once_not_for_what_follows_it() -> None:
    table = '[switching]\ninput_voltage = "24,5 V"\nedge_time = "2 ns"\noutput_capacitance = "300 pF"\n'
    with pytest.raises(ScenarioError) as refused:
        parse_scenario(f'{HEAD}{table}[emission]\ncurrent = "4 A"\nlimits = ["CISPR 32 class B"]\n', where="board.toml")
    (line,) = str(refused.value).splitlines()
    assert "holds a comma" in line


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ('limits = ["CISPR 32 class B"]', r"emission current: this key is missing"),
        ('current = "4 A"', r'give limits = \["CISPR 32 class B"\], or limits_file'),
        (
            'current = "4 A"\nlimits = ["CISPR 32 class B"]',
            r"emission: frequency is missing; give it here or in \[switch",
        ),
        ('current = "4 A"\nlimits = ["X"]\nfrequency = "1 MHz"\nrise_time = "2 ns"', "no limit is called 'X'"),
        (
            'current = "4 A"\nlimits = ["CISPR 32 class B"]\ndistance = "5 m"\nfrequency = "1 MHz"\nrise_time = "2 ns"',
            "the distance is 5 m; published limits are known at 3 m and 10 m",
        ),
        ('current = "4 A"\nlimits = ["CISPR 32 class B"]\nsite = "chamber"', "site: Input should be 'free space' or"),
        ('current = "4 A"\nlimits = ["CISPR 32 class B"]\nband = "6"', 'band = "6" has no unit'),
    ],
)
def test_a_bad_table_says_what_and_where(table: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(f"{HEAD}[emission]\n{table}\n", where="board.toml")
