"""Facts about the short lists of a report: what to draw, and what to probe."""

from __future__ import annotations

from dataclasses import replace

from geometries.files.reading import parse_scenario
from solver.report.lists_part import bench_rows, drawing_rows
from solver.study.study import run_study

BOARD = """
title = "pump"
revision = "B2"
stackup = "4L-7628"
analysis = { frequencies = ["100 MHz"], report_frequency = "100 MHz", tolerance = "2 %", axisymmetric_view = false }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm", land = "0.9 mm" }
planes.L2 = { tie = "both ends", width = "40 mm" }
[switching]
input_voltage = "24 V"
edge_time = "2 ns"
output_capacitance = "300 pF"
ringing = { quality_factor = 8 }
frequency = "1 MHz"
voltage_rating = "60 V"
[emission]
current = "4 A"
limits = ["CISPR 32 class B"]
cable = { length = "1 m" }
"""


def test_lists_say_what_to_draw_and_what_to_probe():
    study = run_study(parse_scenario(BOARD), workers=1)
    drawn, probed = dict(drawing_rows(study)), dict(bench_rows(study))
    assert drawn["lands of switch and capacitor along the loop"] == "0.9 mm"
    assert drawn["gap of “go” and “return”"] == "1 mm"
    assert "40 mm wide, tied to the return at both ends" in drawn["ground layer L2"]
    ring = study.reading(study.reference, "ring_frequency").value
    assert f"{ring / 1e6:.0f}"[:2] in probed["ring"]
    assert "allowed 60 V" in probed["probe the switch node at the switch, ground on its own terminal"]
    assert "µA common mode" in probed["current clamp on the cable"]


def test_layer_that_is_tied_nowhere_is_called_a_study(study_of_untied, hostile_name):
    rows = dict(drawing_rows(replace(study_of_untied, reference=hostile_name)))
    assert rows["ground layer L2"].endswith("tied nowhere: a study")


def test_placement_is_drawn_with_its_distance_and_vias(placed_study):
    rows = dict(drawing_rows(placed_study))
    assert rows["distance of the nearest capacitor from the pins"] == "0.6 mm"
    assert "vias" in rows


def test_study_without_edge_and_emission_has_nothing_to_probe(study):
    assert bench_rows(study) == ()
