"""A variant that is a loop of a board's fabrication files: read, refused, swept, and solved as the plan view has it."""

import math
from dataclasses import replace

import numpy as np
import pytest
import skrf

from geometries import COPPER, ScenarioError, read_scenario
from geometries.board.capacitors import Capacitor, SwitchPackage
from geometries.errors import GeometryError
from geometries.fabrication.example_board import write_example_board
from geometries.fabrication.reading import read_board
from geometries.files.sweep_reading import parse_sweep
from geometries.quantities import MM, UM
from geometries.study.sweep import sweep_points, sweep_scenario
from solver.loop.layout_loop import layout_loop
from solver.plan import PlanMeshSettings
from solver.report.circuits import circuit_files, exported_circuit
from tests.simulated import run_ngspice, table

ROUGH = PlanMeshSettings().coarser().coarser()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("study")
    write_example_board(place / "files")
    return place


def scenario(folder, board="", rest=""):
    """A scenario of one variant beside the built-in board's files."""
    file = folder / "study.toml"
    file.write_text(f'title = "tide gauge"\n{rest}\n[board]\nfiles = "files"\n{board}\n')
    return file


def layout(folder, board="", rest=""):
    return read_scenario(scenario(folder, board, rest)).variants[0].laid_out.layout


def test_the_only_converter_and_its_nearest_capacitor_are_taken(folder):
    found = read_scenario(scenario(folder)).variants[0].laid_out
    assert [name for name, _ in found.parts] == ["U1", "C1"]
    assert {sheet.name for sheet in found.layout.sheets} == {"GND L1", "+24V L1", "GND L2", "body of U1", "body of C1"}


def test_capacitors_that_are_named_share_the_current(folder):
    found = read_scenario(scenario(folder, 'capacitor = "C1, C2"')).variants[0].laid_out
    assert [name for name, _ in found.parts] == ["U1", "C1", "C2"]


def test_the_stack_of_the_files_is_the_variants(folder):
    (stackup,) = read_scenario(scenario(folder)).variants[0].stackups
    assert stackup.heights("L1")[0] - stackup.heights("L2")[1] == pytest.approx(0.12 * MM)


def test_a_named_stackup_stands_in_its_place(folder):
    (stackup,) = read_scenario(scenario(folder, rest='stackup = "4L-7628"')).variants[0].stackups
    assert stackup.name == "4L-7628"


def test_the_distance_between_two_layers_can_be_given(folder):
    plane = layout(folder, 'between.L1-L2.thickness = "80 um"').sheet("GND L2")
    assert plane.height == pytest.approx(-80 * UM)


def test_drill_copper_and_heights_can_be_given(folder):
    board = 'via_drill = "0.2 mm"\nparts.C1 = { height = "0.3 mm" }'
    found = layout(folder, board, 'copper.temperature = "85 degC"')
    top = found.sheet("GND L1")
    assert {via.radius for via in found.vias} == {0.1 * MM}
    assert found.sheet("body of C1").height - top.levels[-1] == pytest.approx(0.3 * MM, abs=2 * UM)
    assert found.sheet("body of U1").height - top.levels[-1] == pytest.approx(0.2 * MM, abs=2 * UM)
    assert {found.vias[0].material.conductivity, top.material.conductivity} == {COPPER.at_temperature(85).conductivity}


def test_parts_are_described_as_those_of_an_outline(folder):
    board = """
    parts.U1 = { switch = { package = "flip-chip" } }
    parts.C1.capacitor = { case = "0805", capacitance = "4.7 uF", esr = "3 mohm", electrode_height = "0.25 mm" }
    """
    parts = read_scenario(scenario(folder, board)).variants[0].laid_out.part_at
    assert isinstance(parts["U1"], SwitchPackage)
    assert (parts["U1"].inductance, isinstance(parts["C1"], Capacitor)) == (pytest.approx(0.125e-9), True)


