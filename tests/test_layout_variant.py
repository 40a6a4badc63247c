"""A variant that its layout describes: read, refused, and solved as the plan view has it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries import COPPER, Capacitor, ScenarioError, read_builtin_scenario, read_scenario
from geometries.files.reading import builtin_text, describe
from geometries.study.build import build_scenario
from geometries.study.keys import find_key, with_values
from solver.loop.layout_loop import layout_loop
from solver.plan import PlanMeshSettings, solve_plan
from solver.study.basis import described_basis
from solver.variant.needs import Need
from solver.variant.solve import solve_variant
from solver.variant.warnings import variant_warnings

COARSE = PlanMeshSettings(layer_fraction=0.05, along_fraction=1.0, corner_fraction=0.2, growth=1.0)

RING = """
title = "ring over a plane"
stackup = "4L-7628"
analysis = { frequencies = ["1 MHz", "100 MHz"], axisymmetric_view = false }

[[outline.copper]]
name = "top"
layer = "L1"
faces = "both faces"
corners = [["0 mm", "0 mm"], ["5 mm", "0 mm"], ["5 mm", "3 mm"], ["0 mm", "3 mm"]]
holes = [[["1 mm", "1 mm"], ["4 mm", "1 mm"], ["4 mm", "2 mm"], ["1 mm", "2 mm"]]]

[[outline.ring]]
name = "around the hole"
copper = "top"
inside = ["2 mm", "1.5 mm"]

[outline.plane]
layer = "L2"
"""

PADS = 'pad = [["0.2 mm", "0.2 mm"], ["0.8 mm", "0.2 mm"], ["0.8 mm", "0.8 mm"], ["0.2 mm", "0.8 mm"]]'


def changed(old, new, text=RING):
    assert old in text
    return text.replace(old, new, 1)


def test_layers_give_heights_thickness_and_metal():
    hot = read_scenario(changed('stackup = "4L-7628"', 'stackup = "4L-7628"\ncopper.temperature = "85 degC"'))
    layout = hot.variants[0].laid_out.layout
    board = hot.variants[0].stackups[0]
    assert layout.sheets[0].height == board.heights("L1")[0]
    assert layout.plane.height == board.heights("L2")[1]
    assert layout.plane.thickness == pytest.approx(np.diff(board.heights("L2"))[0], rel=1e-12)
    assert layout.sheets[0].material.conductivity < COPPER.conductivity


def test_a_file_of_its_own_is_the_same_outline(tmp_path):
    head, tables = RING.split("[[outline.copper]]", 1)
    (tmp_path / "ring.toml").write_text('title = "ring"\n[[copper]]' + tables.replace("outline.", ""))
    (tmp_path / "study.toml").write_text(head + 'outline = "ring.toml"\n')
    assert read_scenario(tmp_path / "study.toml").variants[0].laid_out == read_scenario(RING).variants[0].laid_out


def test_an_outline_outside_the_folder_is_refused(tmp_path):
    (tmp_path / "study.toml").write_text(RING.split("[[outline.copper]]", 1)[0] + 'outline = "../ring.toml"\n')
    with pytest.raises(ScenarioError, match="outside"):
        read_scenario(tmp_path / "study.toml")


def test_a_variant_of_its_own_kind_starts_from_board_and_metal_only():
    mixed = (
        builtin_text("orchard-pump")
        + "\n[[variant]]\nname = 'drawn'\n"
        + RING.partition("[[outline")[2]
        .join(("[[variant.outline", ""))
        .replace("[[outline", "[[variant.outline")
        .replace("[outline", "[variant.outline")
    )
    variants = read_scenario(mixed).variants
    assert variants[-1].section is None
    assert variants[-1].stackups == variants[0].stackups


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (changed('layer = "L1"\n', ""), "neither layer nor height"),
        (changed('layer = "L1"\n', 'layer = "L7"\n'), "no copper layer 'L7'"),
        (changed('stackup = "4L-7628"\n', ""), "no board is named"),
        (changed("[outline.plane]", 'planes.L2 = { tie = "none", width = "4 mm" }\n[outline.plane]'), "unknown key"),
        (changed('title = "ring over a plane"', 'title = "x"\nlength = "8 mm"'), "an outline has no length"),
        (
            changed(
                "[[outline.ring]]",
                "[[outline.ring]]\nname = 'twice'\ncopper = 'top'\ninside = ['2 mm', '1.5 mm']\n\n[[outline.ring]]",
            ),
            "several loops",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(text, message):
    with pytest.raises(ScenarioError, match=message):
        read_scenario(text)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('height = "0.2 mm"\n', "", "has no part, and others have"),
        ('electrode_height = "0.2 mm"', 'esl = "0.4 nH"', "lies under the open port 'C1'"),
        ('height = "0.2 mm"', 'height = "0.2 mm"\nswitch = { package = "flip-chip" }', "count its inductance twice"),
    ],
)
def test_parts_are_described_once_and_so_that_currents_close(old, new, message):
    with pytest.raises(ScenarioError, match=message):
        read_scenario(changed(old, new, builtin_text("cold-frame-fan")))


def test_a_number_of_the_outline_moves_its_copper():
    described = describe(builtin_text("cold-frame-fan"))
    key = find_key(described, "outline.copper.ground layer.corners.1.0")
    moved = build_scenario(with_values(described, {key: 7e-3})).variants[0].laid_out.layout
    assert moved.sheet("ground layer").outline.vertices[1][0] == 7e-3


TIED = (
    RING
    + """
