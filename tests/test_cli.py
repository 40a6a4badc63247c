"""The command as an engineer types it."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest
from typer.testing import CliRunner

from solver.cli import EXIT_INPUT, EXIT_INTERRUPTED, EXIT_OUTPUT, app

SMALL = """
title = "one board"
stackup = "2L-1.6"
loop = { kind = "next-layer", width = "2 mm", return_width = "10 mm", length = "6 mm" }
analysis = { frequencies = ["10 MHz"], report_frequency = "100 MHz" }

[[variant]]
name = "thick"

[[variant]]
name = "thin"
stackup = "2L-0.8"
"""


@pytest.fixture
def board(tmp_path):
    path = tmp_path / "board.toml"
    path.write_text(SMALL)
    return path


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_help_loads_no_heavy_library():
    program = (
        "import sys\nsys.argv = ['copperfield', '--help']\nfrom solver.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'scipy', 'gmsh', 'skfem', 'matplotlib', 'pint', 'pydantic', 'shapely'} & set(sys.modules)\n"
        "sys.exit(f'loaded {sorted(heavy)}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "compare" in done.stdout


@pytest.mark.parametrize("words", [("parts",), ("stackups",), ("stackups", "4L-7628"), ("inspect", "FILE")])
def test_what_draws_nothing_does_not_load_the_drawing_library(board, words):
    typed = ["copperfield", *(str(board) if word == "FILE" else word for word in words)]
    program = (
        f"import sys\nsys.argv = {typed!r}\nfrom solver.cli import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code, end.code\n"
        "sys.exit('matplotlib was loaded' if 'matplotlib' in sys.modules else 0)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout


def test_solving_one_variant_prints_the_decision_first(board):
    done = run("solve", board)
    assert done.exit_code == 0
    assert done.stdout.startswith("“thick” has a loop of")


def test_cautions_of_a_variant_are_printed_with_its_name(board):
    board.write_text(SMALL.replace("6 mm", "300 mm"))
    printed = run("solve", board, "--details").stdout.replace("\n", " ")
    assert "W-QUASI-STATIC" in printed
    assert "(thick)" in printed


def test_short_answer_fits_eighty_columns_and_names_the_warnings(board):
    printed = run("solve", board).stdout
    assert max(map(len, printed.split("\n"))) <= 80
    assert "W-ESTIMATE" in printed
    assert "--details" in printed


def test_hand_out_without_a_folder_is_refused(board):
    done = run("solve", board, "--hand-out")
    assert done.exit_code == 3
    assert "--output" in done.output


def test_a_figure_without_a_name_is_refused(tmp_path):
    done = run("stackups", "--figure", tmp_path / "x.png")
    assert done.exit_code == EXIT_INPUT
    assert "name the stackup to draw" in done.stderr


def test_another_variant_is_solved_by_name(board):
    assert run("solve", board, "--variant", "thin").stdout.startswith("“thin” has a loop of")


def test_an_unknown_variant_is_refused(board):
    done = run("solve", board, "--variant", "thinner")
    assert done.exit_code == EXIT_INPUT
    assert "no variant is called 'thinner'; the scenario has 'thick', 'thin'" in done.stderr


def test_json_is_for_machines(board):
    done = run("compare", board, "--json", "--workers", "1")
    document = json.loads(done.stdout)
    assert document["schema"] == "copperfield-result/2"
    assert document["versions"]["copperfield"]
    assert len(document["variants"]) == 2


def test_a_comparison_writes_its_report(board, tmp_path):
    done = run("compare", board, "--output", tmp_path / "out", "--workers", "1")
    assert done.exit_code == 0
    assert f"report: {tmp_path / 'out' / 'report.html'}" in done.stdout.replace("\n", "")
    assert "“thin” has the smallest loop" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")


def test_a_wrong_file_is_one_message_without_traceback(tmp_path):
    path = tmp_path / "board.toml"
    path.write_text(SMALL.replace('"2 mm"', "2"))
    done = run("compare", path)
    assert done.exit_code == EXIT_INPUT
    assert "a bare value without a unit" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_file_that_is_not_toml_is_refused(tmp_path):
    path = tmp_path / "board.toml"
    path.write_text("this is no table")
    assert "not valid TOML" in run("inspect", path).stderr


def test_an_output_folder_that_cannot_be_made_is_refused_before_solving(board, tmp_path):
    (tmp_path / "file").write_text("in the way")
    done = run("compare", board, "--output", tmp_path / "file" / "out")
    assert done.exit_code == EXIT_OUTPUT
    assert "file" in done.stderr
    assert done.stdout == ""


def test_inspecting_solves_nothing_and_shows_every_region(board):
    done = run("inspect", board)
    assert done.exit_code == 0
    assert "thin (2L-0.8), 6 mm long" in done.stdout
    assert json.loads(run("inspect", board, "--json").stdout)["variants"][1]["regions"][0]["role"] == "go"


def test_constructions_are_listed_and_drawn(tmp_path):
    assert "4L-7628" in run("stackups").stdout
    done = run("stackups", "4L-7628", "--figure", tmp_path / "stack.svg")
    assert "prepreg 7628" in done.stdout
    assert (tmp_path / "stack.svg").read_text(encoding="utf-8").count("<svg") == 1


def test_an_unknown_construction_is_refused():
    done = run("stackups", "4L-7682")
    assert done.exit_code == EXIT_INPUT
    assert "did you mean" in done.stderr


def test_parts_are_listed_with_their_source():
    assert "1608" in run("parts").stdout


def test_reference_checks_without_pytest_say_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "pytest", None)
    done = run("reference-checks")
    assert done.exit_code == EXIT_INPUT
    assert "pip install 'copperfield[test]'" in done.stderr


def test_the_example_is_a_scenario(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(run("example").stdout, encoding="utf-8")
    assert run("inspect", path).exit_code == 0


@pytest.mark.parametrize("workers", ["1", "2"])
def test_an_interruption_keeps_the_variants_already_solved(tmp_path, workers):
    many = "".join(f'\n[[variant]]\nname = "number {n}"\nloop.width = "{n} mm"\n' for n in range(2, 40))
    path, out = tmp_path / "many.toml", tmp_path / "out"
    path.write_text(SMALL.split("[[variant]]")[0] + many)
    command = [sys.executable, "-c", "from solver.cli import main; main()", "compare", str(path), "-o", str(out)]
    with subprocess.Popen(
        [*command, "--workers", workers],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1", "FORCE_COLOR": "1"},
    ) as process:
        seen = ""
        deadline = time.monotonic() + 60
        while "solved number" not in seen and time.monotonic() < deadline:
            seen += process.stderr.read(1)
        process.send_signal(signal.SIGINT)
        _, rest = process.communicate(timeout=120)
    assert process.returncode == EXIT_INTERRUPTED, seen + rest
    assert "were solved and kept" in rest
    document = json.loads((out / "result.json").read_text(encoding="utf-8"))
    assert 1 <= len(document["variants"]) < 38
