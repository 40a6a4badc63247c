"""The command board as an engineer types it."""

import json
from dataclasses import replace

import pytest
from typer.testing import CliRunner

from geometries.drawn.choice import chosen_ends
from geometries.drawn.loops import find_loops
from geometries.drawn.parts import parts_of
from geometries.drawn.points import read_loop_points
from geometries.fabrication.example_board import write_example_board
from geometries.fabrication.kept import kept_board, kept_reading, reading_key
from geometries.fabrication.reading import read_board
from geometries.fabrication.sources import read_sources
from solver.cli import EXIT_INPUT, EXIT_OUTPUT, app
from solver.report.board_files import READING_FILE
from solver.report.documents import SCHEMA


def run(*words):
    return CliRunner().invoke(app, ["board", *map(str, words)])


@pytest.fixture
def folder(tmp_path):
    write_example_board(tmp_path / "files")
    return tmp_path / "files"


def test_the_list_names_the_converter_and_its_capacitors(folder):
    done = run(folder, "--list")
    assert done.exit_code == 0
    assert "1 converter" in done.stdout
    assert "C1 (4.5)" in done.stdout


def test_the_list_says_where_the_stack_is_from(folder):
    assert "stack: read from tide-gauge-supply.gbrjob" in run(folder, "--list").stdout


def test_the_example_is_written_and_read_in_one_command(tmp_path):
    done = run(tmp_path / "new", "--example", "--list")
    assert (done.exit_code, (tmp_path / "new" / "tide-gauge-supply-L1.gbr").exists()) == (0, True)


def test_json_is_for_machines(folder):
    document = json.loads(run(folder, "--list", "--json").stdout)
    (found,) = document["converters"]
    assert (document["schema"], found["name"], found["capacitors"][0]["reference"]) == (
        SCHEMA,
        "U1",
        "C1",
    )


def test_the_data_are_written_into_a_folder(folder, tmp_path):
    run(folder, "--list", "-o", tmp_path / "out")
    assert json.loads((tmp_path / "out" / "board.json").read_text())["nets"][0] == "+24V"


def test_an_output_that_is_a_file_is_refused(folder, tmp_path):
    (tmp_path / "out").write_text("taken")
    assert run(folder, "--list", "-o", tmp_path / "out").exit_code == EXIT_OUTPUT


def test_a_folder_that_is_not_there_is_one_message(tmp_path):
    done = run(tmp_path / "nowhere", "--list")
    assert (done.exit_code, "does not exist" in done.stderr, "Traceback" in done.stderr) == (EXIT_INPUT, True, False)


def test_a_converter_that_is_not_there_is_one_message(folder):
    done = run(folder, "--converter", "U9")
    assert (done.exit_code, "no converter 'U9' was found" in done.stderr) == (EXIT_INPUT, True)


def test_a_capacitor_that_is_on_other_nets_is_one_message(folder):
    done = run(folder, "--converter", "U1", "--capacitor", "C4")
    assert (done.exit_code, "C4 is not between '+24V' and 'GND'" in done.stderr) == (EXIT_INPUT, True)


def test_a_frequency_without_a_unit_is_one_message(folder):
    done = run(folder, "--frequency", "100")
    assert (done.exit_code, "without a unit" in done.stderr or "no unit" in done.stderr) == (EXIT_INPUT, True)


def test_a_named_stack_is_taken_instead_of_the_files(folder):
    assert "stack: construction '4L-7628', as given" in run(folder, "--list", "--stackup", "4L-7628").stdout


def test_a_stack_of_another_number_of_layers_is_one_message(folder):
    done = run(folder, "--list", "--stackup", "2L-1.6")
    assert (done.exit_code, "has 2 copper layers, but the files have 4" in done.stderr) == (EXIT_INPUT, True)


def test_a_line_that_is_none_is_one_message(folder):
    done = run(folder, "--cut", "1 mm, 2 mm")
    assert (done.exit_code, 'write "across", or the ends of a line' in done.stderr) == (EXIT_INPUT, True)


