"""The switching edge: values of a scenario, loops, waveforms, limits and snubbers."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import parse_scenario, read_scenario
from geometries.operation.capacitance import CapacitanceCurve
from geometries.operation.edge_inputs import CurveFile
from geometries.operation.gate_edge import GateCurrent, GateResistor
from geometries.operation.recovery import RecoveredCharge
from geometries.operation.ringing import Ringing
from geometries.operation.switching import EdgeSpan, Snubber, Switching, SwitchingTolerance
from geometries.operation.voltage_limit import Pulse, VoltageLimit
from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.rl_network import Cell, RLNetwork, SeriesInductor, SeriesResistor
from solver.circuit.series_loop import SeriesLoop, copper_alone, series_loop
from solver.figures import waveform_figure
from solver.report.plain import plain
from solver.report.switching_part import headings, input_rows, reading_cells
from solver.study.results import StudyResult
from solver.switching.circuit import span_of_edges
from solver.switching.comparison import SMALLEST, STATED, USUAL, compare_switching, switching_warnings
from solver.switching.figures import switch_figures
from solver.switching.influences import largest_inductance_of
from solver.switching.limits import largest_inductance, peak_voltage
from solver.switching.reading import peak_of, ring_of, settling_time
from solver.switching.snubber_search import design_snubber
from solver.variant.edge_circuit import switched_loop
from solver.variant.edge_sources import CURVE, Kind
from solver.variant.figure import Reading

SWITCHING = Switching(
    input_voltage=12.0,
    edge_time=1e-9,
    output_capacitance=300e-12,
    capacitance_curve="constant",
    switch_resistance=0.8,
    capacitor_resistance=0.2,
    voltage_rating=16.0,
    frequency=400e3,
)
NETWORK = RLNetwork(
    resistors=(SeriesResistor(resistance=3e-3, turns=(1.0, 0.0)), SeriesResistor(resistance=5e-3, turns=(0.5, 1.0))),
    inductors=(SeriesInductor(inductance=1e-9, turns=(1.0, 0.0)), SeriesInductor(inductance=4e-9, turns=(0.5, 1.0))),
    cells=(
        Cell(resistance=8e-3, inductance=20e-12, turns=(0.5, 1.0)),
        Cell(resistance=1.0, inductance=1e-12, turns=(0.0, 1.0)),
    ),
    band=(1e4, 1e9),
)
EDGE = Edge(height=12.0, duration=1e-9)
LOOP = SeriesLoop(resistance=1.0, inductance=2e-9, capacitance=300e-12)
TABLE = """
title = "edge"
stackup = "4L-7628"
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
[switching]
input_voltage = "12 V"
edge_time = "1 ns"
output_capacitance = "300 pF"
switch_resistance = "8 mohm"
capacitor_resistance = "3 mohm"
"""


def test_table_becomes_si_values() -> None:
    switching = parse_scenario(TABLE).switching
    assert (switching.output_capacitance, switching.switch_resistance) == (300e-12, 8e-3)


def test_package_inductance_that_is_not_stated_is_marked_as_assumed() -> None:
    assert "package_inductance" in parse_scenario(TABLE).switching.assumed


def test_package_inductance_that_is_stated_is_not_marked() -> None:
    assert "package_inductance" not in parse_scenario(TABLE + 'package_inductance = "0.5 nH"').switching.assumed


def test_edge_from_10_to_90_percent_is_counted_in_full() -> None:
    switching = parse_scenario(TABLE + 'edge_span = "10-90 %"').switching
    assert switching.full_edge == pytest.approx(1.25e-9, rel=1e-12, abs=0)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('snubber = { resistance = "2 ohm" }', "capacitance"),
        ('edge_span = "20-80 %"', "10-90 %"),
        ('voltage_rating = "14 V"\nderating = "80 %"', r"may reach 11.2 V .* input voltage is 12 V already"),
        ('frequency = "2 GHz"', "edge takes .* whole period"),
        ('derating = "120 %"', "derating is 120 %"),
        ('tolerance = { edge_time = "100 %" }', "tolerance of edge_time is 1"),
        ('package_inductance = "-1 nH"', "package_inductance is −1 nH"),
        ('snubber = { capacitance = "0 pF" }', "snubber: capacitance is 0"),
        ('edge_tiem = "1 ns"', "did you mean 'edge_time'"),
    ],
)
def test_impossible_values_are_refused_with_their_key(line: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(TABLE + line)


def test_first_loop_of_a_network_counts_with_its_turns_squared() -> None:
    loop = series_loop(NETWORK, SWITCHING)
    assert loop.inductance == pytest.approx(0.5e-9 + 1e-9 + 1e-9, rel=1e-12, abs=0)
    assert loop.resistance == pytest.approx(1.0 + 3e-3 + 1.25e-3, rel=1e-12)


def test_series_impedance_is_that_of_the_network_and_what_is_stated() -> None:
    expected = NETWORK.impedance(2e8)[0, 0] + 1.0 + 2j * math.pi * 2e8 * 0.5e-9
    assert series_loop(NETWORK, SWITCHING).series_impedance(2e8) == pytest.approx(complex(expected), rel=1e-12)


def test_copper_alone_damps_less() -> None:
    loop = series_loop(NETWORK, SWITCHING)
    all_of_it, copper = (ring_of(edge_response(each, EDGE)) for each in (loop, copper_alone(loop, SWITCHING)))
    assert copper.quality > 10 * all_of_it.quality


def test_response_starts_at_rest() -> None:
    response = edge_response(LOOP.with_snubber(2.0, 900e-12), EDGE)
    assert response.voltage(np.zeros(1))[0] == 0
    assert response.current(np.zeros(1))[0] == 0


def test_charge_that_flows_in_is_that_of_both_capacitances() -> None:
    response = edge_response(LOOP.with_snubber(2.0, 900e-12), EDGE)
    times = np.linspace(0.0, 200e-9, 200_001)
    charge = np.trapezoid(response.current(times), times)
    assert charge == pytest.approx(12.0 * 1200e-12, rel=1e-5, abs=0)


def test_waveform_does_not_change_when_impedances_scale_together() -> None:
    scaled = SeriesLoop(resistance=50.0, inductance=100e-9, capacitance=6e-12)
    times = np.linspace(0.0, 2e-8, 50)
    np.testing.assert_allclose(edge_response(scaled, EDGE).voltage(times), edge_response(LOOP, EDGE).voltage(times))


def test_very_short_edge_is_a_step() -> None:
    step, short = (peak_of(edge_response(LOOP, replace(EDGE, duration=each))).voltage for each in (0.0, 1e-14))
    assert short == pytest.approx(step, rel=1e-6)


def test_edge_of_a_whole_period_leaves_hardly_any_ring() -> None:
    light = replace(LOOP, resistance=0.01)
    period = 1 / ring_of(edge_response(light, EDGE)).frequency
    whole, half = (peak_voltage(light, Edge(height=12.0, duration=part * period)) for part in (1.0, 0.5))
    assert whole - 12 < 0.05 * (half - 12)


def test_overdamped_loop_neither_rings_nor_overshoots() -> None:
    response = edge_response(replace(LOOP, resistance=20.0), EDGE)
    assert ring_of(response) is None
    assert peak_of(response).voltage == 12.0


def test_overdamped_loop_settles() -> None:
    response = edge_response(replace(LOOP, resistance=20.0), EDGE)
    settled = settling_time(response)
    assert response.voltage(np.array([settled]))[0] == pytest.approx(0.95 * 12, rel=1e-9)


def test_loop_without_resistance_has_no_quality_factor() -> None:
    with pytest.raises(ValueError, match="never decays"):
        ring_of(edge_response(replace(LOOP, resistance=0.0), EDGE))


def test_impossible_elements_are_refused() -> None:
    with pytest.raises(ValueError, match="series loop of"):
        replace(LOOP, inductance=0.0)


def test_peak_at_the_largest_inductance_is_the_limit() -> None:
    most = largest_inductance(1.0, 300e-12, EDGE, 16.0)
    assert peak_voltage(replace(LOOP, inductance=most), EDGE) == pytest.approx(16.0, rel=1e-7)


@pytest.mark.parametrize("limit", [12.5, 13.0, 14.0, 16.0, 20.0, 23.0])
def test_every_smaller_inductance_keeps_the_limit(limit: float) -> None:
    most = largest_inductance(0.05, 300e-12, EDGE, limit)
    smaller = [replace(LOOP, resistance=0.05, inductance=most * part) for part in np.geomspace(1e-3, 0.999, 60)]
    assert max(peak_voltage(each, EDGE) for each in smaller) <= limit


def test_a_limit_of_twice_the_input_allows_any_inductance() -> None:
    assert largest_inductance(1.0, 300e-12, EDGE, 24.0) == math.inf


def test_limit_below_the_edge_is_refused() -> None:
    with pytest.raises(ValueError, match="above the height of the edge"):
        largest_inductance(1.0, 300e-12, EDGE, 12.0)


def test_snubber_loses_the_energy_that_its_resistor_takes_in_a_cycle() -> None:
    """Power in the resistor over one edge up, integrated; the edge down loses as much."""
    loop = LOOP.with_snubber(2.6, 900e-12)
    slow = Edge(height=12.0, duration=1e-12)
    times = np.linspace(0.0, 400e-9, 400_001)
    response = edge_response(replace(loop, resistance=1e-6), slow)
    held = np.gradient(response.voltage(times), times)
    through = response.current(times) - 300e-12 * held
    energy = 2 * np.trapezoid(2.6 * through**2, times)
    both = 1200e-12 * 12.0**2  # without other resistance it takes what both capacitances lose
    assert energy == pytest.approx(both, rel=1e-3, abs=0)


def test_snubber_without_switching_frequency_has_no_loss(study: StudyResult) -> None:
    assert compared(study, replace(SWITCHING, frequency=None)).readings[0].snubbers[0].loss is None


def compared(study: StudyResult, switching: Switching):
    return compare_switching(switching, study.results, study.results[0].variant.name)


def test_variants_read_in_other_processes_read_the_same(study: StudyResult) -> None:
    apart = compare_switching(SWITCHING, study.results, study.results[0].variant.name, workers=2)
    assert [repr(each) for each in apart.readings] == [repr(each) for each in compared(study, SWITCHING).readings]


def test_variant_with_less_inductance_peaks_less_and_rings_faster(study: StudyResult) -> None:
    first, second = compared(study, SWITCHING).readings
    assert second.plain.peak.voltage < first.plain.peak.voltage
    assert second.plain.ring.frequency > first.plain.ring.frequency


def test_total_inductance_at_the_ring_is_copper_and_package(study: StudyResult) -> None:
    reading = compared(study, SWITCHING).readings[1]
    expected = study.results[1].loop.circuit.impedance(reading.plain.ring.frequency)[0, 0].imag
    assert reading.copper_inductance * 2 * math.pi * reading.plain.ring.frequency == pytest.approx(expected, rel=1e-9)
    assert reading.total_inductance == pytest.approx(reading.copper_inductance + 0.5e-9, rel=1e-12, abs=0)


def test_without_rating_there_is_no_limit(study: StudyResult) -> None:
    comparison = compared(study, replace(SWITCHING, voltage_rating=None))
    assert comparison.largest_inductance is None
    assert comparison.keeps_limit(comparison.readings[0]) is None


def test_snubber_is_proposed_and_the_smallest_that_keeps_the_limit(study: StudyResult) -> None:
    tight = replace(SWITCHING, voltage_rating=13.0)
    assert [each.purpose for each in compared(study, tight).readings[0].snubbers] == [USUAL, SMALLEST]


def test_stated_snubber_is_part_of_what_is_built(study: StudyResult) -> None:
    snubbed = replace(SWITCHING, snubber=Snubber(capacitance=900e-12, resistance=2.6))
    reading = compared(study, snubbed).readings[0]
    assert reading.built is reading.damped
    assert reading.damped.peak.voltage < reading.plain.peak.voltage
    assert reading.snubbers[0].purpose == STATED


def test_peak_with_the_stated_snubber_is_as_uncertain_as_that_of_what_is_built(study: StudyResult) -> None:
    snubbed = replace(SWITCHING, snubber=Snubber(capacitance=900e-12, resistance=2.6))
    reading = compared(study, snubbed).readings[0]
    assert reading.snubbers[0].peak == pytest.approx(reading.built.peak.voltage, rel=1e-9)
    assert reading.snubbers[0].peak_error == pytest.approx(reading.peak_error, rel=1e-9)
    assert 0 < reading.peak_error < compared(study, replace(SWITCHING, snubber=None)).readings[0].peak_error


def test_resistance_that_a_snubber_does_not_state_is_searched(study: StudyResult) -> None:
    open_one = replace(SWITCHING, snubber=Snubber(capacitance=900e-12))
    circuit = switched_loop(open_one, series_loop(study.results[0].loop.circuit, open_one))
    expected = design_snubber(circuit, 900e-12, span_of_edges(open_one)).resistance
    assert compared(study, open_one).readings[0].snubbers[0].resistance == pytest.approx(expected, rel=1e-6)


def test_peak_alone_is_that_of_the_comparison(study: StudyResult) -> None:
    reading = compared(study, SWITCHING).readings[0]
    alone = switch_figures(SWITCHING, study.results[0])
    assert alone.peak == Reading(value=reading.built.peak.voltage, uncertainty=reading.peak_error)
    assert alone.frequency == Reading(value=reading.built.ring.frequency, uncertainty=reading.frequency_error)


def test_stated_tolerances_widen_the_band(study: StudyResult) -> None:
    wide = replace(SWITCHING, tolerance=SwitchingTolerance(output_capacitance=0.2, edge_time=0.3))
    narrow, broad = (compared(study, each).readings[0] for each in (SWITCHING, wide))
    assert broad.peak_error > 1.2 * narrow.peak_error
    assert [each.source for each in broad.influences[1:]] == ["edge time", "output capacitance"]


def peak_of_edge(study: StudyResult, switching: Switching) -> float:
    return switch_figures(switching, study.results[0]).peak.value


@pytest.mark.parametrize(
    ("key", "source"),
    [
        ("edge_time", "edge time"),
        ("output_capacitance", "output capacitance"),
        ("package_inductance", "package inductance"),
    ],
)
def test_influence_is_the_larger_change_of_both_ends(study: StudyResult, key: str, source: str) -> None:
    wide = replace(SWITCHING, tolerance=SwitchingTolerance(**{key: 0.25}))
    peaks = [
        peak_of_edge(study, replace(SWITCHING, **{key: getattr(SWITCHING, key) * part})) for part in (0.75, 1.0, 1.25)
    ]
    influence = next(each for each in compared(study, wide).readings[0].influences if each.source == source)
    assert influence.peak == pytest.approx(max(abs(peaks[0] - peaks[1]), abs(peaks[2] - peaks[1])), rel=1e-9)


def test_ring_frequency_follows_the_root_of_a_capacitance_tolerance(study: StudyResult) -> None:
    wide = replace(SWITCHING, tolerance=SwitchingTolerance(output_capacitance=0.02), switch_resistance=0.01)
    reading = compared(study, wide).readings[0]
    influence = next(each for each in reading.influences if each.source == "output capacitance")
    assert influence.frequency / reading.plain.ring.frequency == pytest.approx(0.01, rel=0.05)


def test_sentence_names_the_limit_and_who_keeps_it(study: StudyResult) -> None:
    sentence = compared(study, SWITCHING).sentence
    assert "No variant keeps the limit of 16 V, which asks for 0.91 ± 0.10 nH" in sentence


def test_edge_span_knows_its_part() -> None:
    assert (EdgeSpan.FULL.part, EdgeSpan.INNER.part) == (1.0, 0.8)


def test_ring_above_the_solved_band_is_cautioned(study: StudyResult) -> None:
    """The hand-made loops are solved up to 1 GHz: a switch of 5 pF rings above it."""
    fast = replace(SWITCHING, output_capacitance=5e-12, switch_resistance=3.0)
    warnings = switching_warnings(study.with_outcome(compared(study, fast)))
    assert [each.code for each in warnings] == ["W-RING-BAND"]


def test_ring_within_the_band_is_not_cautioned(study: StudyResult) -> None:
    assert switching_warnings(study.with_outcome(compared(study, SWITCHING))) == ()


def test_waveform_figure_shows_every_variant_and_the_limit(study: StudyResult) -> None:
    waves, peaks = waveform_figure(compared(study, SWITCHING)).axes
    assert [text.get_text() for text in waves.texts] == ["limit 16 V"]
    assert len(peaks.get_yticklabels()) == 2


def test_document_holds_waveform_and_limit(study: StudyResult) -> None:
    document = plain(compared(study, SWITCHING))
    assert document["switching"]["voltage_rating"] == SWITCHING.voltage_rating
    assert len(document["readings"][0]["plain"]["voltage"]) > 1000
    assert json.loads(json.dumps(document))["switching"]["assumed"] == []


def test_columns_of_the_limit_are_left_out_without_one(study: StudyResult) -> None:
    with_limit, without = (compared(study, each) for each in (SWITCHING, replace(SWITCHING, voltage_rating=None)))
    assert len(headings(with_limit)) - len(headings(without)) == 2
    for comparison in (with_limit, without):
        assert len(reading_cells(comparison, comparison.readings[0])) == len(headings(comparison))


def test_typical_values_are_marked_where_inputs_are_listed() -> None:
    rows = dict(input_rows(parse_scenario(TABLE).switching))
    assert "typical (common practice)" in rows["inductance beside the copper: packages, capacitor"]
    assert "typical spread (common practice)" in rows["edge, 0 to 100 %, straight"]
    assert "2.4 to 5.6 times as much at 0 V (common practice)" in rows["its curve"]


RINGING = Switching(
    input_voltage=12.0,
    edge_time=1e-9,
    output_capacitance=300e-12,
    ringing=Ringing(quality=8.0, least=8.0, most=8.0, source="test"),
    absolute_maximum=VoltageLimit(level=16.0),
)


def test_ring_has_the_stated_quality(study: StudyResult) -> None:
    qualities = [each.plain.ring.quality for each in compared(study, RINGING).readings]
    assert qualities == pytest.approx([8.0, 8.0], rel=2e-3)


def test_copper_alone_damps_less_than_the_stated_quality(study: StudyResult) -> None:
    reading = compared(study, RINGING).readings[0]
    assert reading.quality_of_copper > 10 * reading.plain.ring.quality


def test_one_value_alone_peaks_higher_than_a_constant_of_the_same_value(study: StudyResult) -> None:
    constant, typical = (
        compared(study, each).readings[0] for each in (SWITCHING, replace(SWITCHING, capacitance_curve=None))
    )
    assert typical.built.peak.voltage > constant.built.peak.voltage


def test_typical_curves_are_in_the_peaks_uncertainty(study: StudyResult) -> None:
    readings = compared(study, replace(SWITCHING, capacitance_curve=None)).readings
    assert all(CURVE in [part.source for part in each.influences] for each in readings)


def test_points_of_a_curve_take_its_span_away(study: StudyResult) -> None:
    points = CapacitanceCurve(points=((0.0, 1.1e-9), (12.0, 300e-12)))
    reading = compared(study, replace(SWITCHING, output_capacitance=None, capacitance_curve=points)).readings[0]
    assert CURVE not in [part.source for part in reading.influences]


def test_recovered_charge_raises_the_peak(study: StudyResult) -> None:
    recovered = replace(SWITCHING, recovery=RecoveredCharge(charge=1e-9))
    assert peak_of_edge(study, recovered) > peak_of_edge(study, SWITCHING)


def test_resistance_of_a_channel_called_damping_is_questioned(study: StudyResult) -> None:
    bare = replace(SWITCHING, switch_resistance=0.015, capacitor_resistance=0.0)
    warnings = switching_warnings(study.with_outcome(compared(study, bare)))
    assert [each.code for each in warnings] == ["W-DAMPING"]


def test_sentence_names_the_number_that_would_narrow_the_peak_most(study: StudyResult) -> None:
    sentence = compared(study, replace(RINGING, tolerance=SwitchingTolerance(edge_time=0.01))).sentence
    assert "the switch's output capacitance near 0 V" in sentence


def test_second_level_for_a_short_time_decides_by_the_time_above_the_first(study: StudyResult) -> None:
    peak = compared(study, RINGING).readings[0].built.peak.voltage
    short, long = (
        replace(RINGING, absolute_maximum=VoltageLimit(level=peak - 2.0, pulse=Pulse(level=peak + 1.0, time=time)))
        for time in (1e-12, 1e-6)
    )
    kept = [compared(study, each) for each in (short, long)]
    assert [each.keeps_limit(each.readings[0]) for each in kept] == [False, True]


def test_estimated_edge_counts_with_its_band(study: StudyResult) -> None:
    gate = GateCurrent(current=2.0, gate_drain_charge=2e-9)
    estimated = compared(study, replace(SWITCHING, edge_time=None, gate=gate)).readings[0]
    stated = compared(study, SWITCHING).readings[0]
    assert estimated.plain.peak.voltage == pytest.approx(stated.plain.peak.voltage, rel=1e-9)
    assert estimated.influences[1].peak > stated.influences[1].peak


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("ringing = { quality_factor = 0.4 }", "nothing rings"),
        ('ringing = { switch = "silikon" }', "did you mean 'silicon'"),
        ("ringing = { cycles_to_half = 4 }", "give ringing alone"),
        ('recovery = { charge = "0 nC" }', 'write "none"'),
        ('gate = { current = "1 A", gate_drain_charge = "2 nC" }', "either edge_time"),
        ('absolute_maximum = "16 V, 15 V for 3 ns"', "the higher of the two"),
        ('absolute_maximum = "16 V"\nvoltage_rating = "20 V"', "give one of them"),
    ],
)
def test_impossible_inputs_of_the_edge_are_refused(text: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(TABLE + text)


@pytest.mark.parametrize(
    ("curve", "message"),
    [
        ('{ points = [["12 V", "300 pF"], ["0 V", "1 nF"]] }', "order of rising voltage"),
        ('{ points = [["0 V", "1 nF"], ["12 V", "-3 pF"]] }', "must be above zero"),
        ('{ C0 = "1 nF", m = 0.5 }', "Vj missing"),
        ('{ constand = "1 nF" }', "did you mean 'constant'"),
        ('{ file = "none.csv" }', "none.csv"),
    ],
)
def test_curve_that_cannot_be_meant_is_refused(curve: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(TABLE.replace('"300 pF"', curve))


def test_curve_of_a_file_is_read_when_the_scenario_is_built(tmp_path: Path) -> None:
    (tmp_path / "switch.csv").write_text("voltage,capacitance\n0 V,1.1 nF\n12 V,300 pF\n", encoding="utf-8")
    file = tmp_path / "board.toml"
    file.write_text(TABLE.replace('"300 pF"', '{ file = "switch.csv" }'), encoding="utf-8")
    assert read_scenario(file).switching.capacitance_at_input == pytest.approx(300e-12)


GATE = GateResistor(drive_voltage=5.0, plateau_voltage=2.0, resistance=2.0, gate_drain_charge=2e-9)
GATED = replace(SWITCHING, edge_time=None, gate=GATE)


def test_moved_charge_is_the_switchs_own_where_it_is_not_stated() -> None:
    own = GATED.capacitance.charge(GATED.input_voltage)
    assert GATED.full_edge == pytest.approx(replace(GATED, gate=replace(GATE, moved_charge=own)).full_edge)
    assert GATED.full_edge > replace(GATED, gate=replace(GATE, moved_charge=0.0)).full_edge


def test_common_source_inductance_is_one_more_sensitivity(study: StudyResult) -> None:
    reading = compared(study, GATED).readings[0]
    influence = next(each for each in reading.influences if each.source == "common-source inductance")
    nominal, slow = (
        compared(study, replace(GATED, gate=replace(GATE, common_source_inductance=each))).readings[0]
        for each in (0.1e-9, 0.3e-9)
    )
    assert influence.peak == pytest.approx(nominal.plain.peak.voltage - slow.plain.peak.voltage, rel=1e-6)
    (row,) = [value for name, value in input_rows(GATED) if name == "common-source inductance"]
    assert row.startswith("0.1 nH (0 to 0.3 nH), typical")
    assert "makes the edge" in row


def test_a_stated_edge_has_no_line_of_common_source_inductance(study: StudyResult) -> None:
    assert "common-source inductance" not in dict(input_rows(SWITCHING))
    assert "common-source inductance" not in [each.source for each in compared(study, SWITCHING).readings[0].influences]


def test_gate_and_a_curve_in_a_file_need_the_moved_charge() -> None:
    with pytest.raises(ScenarioError, match="gate needs moved_charge"):
        replace(GATED, output_capacitance=None, capacitance_curve=CurveFile(name="switch.csv"), frequency=1e6)


def test_every_part_of_a_peaks_uncertainty_has_its_kind(study: StudyResult) -> None:
    told = replace(SWITCHING, tolerance=SwitchingTolerance(edge_time=0.2), assumed=("package_inductance",))
    kinds = {each.source: each.kind for each in compared(study, told).readings[0].influences}
    assert kinds["mesh error of the loop inductance"] is Kind.MESH
    assert kinds["edge time"] is Kind.TOLERANCE
    assert kinds["package inductance"] is Kind.INPUT


def test_uncertainty_of_the_largest_inductance_is_that_of_its_parts() -> None:
    """With the edge alone uncertain, it is the larger change at both ends of the edge."""
    exact = replace(SWITCHING, capacitance_curve="constant", voltage_rating=20.0)
    most = largest_inductance_of(exact)
    ends = [largest_inductance(1.0, 300e-12, Edge(height=12.0, duration=each * 1e-9), 20.0) for each in (0.8, 1.2)]
    assert most.uncertainty == pytest.approx(max(abs(end - most.value) for end in ends), rel=1e-3)


def test_uncertainty_of_the_edge_needed_brings_the_peak_to_the_limit(study: StudyResult) -> None:
    told = replace(SWITCHING, tolerance=SwitchingTolerance(output_capacitance=0.1), voltage_rating=18.0)
    reading = compared(study, told).readings[0]
    assert 0 < reading.edge_needed.uncertainty < reading.edge_needed.value
