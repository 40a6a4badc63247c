"""The bench: files, the pair of ring frequencies, what is not explained, and the command."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from geometries.errors import ScenarioError
from geometries.files.measurement_scenario import read_measurement_scenario
from geometries.files.reading import read_scenario
from geometries.operation.emission import Emission, Site
from geometries.operation.measured import read_impedance, read_spectrum
from geometries.operation.measurements import MeasuredImpedance, MeasuredSpectrum, Measurement
from geometries.operation.published_limits import published_limit
from geometries.operation.recovery import NO_RECOVERY
from geometries.operation.ring_measurement import LoadedRing, RingMeasurement
from geometries.operation.spans import exactly
from geometries.operation.switching import Switching, SwitchingTolerance
from geometries.study.scenario import only_variant
from solver.circuit.edge_response import Edge
from solver.circuit.series_loop import SeriesLoop
from solver.cli import EXIT_INPUT, app
from solver.emission.comparison import compare_emission
from solver.errors import SolutionError
from solver.measurement.as_measured import as_measured
from solver.measurement.comparison import compare_measurement
from solver.measurement.ring_reading import read_ring
from solver.report.measurement_part import comparison_rows, measurement_tables, part_rows
from solver.report.plain import plain
from solver.study.results import StudyResult
from solver.switching.limits import peak_voltage

PAIR = RingMeasurement(
    frequency=205e6,
    loaded=(LoadedRing(capacitance=900e-12, frequency=103e6),),
    added_inductance=exactly(0.0),
    tap_inductance=exactly(0.0),
    probe_capacitance=exactly(0.0),
    swing=exactly(0.0),
)
OPTIONS = {"ring_frequency": "205 MHz", "loaded_ring_frequency": "103 MHz", "added_capacitance": "900 pF"}
TYPICAL = RingMeasurement(frequency=205e6, loaded=(LoadedRing(capacitance=900e-12, frequency=103e6),))
SWITCHING = Switching(
    input_voltage=12.0,
    edge_time=1e-9,
    output_capacitance=280e-12,
    switch_resistance=1.0,
    capacitor_resistance=0.0,
    frequency=400e3,
    assumed=("package_inductance",),
)
EMISSION = Emission(
    current=4.0,
    frequency=1.2e6,
    duty=0.21,
    rise_time=2e-9,
    fall_time=2e-9,
    distance=3.0,
    site=Site.FREE_SPACE,
    limits=(published_limit("CISPR 32 class B", 3.0),),
)
BOARD = """
title = "one board"
stackup = "2L-1.6"
loop = { kind = "next-layer", width = "2 mm", return_width = "10 mm", length = "6 mm" }
analysis = { frequencies = ["10 MHz"], report_frequency = "100 MHz", tolerance = "1 %", axisymmetric_view = false }
variant = [{ name = "thick" }, { name = "thin", stackup = "2L-0.8" }]
"""


def read(study: StudyResult, switching: Switching | None = SWITCHING, **measured: object):
    measurement = Measurement(variant=study.results[1].variant.name, **measured)
    return compare_measurement(measurement, study.results[1], switching, None)


def touchstone(path: Path, text: str) -> Path:
    path.write_text(text)
    return path


def test_impedance_parameters_are_read_with_the_normalisation_of_version_1(tmp_path: Path) -> None:
    found = read_impedance(touchstone(tmp_path / "z.s1p", "# MHZ Z RI R 50\n1 0.01 0.02\n2 0.01 0.03\n"))
    assert found.frequencies == (1e6, 2e6)
    assert found.impedances == pytest.approx((0.5 + 1j, 0.5 + 1.5j), rel=1e-9)


def test_scattering_parameters_by_magnitude_and_angle_become_an_impedance(tmp_path: Path) -> None:
    found = read_impedance(touchstone(tmp_path / "s.s1p", "! remark\n# HZ S MA R 50\n1e6 1 179\n"))
    assert found.impedances[0] == pytest.approx(50j * math.tan(math.radians(0.5)), rel=1e-6)


def test_our_own_touchstone_file_is_read_back(study: StudyResult, tmp_path: Path) -> None:
    from solver.report.touchstone import touchstone as written

    circuit = study.results[1].loop.circuit
    path = touchstone(tmp_path / "own.s1p", written(circuit, study.results[1].variant, ()))
    found = read_impedance(path)
    expected = [complex(circuit.impedance(each)[0, 0]) for each in found.frequencies]
    assert found.impedances == pytest.approx(expected, rel=1e-9, abs=0)


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        ("a.s1p", "", "holds no line of values"),
        ("b.s1p", "# HZ S RI R 50\nhello world foo\n", "cannot be read as a Touchstone file"),
        ("c.s1p", "# HZ S RI R 50\n1e6 0.1\n2e6 0.1 0.2\n", "cannot be read as a Touchstone file"),
        ("d.s2p", "# HZ S RI R 50\n1e6 0 0 0 0 0 0 0 0\n", "has 2 ports"),
        ("e.s1p", "# HZ S RI R 50\n1e6 nan 0.2\n", "cannot be read|no numbers"),
        ("f.txt", "# HZ S RI R 50\n1e6 0.1 0.2\n", "cannot be read as a Touchstone file"),
    ],
)
def test_a_file_that_holds_no_impedance_is_refused(tmp_path: Path, name: str, text: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        read_impedance(touchstone(tmp_path / name, text))


def test_frequencies_that_fall_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="rise from line to line"):
        read_impedance(touchstone(tmp_path / "a.s1p", "# HZ S RI R 50\n2e6 0.1 0.2\n1e6 0.1 0.1\n"))


def test_a_missing_touchstone_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="no such Touchstone file"):
        read_impedance(tmp_path / "none.s1p")


def test_spectrum_is_read_in_ascending_order(tmp_path: Path) -> None:
    found = read_spectrum(touchstone(tmp_path / "s.csv", "frequency,level\n# peak\n200 MHz,31\n120 MHz,34.5\n"))
    assert (found.frequencies, found.levels) == ((120e6, 200e6), (34.5, 31.0))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no levels in it"),
        ("f,level\n1 MHz,3\n", "headings must be frequency, level"),
        ("frequency,level\n1,3\n", "line 2: .*unit"),
        ("frequency,level\n1 MHz,high\n", 'line 2: level is "high"'),
        ("frequency,level\n1 MHz\n", "line 2: 1 entries under 2 headings"),
        ("frequency,level\n0 MHz,3\n", "line 2: .*no level at a frequency above zero"),
    ],
)
def test_a_file_that_holds_no_spectrum_is_refused(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        read_spectrum(touchstone(tmp_path / "s.csv", text))


def test_a_bench_without_measurement_is_refused() -> None:
    with pytest.raises(ScenarioError, match="nothing was measured"):
        Measurement(variant="a")


def test_pair_gives_the_loop_of_the_acceptance_scenario(study: StudyResult) -> None:
    pair = read(study, ring=PAIR).pair
    assert pair.capacitance == pytest.approx(300e-12, rel=0.02, abs=0)
    assert pair.inductance == pytest.approx(2.0e-9, rel=0.02, abs=0)


def test_snubbers_of_the_acceptance_scenario(study: StudyResult) -> None:
    pair = read(study, ring=PAIR).pair
    smallest = pair.as_measured.edge.snubbers[0]
    assert pair.usual_resistance == pytest.approx(2.6, rel=0.02)
    assert smallest.capacitance == pytest.approx(3 * pair.capacitance)
    assert smallest.loss == pytest.approx(52e-3, rel=0.02)


def test_parts_add_up_to_what_was_measured(study: StudyResult) -> None:
    pair = read(study, ring=PAIR).pair
    assert sum(part.value for part in pair.parts) == pytest.approx(pair.inductance, rel=1e-12, abs=0)


def test_what_is_not_explained_is_a_line_of_its_own(study: StudyResult) -> None:
    names = [part.name for part in read(study, ring=PAIR).pair.parts]
    assert names == ["copper, predicted", "package and capacitor, typical", "not explained"]


def test_without_switching_table_the_package_is_part_of_the_rest(study: StudyResult) -> None:
    alone, stated = read(study, None, ring=PAIR).pair, read(study, ring=PAIR).pair
    assert [part.name for part in alone.parts] == ["copper, predicted", "not explained"]
    assert alone.unexplained.value - stated.unexplained.value == pytest.approx(0.5e-9, rel=1e-9, abs=0)
    assert alone.as_measured is None


def test_copper_is_taken_at_the_ring_frequency(study: StudyResult) -> None:
    copper = read(study, ring=PAIR).pair.parts[0].value
    expected = study.results[1].loop.circuit.impedance(205e6)[0, 0].imag / (2 * math.pi * 205e6)
    assert copper == pytest.approx(expected, rel=1e-12, abs=0)


def test_uncertainty_is_that_of_drawn_measurements(study: StudyResult) -> None:
    """Frequencies and added capacitance drawn evenly within their spans; 2.25 standard deviations are stated."""
    draw = np.random.default_rng(5)
    f0, f1 = (each * (1 + 0.01 * draw.uniform(-1, 1, 200_000)) for each in (205e6, 103e6))
    added = 900e-12 * (1 + 0.05 * draw.uniform(-1, 1, 200_000))
    capacitance = added / ((f0 / f1) ** 2 - 1)
    inductance = 1 / ((2 * np.pi * f0) ** 2 * capacitance)
    pair = read(study, ring=PAIR).pair
    for interval, drawn in ((pair.ring.capacitance, capacitance), (pair.ring.inductance, inductance)):
        assert (interval.most - interval.least) / 2 == pytest.approx(2.25 * drawn.std(), rel=0.02, abs=0)


def test_uncertainty_of_frequencies_alone_is_that_of_drawn_measurements(study: StudyResult) -> None:
    draw = np.random.default_rng(6)
    f0, f1 = (each * (1 + 0.002 * draw.uniform(-1, 1, 200_000)) for each in (205e6, 165e6))
    inductance = ((f0 / f1) ** 2 - 1) / ((2 * np.pi * f0) ** 2 * 900e-12)
    loaded = (LoadedRing(capacitance=900e-12, frequency=165e6),)
    exact = replace(PAIR, loaded=loaded, frequency_error=0.002, capacitance_error=0.0)
    assert read(study, ring=exact).pair.inductance_error == pytest.approx(2.25 * inductance.std(), rel=0.03, abs=0)


def test_tolerance_of_the_package_is_part_of_the_rest(study: StudyResult) -> None:
    wide = replace(SWITCHING, tolerance=SwitchingTolerance(package_inductance=0.3))
    exact = replace(SWITCHING, assumed=())
    narrow, broad = (read(study, each, ring=PAIR).pair.unexplained.error for each in (exact, wide))
    assert broad == pytest.approx(math.hypot(narrow, 0.15e-9), rel=1e-9, abs=0)


def test_probe_is_taken_off_the_capacitance_and_leaves_the_inductance(study: StudyResult) -> None:
    bare = read(study, ring=PAIR).pair
    probed = read(study, ring=replace(PAIR, probe_capacitance=exactly(10e-12))).pair
    assert bare.capacitance - probed.capacitance == pytest.approx(10e-12, rel=1e-9, abs=0)
    assert probed.inductance == pytest.approx(bare.inductance, rel=1e-9)


def test_a_probe_with_more_than_the_whole_capacitance_is_an_error(study: StudyResult) -> None:
    with pytest.raises(SolutionError, match="no loop has these ring frequencies"):
        read(study, ring=replace(PAIR, probe_capacitance=exactly(400e-12)))


def test_package_that_is_not_stated_explains_what_its_typical_span_holds(study: StudyResult) -> None:
    assert "The model explains it" in read(study, ring=PAIR).sentence


def test_stated_package_leaves_what_it_does_not_explain(study: StudyResult) -> None:
    sentence = read(study, replace(SWITCHING, assumed=()), ring=PAIR).sentence
    assert "nH are not explained by the model" in sentence


def test_typical_spans_of_capacitor_and_tap_widen_what_is_measured(study: StudyResult) -> None:
    narrow, broad = (read(study, ring=each).pair.inductance_error for each in (PAIR, TYPICAL))
    assert broad > 1.5 * narrow


def test_sentence_opens_with_measured_against_predicted(study: StudyResult) -> None:
    assert read(study, ring=PAIR).sentence.startswith("Measured: 1.98 ± 0.16 nH and 304 ± 26 pF; predicted: 1.59 nH.")


def test_loop_as_measured_peaks_like_a_loop_of_these_elements(study: StudyResult) -> None:
    constant = replace(SWITCHING, capacitance_curve="constant", recovery=NO_RECOVERY)
    damped = replace(PAIR, quality=exactly(4.0))
    pair = read(study, constant, ring=damped).pair
    loop = SeriesLoop(
        resistance=math.sqrt(pair.inductance / pair.capacitance) / 4.0,
        inductance=pair.inductance,
        capacitance=pair.capacitance,
    )
    assert pair.as_measured.peak == pytest.approx(peak_voltage(loop, Edge(height=12.0, duration=1e-9)), rel=1e-6)


def test_what_to_do_names_the_inductance_that_the_limit_asks_for(study: StudyResult) -> None:
    tight = replace(SWITCHING, voltage_rating=14.0)
    result = read(study, tight, ring=PAIR)
    loop = result.pair.as_measured
    assert f"The limit asks for {loop.largest_inductance.value * 1e9:.2f}" in result.sentence
    assert loop.too_much == pytest.approx(loop.inductance - loop.largest_inductance.value)


def test_variant_that_takes_away_enough_is_named(study: StudyResult) -> None:
    """The first variant of the hand-made study has more inductance than the second."""
    reading = read_ring(PAIR)
    first, second = study.results
    loose = replace(SWITCHING, voltage_rating=20.0)
    most = as_measured(loose, reading, first, (second,)).largest_inductance
    assert most is not None
    small = replace(reading, inductance=replace(reading.inductance, value=most.value + 0.1e-9))
    assert as_measured(loose, small, first, study.results).enough == (second.variant.name,)


def test_measured_peak_is_shown_with_what_the_probe_leaves_out(study: StudyResult) -> None:
    reading = read(study, ring=replace(PAIR, peak=18.0, probe_bandwidth=exactly(300e6))).pair
    assert reading.ring.peak.value > 18.0
    assert "peak at the switch, from the screen" in [name for name, *_ in comparison_rows(reading)]


def test_sentence_says_when_the_model_explains_it(study: StudyResult) -> None:
    """A ring of what the model says: copper and package, with 300 pF."""
    total = 1.075e-9 + 0.5e-9
    f0, f1 = (1 / (2 * math.pi * math.sqrt(total * c)) for c in (300e-12, 1200e-12))
    ring = replace(PAIR, frequency=f0, loaded=(LoadedRing(capacitance=900e-12, frequency=f1),))
    sentence = read(study, ring=ring).sentence
    assert "The model explains it" in sentence


def test_measured_impedance_is_set_beside_the_copper(study: StudyResult) -> None:
    frequencies = (1e7, 1.1e8, 2e8)
    measured = tuple(0.02 + 2j * math.pi * each * 1.9e-9 for each in frequencies)
    impedance = read(
        study, impedance=MeasuredImpedance(name="x.s1p", frequencies=frequencies, impedances=measured)
    ).impedance
    assert impedance.compared_at == 1.1e8
    assert impedance.measured_inductances == pytest.approx(np.full(3, 1.9e-9), rel=1e-9, abs=0)
    assert impedance.parts[-1].value == pytest.approx(1.9e-9 - impedance.predicted_inductances[1] - 0.5e-9, rel=1e-9)


def test_measured_spectrum_is_set_beside_the_bound(study: StudyResult) -> None:
    emission = compare_emission(EMISSION, study.results, study.results[0].variant.name)
    prediction = emission.predictions[1]
    places = prediction.frequencies[[10, 60]]
    levels = prediction.bound[[10, 60]] + np.array([3.0, -4.0])
    spectrum = MeasuredSpectrum(name="x.csv", frequencies=(1e3, *places.tolist()), levels=(99.0, *levels.tolist()))
    result = compare_measurement(
        Measurement(variant=prediction.name, spectrum=spectrum), study.results[1], SWITCHING, prediction
    )
    assert result.spectrum.largest_excess == pytest.approx((places[0], 3.0), rel=1e-6)
    assert "3 dB above it; what lies above it comes from elsewhere" in result.sentence


def test_a_spectrum_outside_the_prediction_is_refused(study: StudyResult) -> None:
    prediction = compare_emission(EMISSION, study.results, study.results[0].variant.name).predictions[1]
    spectrum = MeasuredSpectrum(name="x.csv", frequencies=(1e3,), levels=(40.0,))
    with pytest.raises(ScenarioError, match=r"x.csv: no measured frequency lies between"):
        compare_measurement(Measurement(variant="a", spectrum=spectrum), study.results[1], None, prediction)


def test_rows_and_document_hold_the_rest(study: StudyResult) -> None:
    measurement = read(study, ring=PAIR)
    assert "not explained" in dict(part_rows(measurement.pair.parts))
    assert plain(measurement)["pair"]["parts"][-1]["name"] == "not explained"
    assert [table.title for table in measurement_tables(measurement)] == [
        "measured against predicted",
        "snubbers for the loop as measured",
        "the measured inductance by its parts",
        "what the interval of the inductance is made of",
    ]


def test_without_an_edge_a_snubber_has_the_impedance_of_the_loop(study: StudyResult) -> None:
    tables = measurement_tables(read(study, None, ring=PAIR))
    assert tables[1].title == "a snubber for the loop as measured, of 3 to 4 times its capacitance"


def as_measured_of(study: StudyResult, ring: RingMeasurement, *tables: object):
    """With all analyses that the tables ask for."""
    scenario = study.scenario.asking(SWITCHING, *tables)
    result = study.results[1]
    return as_measured(SWITCHING, read_ring(ring), result, (), scenario)


def test_loop_as_measured_drives_peak_ring_and_emission(study: StudyResult) -> None:
    emission = replace(EMISSION, switching=SWITCHING, upright_height=0.2e-3, upright_length=1.6e-3)
    slow = replace(PAIR, frequency=150e6, loaded=(LoadedRing(capacitance=900e-12, frequency=80e6),))
    found = {each.key: each for each in as_measured_of(study, slow, emission).consequences}
    assert set(found) == {"peak_voltage", "overshoot", "ring_frequency", "emission_margin"}
    for each in found.values():
        assert each.measured.value != pytest.approx(each.predicted.value, rel=1e-3)


def test_peak_of_the_consequences_is_that_of_the_edge(study: StudyResult) -> None:
    loop = as_measured_of(study, PAIR)
    peak = next(each for each in loop.consequences if each.key == "peak_voltage").measured
    assert (peak.value, peak.uncertainty) == pytest.approx((loop.peak, loop.peak_error), rel=1e-9)


def test_measured_values_are_parts_of_the_peaks_uncertainty(study: StudyResult) -> None:
    names = [each.source for each in as_measured_of(study, TYPICAL).influences]
    assert {"measured inductance", "output capacitance", "edge time"} <= set(names)


def test_measured_ring_frequency_comes_back_from_the_loop_as_measured(study: StudyResult) -> None:
    constant = replace(SWITCHING, capacitance_curve="constant")
    damped = replace(PAIR, quality=exactly(20.0))
    ring = as_measured(constant, read_ring(damped), study.results[1], ()).edge.plain.ring
    assert ring.frequency == pytest.approx(205e6, rel=2e-3)


def scenario_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "board.toml"
    path.write_text(text)
    return path


def test_options_make_a_bench(tmp_path: Path) -> None:
    scenario = read_measurement_scenario(scenario_file(tmp_path, BOARD), {**OPTIONS, "variant": "thin"})
    assert scenario.measurement.ring == TYPICAL
    assert [each.name for each in scenario.variants] == ["thin"]


def test_options_win_over_the_table(tmp_path: Path) -> None:
    table = (
        '[measurement]\nring_frequency = "200 MHz"\nloaded_ring_frequency = "103 MHz"\nadded_capacitance = "900 pF"\n'
    )
    scenario = read_measurement_scenario(scenario_file(tmp_path, BOARD + table), {"ring_frequency": "205 MHz"})
    assert scenario.measurement.ring == TYPICAL
    assert scenario.measurement.variant == "thick"


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ('[measurement]\nadded_capacitance = "200 pF"\n', "ring_frequency is missing"),
        (
            '[measurement]\nring_frequency = "200 MHz"\nadded_capacitance = "200 pF"\n',
            "loaded_ring_frequency is missing",
        ),
        (
            '[measurement]\nring_frequency = "200 MHz"\ncycles_to_half = 4\nquality_factor = 9\n',
            "say the same",
        ),
        ('[measurement]\nimpedance = "none.s1p"\n', "no such Touchstone file"),
        ('[measurement]\nspectrum = "x.csv"\n', r"no \[emission\] table"),
        ('[measurement]\nvariant = "other"\nimpedance = "x.s1p"\n', "'other' is not one of the variants"),
        ("[measurement]\n", "nothing was measured"),
    ],
)
def test_an_impossible_bench_is_refused(tmp_path: Path, table: str, message: str) -> None:
    (tmp_path / "x.s1p").write_text("# HZ S RI R 50\n1e6 -0.9 0.2\n")
    with pytest.raises(ScenarioError, match=message):
        read_scenario(scenario_file(tmp_path, BOARD + table))


def test_table_holds_every_reading_of_a_bench(tmp_path: Path) -> None:
    table = """
