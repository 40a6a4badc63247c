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
from geometries.operation.measurements import MeasuredImpedance, MeasuredSpectrum, Measurement, RingPair
from geometries.operation.published_limits import published_limit
from geometries.operation.switching import Switching, SwitchingTolerance
from geometries.study.scenario import only_variant
from solver.cli import EXIT_INPUT, app
from solver.emission.comparison import compare_emission
from solver.measurement.comparison import compare_measurement
from solver.report.measurement_part import measurement_tables, pair_rows, proposal_row
from solver.report.plain import plain
from solver.study.results import StudyResult

PAIR = RingPair(frequency=205e6, loaded_frequency=103e6, added_capacitance=900e-12)
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


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"loaded_frequency": 210e6}, "added capacitance lowers it"),
        ({"added_capacitance": 0.0}, "added_capacitance is 0"),
        ({"probe_capacitance": -1e-12}, "must be zero or above"),
        ({"frequency_error": 0.6}, "between 0 and 50 %"),
    ],
)
def test_an_impossible_pair_is_refused(changed: dict[str, float], message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        replace(PAIR, **changed)


def test_a_bench_without_measurement_is_refused() -> None:
    with pytest.raises(ScenarioError, match="nothing was measured"):
        Measurement(variant="a")


def test_pair_gives_the_loop_of_the_acceptance_scenario(study: StudyResult) -> None:
    pair = read(study, pair=PAIR).pair
    assert pair.capacitance == pytest.approx(300e-12, rel=0.02, abs=0)
    assert pair.inductance == pytest.approx(2.0e-9, rel=0.02, abs=0)


def test_snubbers_of_the_acceptance_scenario(study: StudyResult) -> None:
    small, large = read(study, pair=PAIR).pair.proposals
    assert (small.capacitance, large.capacitance) == pytest.approx((0.9e-9, 1.2e-9), rel=0.02, abs=0)
    assert small.resistance == pytest.approx(2.6, rel=0.02)
    assert (small.loss, large.loss) == pytest.approx((52e-3, 69e-3), rel=0.02)


def test_parts_add_up_to_what_was_measured(study: StudyResult) -> None:
    pair = read(study, pair=PAIR).pair
    assert sum(part.value for part in pair.parts) == pytest.approx(pair.inductance, rel=1e-12, abs=0)


def test_what_is_not_explained_is_a_line_of_its_own(study: StudyResult) -> None:
    names = [part.name for part in read(study, pair=PAIR).pair.parts]
    assert names == ["copper, predicted", "package and capacitor, typical", "not explained"]


def test_without_switching_table_the_package_is_part_of_the_rest(study: StudyResult) -> None:
    alone, stated = read(study, None, pair=PAIR).pair, read(study, pair=PAIR).pair
    assert [part.name for part in alone.parts] == ["copper, predicted", "not explained"]
    assert alone.unexplained.value - stated.unexplained.value == pytest.approx(0.5e-9, rel=1e-9, abs=0)
    assert alone.proposals[0].loss is None


def test_copper_is_taken_at_the_ring_frequency(study: StudyResult) -> None:
    copper = read(study, pair=PAIR).pair.parts[0].value
    expected = study.results[1].loop.circuit.impedance(205e6)[0, 0].imag / (2 * math.pi * 205e6)
    assert copper == pytest.approx(expected, rel=1e-12, abs=0)


def test_uncertainty_is_that_of_drawn_measurements(study: StudyResult) -> None:
    """Frequencies and added capacitance drawn from normal distributions of the stated widths."""
    draw = np.random.default_rng(5)
    f0, f1 = (each * (1 + 0.01 * draw.standard_normal(200_000)) for each in (205e6, 103e6))
    added = 900e-12 * (1 + 0.05 * draw.standard_normal(200_000))
    capacitance = added / ((f0 / f1) ** 2 - 1)
    inductance = 1 / ((2 * np.pi * f0) ** 2 * capacitance)
    pair = read(study, pair=PAIR).pair
    assert pair.capacitance_error == pytest.approx(capacitance.std(), rel=0.02, abs=0)
    assert pair.inductance_error == pytest.approx(inductance.std(), rel=0.02, abs=0)


def test_uncertainty_of_frequencies_alone_is_that_of_drawn_measurements(study: StudyResult) -> None:
    draw = np.random.default_rng(6)
    f0, f1 = (each * (1 + 0.002 * draw.standard_normal(200_000)) for each in (205e6, 165e6))
    inductance = ((f0 / f1) ** 2 - 1) / ((2 * np.pi * f0) ** 2 * 900e-12)
    exact = replace(PAIR, loaded_frequency=165e6, frequency_error=0.002, capacitance_error=0.0)
    assert read(study, pair=exact).pair.inductance_error == pytest.approx(inductance.std(), rel=0.02, abs=0)


def test_tolerance_of_the_package_is_part_of_the_rest(study: StudyResult) -> None:
    wide = replace(SWITCHING, tolerance=SwitchingTolerance(package_inductance=0.3))
    narrow, broad = (read(study, each, pair=PAIR).pair.unexplained.error for each in (SWITCHING, wide))
    assert broad == pytest.approx(math.hypot(narrow, 0.15e-9), rel=1e-9, abs=0)


def test_probe_is_taken_off_the_capacitance_and_leaves_the_inductance(study: StudyResult) -> None:
    bare = read(study, pair=PAIR).pair
    probed = read(study, pair=replace(PAIR, probe_capacitance=10e-12)).pair
    assert bare.capacitance - probed.capacitance == pytest.approx(10e-12, rel=1e-9, abs=0)
    assert probed.inductance == bare.inductance


def test_a_probe_with_more_than_the_whole_capacitance_is_refused(study: StudyResult) -> None:
    with pytest.raises(ScenarioError, match="fix probe_capacitance"):
        read(study, pair=replace(PAIR, probe_capacitance=400e-12))


def test_sentence_says_how_much_is_not_explained(study: StudyResult) -> None:
    assert "± 0.12 nH are not explained by the model" in read(study, pair=PAIR).sentence


def test_sentence_says_when_the_model_explains_it(study: StudyResult) -> None:
    """A ring of what the model says: copper and package, with 300 pF."""
    total = 1.075e-9 + 0.5e-9
    f0, f1 = (1 / (2 * math.pi * math.sqrt(total * c)) for c in (300e-12, 1200e-12))
    sentence = read(study, pair=RingPair(frequency=f0, loaded_frequency=f1, added_capacitance=900e-12)).sentence
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
    measurement = read(study, pair=PAIR)
    assert pair_rows(measurement.pair)[-1][0] == "not explained"
    assert plain(measurement)["pair"]["parts"][-1]["name"] == "not explained"
    assert len(measurement_tables(measurement)) == 2


def test_a_proposal_without_frequency_has_a_dash_for_its_loss(study: StudyResult) -> None:
    assert proposal_row(read(study, None, pair=PAIR).pair.proposals[0])[2:] == ("–", "–")


def scenario_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "board.toml"
    path.write_text(text)
    return path


def test_options_make_a_bench(tmp_path: Path) -> None:
    options = {"ring_frequency": "205 MHz", "loaded_ring_frequency": "103 MHz", "added_capacitance": "900 pF"}
    scenario = read_measurement_scenario(scenario_file(tmp_path, BOARD), {**options, "variant": "thin"})
    assert scenario.measurement.pair == PAIR
    assert [each.name for each in scenario.variants] == ["thin"]


def test_options_win_over_the_table(tmp_path: Path) -> None:
    table = (
        '[measurement]\nring_frequency = "200 MHz"\nloaded_ring_frequency = "103 MHz"\nadded_capacitance = "900 pF"\n'
    )
    scenario = read_measurement_scenario(scenario_file(tmp_path, BOARD + table), {"ring_frequency": "205 MHz"})
    assert scenario.measurement.pair == PAIR
    assert scenario.measurement.variant == "thick"


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ('[measurement]\nring_frequency = "200 MHz"\n', "loaded_ring_frequency, added_capacitance is missing"),
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
