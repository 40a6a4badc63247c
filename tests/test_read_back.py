import json
import re

import pytest
from typer.testing import CliRunner

from geometries.files.reading import builtin_scenario_names, builtin_text, describe, parse_document
from geometries.quantities import Quantity, read_quantity
from geometries.study.read_back import read_back
from solver.cli import EXIT_INPUT, app

PUMP = read_back(describe(builtin_text("orchard-pump")))


def value(table, key):
    return next((each.text, each.default) for each in PUMP if (each.table, each.key) == (table, key))


@pytest.mark.parametrize(
    ("table", "key", "text", "default"),
    [
        ("", "title", "Orchard pump: does the ring of the switch node overstress the switches", False),
        ("switching", "input_voltage", "48 V", False),
        ("switching", "edge_time", "3 ns", False),
        ("variant 'one end' loop", "width", "3 mm", False),
        ("variant 'one end' loop", "layer", "L1", True),
        ("variant 'both ends' planes L2", "tie", "both ends", False),
        ("analysis", "tolerance", "0.1 %", True),
    ],
)
def test_a_key_is_read_back_in_a_usual_unit_with_its_default_marked(table, key, text, default):
    if key == "title":
        assert value(table, key)[1] is default
    else:
        assert value(table, key) == (text, default)


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_every_table_that_a_file_writes_is_read_back(name):
    found = " ".join(each.table for each in read_back(describe(builtin_text(name))))
    document = parse_document(builtin_text(name), where=name)
    written = [key for key, each in document.items() if isinstance(each, dict) and key != "stackups"]
    assert all(table in found for table in written)


@pytest.mark.parametrize("name", builtin_scenario_names())
def test_values_are_read_back_in_words_and_not_as_objects(name):
    shown = [each.text for each in read_back(describe(builtin_text(name)))]
    assert not [text for text in shown if re.match(r"[A-Z]\w*\(\w+=", text)]


def test_recovery_is_read_back_as_charge_or_current():
    told = {"none": '"none"', "charge 20 nC": '{ charge = "20 nC" }', "current 3 A": '{ current = "3 A" }'}
    for text, written in told.items():
        lamp = builtin_text("garden-lamp").replace("[switching]", f"[switching]\nrecovery = {written}")
        assert {each.text for each in read_back(describe(lamp)) if each.key == "recovery"} == {text}


def test_what_is_shown_can_be_read_again():
    assert read_quantity(value("switching", "output_capacitance")[0], Quantity.CAPACITANCE) > 0
    assert read_quantity(value("variant 'one end' loop", "width")[0], Quantity.LENGTH) == 3e-3


def test_only_boards_that_something_lies_on_are_read_back():
    boards = {each.table.split()[1] for each in PUMP if each.table.startswith("stackups")}
    assert len(boards) == 1


@pytest.fixture
def board(tmp_path):
    path = tmp_path / "board.toml"
    path.write_text(builtin_text("orchard-pump").replace("3 ns", "30 ns"))
    return path


def run(*arguments):
    return CliRunner().invoke(app, [*map(str, arguments)])


def test_inspect_shows_tables_defaults_and_warnings(board):
    shown = run("inspect", board).output
    assert "[switching]" in shown
    assert "edge_time = 30 ns" in shown
    assert "tolerance = 0.1 % (default)" in shown
    assert "W-UNUSUAL: switching: edge_time is 30 ns" in shown


def test_inspect_hands_the_same_to_machines(board):
    document = json.loads(run("inspect", board, "--json").output)
    assert {"table": "switching", "key": "edge_time", "value": "30 ns", "default": False} in document["inputs"]
    assert [each["code"] for each in document["warnings"]] == ["W-UNUSUAL"]


def test_inspect_draws_the_sections(board, tmp_path):
    assert run("inspect", board, "--figure", tmp_path / "sections.svg").exit_code == 0
    drawn = (tmp_path / "sections.svg").read_text()
    assert all(name in drawn for name in ("one end", "both ends"))


def test_inspect_of_a_misread_text_says_where(board):
    board.write_text(board.read_text().replace("30 ns", "1,5 ns"))
    done = run("inspect", board)
    assert done.exit_code == EXIT_INPUT
    assert 'edge_time = "1,5 ns" holds a comma' in done.output