[[outline.via]]
name = "tie"
upper = "top"
"""
)


@pytest.mark.parametrize(
    ("keys", "girth", "wall"),
    [
        ('centre = ["0.5 mm", "0.5 mm"]\nradius = "0.2 mm"', 2 * math.pi * 187.5e-6, 25e-6),
        ('shape = "filled"\ncentre = ["0.5 mm", "0.5 mm"]\nradius = "0.2 mm"', 2 * math.pi * 100e-6, 200e-6),
        ('shape = "full-width wall"\nedge = [["0 mm", "0 mm"], ["0 mm", "3 mm"]]\nwall = "35 um"', 3e-3, 35e-6),
    ],
)
def test_vias_have_shapes_and_one_that_leads_nothing_is_named(keys, girth, wall):
    scenario = read_scenario(TIED + keys)
    (via,) = scenario.variants[0].laid_out.layout.vias
    assert via.girth == pytest.approx(girth, rel=1e-12)
    assert via.wall == wall
    said = variant_warnings(scenario.variants[0], scenario.analysis)
    assert [each.code for each in said] == ["W-ONE-END", "W-ENDLESS"]
    assert "'tie'" in said[0].text


def test_a_wall_without_its_edge_is_refused():
    with pytest.raises(ScenarioError, match="has an edge"):
        read_scenario(TIED + 'shape = "full-width wall"\ncentre = ["0.5 mm", "0.5 mm"]\nradius = "0.2 mm"')


def test_a_port_may_end_on_the_endless_plane_alone():
    port = """
[[outline.port]]
name = "feed"
entry = { copper = "top", edge = [["0 mm", "0 mm"], ["0 mm", "3 mm"]] }
leave = { plane = ["0 mm", "1.5 mm"] }
"""
    text = TIED.replace(RING[RING.index("[[outline.ring]]") : RING.index("[outline.plane]")], port)
    shorted = text + 'shape = "full-width wall"\nedge = [["5 mm", "0 mm"], ["5 mm", "3 mm"]]'
    layout = read_scenario(shorted).variants[0].laid_out.layout
    assert layout.idle_vias == ()
    with pytest.raises(ScenarioError, match="has none"):
        read_scenario(shorted.replace('[outline.plane]\nlayer = "L2"', ""))


@pytest.fixture(scope="module")
def ring():
    scenario = read_scenario(RING)
    return solve_variant(scenario.variants[0], scenario.analysis, frozenset({Need.BROADBAND}))


def test_the_loop_of_record_is_that_of_the_plan_view(ring):
    solution = solve_plan(ring.variant.laid_out.layout, 100e6, PlanMeshSettings().coarser())
    assert ring.loop.inductance == pytest.approx(solution.loop_inductance, rel=1e-9)
    assert ring.loop.inductance_uncertainty == pytest.approx(
        solution.inductance_error * solution.loop_inductance, rel=1e-6
    )
    assert ring.loop.basis.value == described_basis([ring.variant])
    assert ring.loop.resistance == pytest.approx(solution.resistance[0, 0], rel=0.02)


def test_its_circuit_follows_the_plan_view_over_the_band(ring):
    solution = solve_plan(ring.variant.laid_out.layout, 1e6, PlanMeshSettings().coarser())
    found = ring.loop.circuit.impedance(1e6)[0, 0]
    assert found.imag / (2 * math.pi * 1e6) == pytest.approx(solution.loop_inductance, rel=0.01)
    assert found.real == pytest.approx(solution.resistance[0, 0], rel=0.03)


def test_what_only_a_section_shows_is_not_known(ring):
    assert not ring.lines
    assert math.isnan(ring.section_inductance)
    with pytest.raises(ScenarioError, match="has no section"):
        _ = ring.variant.own_section


def test_an_endless_plane_is_said_and_leaves_nothing_of_the_lying_moment(ring):
    assert [each.code for each in ring.warnings] == ["W-ENDLESS"]
    assert ring.moment_parts.lying == 0


def test_parts_add_their_own_terms_and_lumped_values_only_themselves():
    drawn = read_builtin_scenario("cold-frame-fan").variants[1].laid_out
    bodies = layout_loop(drawn, (1e8,), 1e8, COARSE)
    assert bodies.term("capacitor").amount > 0.1e-9
    assert sum(term.amount for term in bodies.terms) == bodies.inductance
    port, part = drawn.parts[1]
    heavier = replace(drawn, parts=(drawn.parts[0], (port, replace(part, resistance=0.1))))
    assert isinstance(part, Capacitor)
    assert layout_loop(heavier, (1e8,), 1e8, COARSE).inductance == pytest.approx(bodies.inductance, rel=1e-12)
