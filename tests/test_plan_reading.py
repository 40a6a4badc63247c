"""A copper outline that is written out in a file: read as meant, solved and drawn, or refused with a reason."""

import json
import math

import pytest
from typer.testing import CliRunner

from geometries.errors import ScenarioError
from geometries.files.layout_reading import parse_plan
from geometries.layout.layout import EdgeTerminal, PadTerminal, RingPort
from solver.cli import EXIT_INPUT, app
from solver.plan.written import solve_written
from solver.report.plan_text import plan_document, plan_sentence

RING = """
title = "ring over a plane"
frequency = "100 MHz"

[[copper]]
name = "top"
height = "0.2 mm"
corners = [["0 mm", "0 mm"], ["5 mm", "0 mm"], ["5 mm", "3 mm"], ["0 mm", "3 mm"]]
holes = [[["1 mm", "1 mm"], ["4 mm", "1 mm"], ["4 mm", "2 mm"], ["1 mm", "2 mm"]]]

[[ring]]
name = "around the hole"
copper = "top"
inside = ["2 mm", "1.5 mm"]

[plane]
height = "0 mm"
metal = "perfect"
"""

STRIP = """
title = "strip with two posts"

[[copper]]
name = "strip"
height = "0.5 mm"
corners = [["0 mm", "0 mm"], ["8 mm", "0 mm"], ["8 mm", "2 mm"], ["0 mm", "2 mm"]]

[[port]]
name = "capacitor"
entry = { copper = "strip", edge = [["0 mm", "0 mm"], ["0 mm", "2 mm"]] }
leave = { copper = "strip", pad = [["6 mm", "0.8 mm"], ["6.4 mm", "0.8 mm"], ["6.4 mm", "1.2 mm"], ["6 mm", "1.2 mm"]] }
"""

UNDER_THE_PORT = """
[[copper]]
name = "ground"
height = "0 mm"
corners = [["-4 mm", "-2 mm"], ["9 mm", "-2 mm"], ["9 mm", "4 mm"], ["-4 mm", "4 mm"]]
"""


def changed(old, new, text=RING):
    assert old in text
    return text.replace(old, new, 1)


@pytest.fixture(scope="module")
def reading():
    return solve_written(parse_plan(RING))


def test_outline_hole_ring_and_plane_are_read():
    task = parse_plan(RING)
    assert task.frequency == 100e6
    assert task.layout.sheets[0].shape.area == pytest.approx(12e-6, rel=1e-9, abs=0)
    assert isinstance(task.layout.ports[0], RingPort)
    assert task.layout.plane.material is None
    assert math.isinf(task.layout.plane.thickness)


def test_terminals_are_edges_or_pads():
    port = parse_plan(STRIP).layout.cut_ports[0]
    assert isinstance(port.entry, EdgeTerminal)
    assert isinstance(port.leave, PadTerminal)


def test_the_limits_stand_beside_the_frequency_asked_for(reading):
    assert [each.frequency for each in reading.solutions] == [0.0, 100e6, math.inf]
    assert reading.perfect.loop_inductance < reading.reported.loop_inductance < reading.direct.loop_inductance


def test_a_plane_of_metal_leaves_out_direct_current():
    text = changed('metal = "perfect"', 'thickness = "35 um"')
    assert solve_written(parse_plan(text)).direct is None


def test_the_sentence_and_the_document_hold_the_same_inductance(reading):
    value = plan_document(reading)["solutions"][1]["inductance"][0][0]
    assert f"{value * 1e9:.3f}" in plan_sentence(reading)
    assert plan_document(reading)["solutions"][2]["frequency"] is None


def test_the_command_prints_draws_and_speaks_json(tmp_path):
    file, picture = tmp_path / "ring.toml", tmp_path / "ring.png"
    file.write_text(RING)
    shown = CliRunner().invoke(app, ["plan", str(file), "--figure", str(picture)])
    assert shown.exit_code == 0
    assert "perfect conductors" in shown.output
    assert picture.stat().st_size > 10_000
    machine = CliRunner().invoke(app, ["plan", str(file), "--json"])
    assert json.loads(machine.stdout)["solutions"][1]["loops"] == ["around the hole"]


def test_the_command_refuses_a_bad_file_with_its_exit_code(tmp_path):
    file = tmp_path / "ring.toml"
    file.write_text(changed('inside = ["2 mm", "1.5 mm"]', 'inside = ["0.5 mm", "1.5 mm"]'))
    refused = CliRunner().invoke(app, ["plan", str(file)])
    assert refused.exit_code == EXIT_INPUT
    assert "has no hole at (0.5, 1.5) mm" in refused.output


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (changed('height = "0.2 mm"', 'hight = "0.2 mm"'), "did you mean 'height'"),
        (changed('copper = "top"', 'copper = "bottom"'), "has no copper 'bottom'"),
        (changed('["4 mm", "2 mm"], ["1 mm", "2 mm"]', '["4 mm", "3 mm"], ["1 mm", "3 mm"]'), "reaches the outer edge"),
        (changed('[plane]\nheight = "0 mm"', '[plane]\nheight = "1 mm"'), "not above the mirror plane"),
        (changed("[[ring]]", "[[rings]]"), "unknown key 'rings'"),
        (changed('frequency = "100 MHz"', 'frequency = "0 MHz"'), "must be above zero"),
        (changed('edge = [["0 mm", "0 mm"]', 'edge = [["1 mm", "0 mm"]', STRIP), "not on an edge"),
        (changed('["6.4 mm", "0.8 mm"]', '["6.4 mm", "-0.8 mm"]', STRIP), "stand wholly inside"),
        (STRIP + UNDER_THE_PORT, "'ground' lies under the open port 'capacitor'"),
        (changed("edge = [[", "pad = [[", STRIP), "polygon needs at least three vertices|at least"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(text, message):
    with pytest.raises(ScenarioError, match=message):
        parse_plan(text)