@pytest.mark.parametrize(
    ("board", "message"),
    [
        ('converter = "U2"', "no converter 'U2' was found"),
        ('capacitor = "C4"', "C4 is not between"),
        ('between.L1-L3.thickness = "1 mm"', "board.between has no 'L1-L3'; did you mean 'L"),
        ('parts.C9 = { height = "1 mm" }', "'C9' is not in the loop"),
        ('parts.C1 = { height = "1 mm", switch = { package = "flip-chip" } }', "count its inductance twice"),
        ('window = "0 mm"', "window"),
        ('victims = { trace = "FB" }', "victims"),
    ],
)
def test_what_the_board_does_not_have_is_refused(folder, board, message):
    with pytest.raises(ScenarioError, match=message):
        read_scenario(scenario(folder, board))


def test_files_outside_the_folder_are_refused(folder):
    file = folder / "study.toml"
    file.write_text('title = "away"\n[board]\nfiles = "../files"\n')
    with pytest.raises(ScenarioError, match="outside"):
        read_scenario(file)


def test_a_folder_that_is_not_there_is_told(folder):
    file = folder / "study.toml"
    file.write_text('title = "away"\n[board]\nfiles = "nowhere"\n')
    with pytest.raises(GeometryError, match="does not exist"):
        read_scenario(file)


def test_a_section_beside_it_is_refused(folder):
    with pytest.raises(ScenarioError, match="a board's loop has no planes"):
        read_scenario(scenario(folder, rest='planes.L2 = { tie = "both ends", width = "30 mm" }'))


def test_a_parametric_variant_stands_beside_a_board(folder):
    file = folder / "study.toml"
    loop = 'loop = { kind = "same-layer", width = "1 mm", gap = "0.5 mm", length = "3 mm" }'
    file.write_text(
        f'title = "both"\n[[variant]]\nname = "drawn"\nboard.files = "files"\n'
        f'[[variant]]\nname = "parametric"\nstackup = "2L-1.6"\n{loop}\n'
    )
    drawn, parametric = read_scenario(file).variants
    assert (drawn.section, parametric.laid_out) == (None, None)


def test_the_distance_is_swept(folder):
    file = scenario(folder, 'between.L1-L2.thickness = "0.12 mm"')
    vary = '[[sweep.vary]]\nkey = "board.between.L1-L2.thickness"\nvalues = ["0.1 mm", "0.2 mm"]\n'
    sweep = parse_sweep(file.read_text() + vary, where=str(file))
    points = [sweep_scenario(sweep, each) for each in sweep_points(sweep)]
    heights = [each.variants[0].laid_out.layout.sheet("GND L2").height for each in points]
    assert heights == pytest.approx([-0.1 * MM, -0.2 * MM])


def test_the_same_files_are_read_once(folder):
    assert read_board(folder / "files") is read_board(folder / "files")


@pytest.fixture(scope="module")
def described(folder):
    return read_scenario(scenario(folder))


@pytest.fixture(scope="module")
def loop(described):
    return layout_loop(described.variants[0].laid_out, (1e6, 100e6), 100e6, ROUGH)


def test_the_variant_has_the_inductance_that_the_command_states(loop, drawn):
    assert abs(loop.inductance - drawn.inductance) < loop.uncertainty


@pytest.fixture(scope="module")
def written(loop, described, study, tmp_path_factory):
    """Its circuit files."""
    result = replace(study.results[0], variant=described.variants[0], layout_loop=loop)
    place = tmp_path_factory.mktemp("circuits")
    for name, content in circuit_files(exported_circuit(result, described), described, "drawn").items():
        (place / name).write_text(content)
    return place


def test_a_library_reads_its_touchstone_file_with_the_loop_in_it(written, loop):
    read = skrf.Network(str(written / "drawn.s1p"))
    nearest = np.argmin(np.abs(read.f - 100e6))
    impedance = read.z[nearest, 0, 0]
    assert impedance.imag / (2 * math.pi * read.f[nearest]) == pytest.approx(loop.inductance, rel=1e-3)


def test_ngspice_runs_its_circuit_with_the_loop_in_it(written, loop):
    rows = table(run_ngspice(written, "drawn-test.cir"), ("frequency", "vr(1)", "vi(1)"))
    frequency, _, reactance = rows[np.argmin(np.abs(rows[:, 0] - 100e6))]
    assert reactance / (2 * math.pi * frequency) == pytest.approx(loop.inductance, rel=1e-3)