SWITCH, CAPACITOR = "15 mm, 14.95 mm to 15 mm, 14 mm", "12.8 mm, 15.3 mm to 12.8 mm, 13.6 mm"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--switch-at", "15, 14 to 15, 13", "--capacitor-at", CAPACITOR), "has no unit"),
        (("--switch-at", "15 mm, 14 mm", "--capacitor-at", CAPACITOR), "write the pad on the supply's side"),
        (("--switch-at", SWITCH), "--switch-at and --capacitor-at go together"),
        (("--switch-at", SWITCH, "--capacitor-at", CAPACITOR, "--converter", "U1"), "not by both"),
        (("--switch-at", SWITCH, "--capacitor-at", CAPACITOR, "--feedback", "FB"), "--feedback needs a converter"),
        (("--switch-at", SWITCH, "--capacitor-at", CAPACITOR, "--layer", "L7"), "has no layer L7; it has L1 to L4"),
        (("--switch-at", SWITCH, "--capacitor-at", CAPACITOR, "--layer", "top"), "write it as L1"),
        (
            ("--switch-at", "15 mm, 16.4 mm to 15 mm, 14 mm", "--capacitor-at", CAPACITOR),
            "the nearest is copper of +24V, 0.8 mm away",
        ),
        (
            ("--switch-at", "15 mm, 14 mm to 15 mm, 14.95 mm", "--capacitor-at", CAPACITOR),
            "should be joined are on the nets '+24V' and 'GND'",
        ),
    ],
)
def test_points_that_name_no_loop_are_one_message(folder, words, said):
    done = run(folder, *words)
    assert (done.exit_code, said in " ".join(done.stderr.split()), "Traceback" in done.stderr) == (
        EXIT_INPUT,
        True,
        False,
    )


def test_points_name_the_same_loop_as_names(board):
    points = read_loop_points([SWITCH], CAPACITOR, "L1").ends(board, {})
    named = chosen_ends(parts_of(board), find_loops(board)[0], "C1")
    for one, other in zip(points.joints.values(), named.joints.values(), strict=True):
        assert [(joint.net, joint.layer, joint.area.wkb) for joint in one] == [
            (joint.net, joint.layer, joint.area.wkb) for joint in other
        ]


@pytest.fixture
def kept(folder, tmp_path):
    """An output folder that keeps a reading of the files, marked so that its use shows."""
    key = reading_key(read_sources(folder), folder, None)
    marked = replace(read_board(folder), remarks=("taken from what was kept",))
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / READING_FILE).write_bytes(kept_reading(marked, key))
    return tmp_path / "out"


def test_a_kept_reading_is_taken(folder, kept):
    assert "taken from what was kept" in run(folder, "--list", "-o", kept).stdout


def test_fresh_reads_the_files_and_keeps_that(folder, kept):
    assert "taken from" not in run(folder, "--list", "-o", kept, "--fresh").stdout
    assert "taken from" not in run(folder, "--list", "-o", kept).stdout


def test_a_torn_reading_is_not_taken(folder, kept):
    file = kept / READING_FILE
    file.write_bytes(file.read_bytes()[:-100])
    assert "taken from" not in run(folder, "--list", "-o", kept).stdout


def test_a_reading_of_other_files_is_not_taken(folder, kept):
    job = folder / "tide-gauge-supply.gbrjob"
    job.write_text(job.read_text() + "\n")
    assert "taken from" not in run(folder, "--list", "-o", kept).stdout


def test_a_reading_comes_back_as_it_was_kept(folder):
    board = read_board(folder)
    back = kept_board(kept_reading(board, "key"), "key")
    assert (back.holes, back.stack, back.remarks) == (board.holes, board.stack, board.remarks)
    assert all(one.shape.equals(other.shape) for one, other in zip(back.pads, board.pads, strict=True))
    assert [
        {net: shape.wkb for net, shape in layer.nets.items()} for layer in back.layers
    ] == [{net: shape.wkb for net, shape in layer.nets.items()} for layer in board.layers]  # fmt: skip


def test_a_result_that_cannot_be_finished_leaves_no_file(folder, tmp_path, monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.write_text", full)
    done = run(folder, "--list", "-o", tmp_path / "out")
    assert (done.exit_code, "No space left" in done.stderr) == (EXIT_OUTPUT, True)
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [READING_FILE]
