"""The command board as an engineer types it."""

import json

import pytest
from typer.testing import CliRunner

from geometries.fabrication.example_board import write_example_board
from solver.cli import EXIT_INPUT, EXIT_OUTPUT, app


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
        "copperfield-board/1",
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