[measurement]
ring_frequency = "205 MHz"
loaded_ring_frequency = "150 MHz"
added_capacitance = "270 pF"
second_loaded_ring_frequency = "103 MHz"
second_added_capacitance = "900 pF"
added_inductance = "0.5 nH"
probe_bandwidth = "500 MHz"
cycles_to_half = 3
peak = "18 V"
"""
    ring = read_scenario(scenario_file(tmp_path, BOARD + table)).measurement.ring
    assert [each.capacitance for each in ring.loaded] == pytest.approx([270e-12, 900e-12])
    assert (ring.added_inductance.least, ring.added_inductance.most) == pytest.approx((0.4e-9, 0.6e-9))
    assert ring.quality.value == pytest.approx(13.6, abs=0.05)
    assert ring.peak == 18.0


def test_a_scenario_reduced_to_another_variant_has_no_bench(tmp_path: Path) -> None:
    table = '[measurement]\nvariant = "thin"\nimpedance = "x.s1p"\n'
    (tmp_path / "x.s1p").write_text("# HZ S RI R 50\n1e6 -0.9 0.2\n")
    scenario = read_scenario(scenario_file(tmp_path, BOARD + table))
    assert only_variant(scenario, "thick").measurement is None
    assert only_variant(scenario, "thin").measurement is not None


def test_command_prints_what_is_not_explained(tmp_path: Path) -> None:
    path = str(scenario_file(tmp_path, BOARD))
    words = ["measurement", path, "--ring", "205 MHz", "--loaded-ring", "103 MHz", "--added", "900 pF", "--json"]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0
    assert json.loads(done.stdout)["details"]["measurement"]["pair"]["parts"][-1]["name"] == "not explained"


def test_command_without_measurement_says_how_to_give_one(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["measurement", str(scenario_file(tmp_path, BOARD))])
    assert done.exit_code == EXIT_INPUT
    assert "nothing was measured; add a [measurement] table" in done.stderr
