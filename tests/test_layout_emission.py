"""Emission of a loop that its layout describes: its moment, what of it drives cables, and all sources together."""

import math
from dataclasses import replace

import numpy as np
import pytest
from operating import OPERATION

from geometries import read_scenario
from geometries.board.capacitors import Capacitor, ElectrodeBody, switch_package
from geometries.board.parts import VIAS, capacitor_case
from geometries.files.stackups import named_stackup
from geometries.layout.laid_out import LaidOutLoop
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import PlacedLoop, SameSide, Site
from geometries.quantities import MM
from geometries.study.scenario import Scenario
from solver.emission.comparison import compare_emission
from solver.emission.variant_moment import moment_uncertainty, variant_moment
from solver.formulas import MU_0, coplanar_strips_inductance, filaments_partial_mutual
from solver.loop.layout_loop import SETTINGS, layout_loop
from solver.loop.whole_loop import whole_loop
from solver.plan import PlanMeshSettings
from solver.variant.needs import Need
from solver.variant.solve import solve_variant

NEEDS = frozenset({Need.BROADBAND, Need.WHOLE_LOOP, Need.MOMENT})
LONG, APART, WIDE = 40.0, 5.0, 1.0


def land(x: float, y: float, *, edge: bool) -> str:
    """A terminal of a part: 0.2 mm of a strip's inner edge, or a pad nearly as wide as the strip."""
    inner = y - 0.5 * WIDE * (1 if y > 0 else -1)
    if edge:
        return f'edge = [["{x - 0.1} mm", "{inner} mm"], ["{x + 0.1} mm", "{inner} mm"]]'
    half = 0.45 * WIDE
    corners = ((x - 0.1, y - half), (x + 0.1, y - half), (x + 0.1, y + half), (x - 0.1, y + half))
    return "pad = [" + ", ".join(f'["{a:.3g} mm", "{b:.3g} mm"]' for a, b in corners) + "]"


def strips(*, layer: bool) -> str:
    """Two long strips with switches and capacitor across their ends; over a layer, at their edges."""
    inner, outer = (APART - WIDE) / 2, (APART + WIDE) / 2

    def copper(name: str, low: float, high: float, left: float = 0.0, right: float = LONG, of: str = "L1") -> str:
        corners = ", ".join(
            f'["{x} mm", "{y} mm"]' for x, y in ((left, low), (right, low), (right, high), (left, high))
        )
        return f'[[outline.copper]]\nname = "{name}"\nlayer = "{of}"\nfaces = "one face"\ncorners = [{corners}]\n'

    ends = ""
    for name, x, (entry, leave), part in (
        ("switches", 0.2, ("input", "ground"), 'height = "0.1 mm"'),
        (
            "C1",
            LONG - 0.2,
            ("ground", "input"),
            'capacitor = { case = "0603", capacitance = "2.2 uF", esr = "4 mohm", electrode_height = "0.1 mm" }',
        ),
    ):
        at = {"input": APART / 2, "ground": -APART / 2}
        ends += f'[[outline.port]]\nname = "{name}"\n{part}\n'
        ends += f'entry = {{ copper = "{entry}", {land(x, at[entry], edge=layer)} }}\n'
        ends += f'leave = {{ copper = "{leave}", {land(x, at[leave], edge=layer)} }}\n'
    ground = copper("layer", -12.0, 12.0, -8.0, LONG + 8.0, "L2") if layer else ""
    return f"""
title = "two strips"
stackup = "4L-7628"
analysis = {{ frequencies = ["10 MHz", "100 MHz"], report_frequency = "100 MHz", axisymmetric_view = false }}
{copper("input", inner, outer)}{copper("ground", -outer, -inner)}{ground}{ends}
{OPERATION}board = {{ width = "60 mm", length = "80 mm" }}
cable = {{ length = "1 m" }}
node = {{ width = "6 mm", length = "8 mm" }}
"""


@pytest.fixture(scope="module")
def bare() -> Scenario:
    return read_scenario(strips(layer=False))


def test_the_moment_of_a_layout_is_that_of_the_same_copper_described_as_a_placement() -> None:
    part = Capacitor(
        case=capacitor_case("0603"), capacitance=2.2e-6, resistance=4e-3, body=ElectrodeBody(height=0.2 * MM)
    )
    placement = SameSide(
        copper_width=1.6 * MM,
        gap=0.6 * MM,
        distance=0.6 * MM,
        capacitors=(part,),
        package=switch_package("land-grid"),
        via=VIAS[0],
    )
    placed = PlacedLoop(placement=placement, site=Site(stackup=named_stackup("4L-7628")))
    found = whole_loop("placement", placed, 200e6, SETTINGS, vary=())
    layout = placement_plan("layout", placed).layouts[0]
    drawn = layout_loop(LaidOutLoop(layout=layout), (200e6,), 200e6)
    assert np.abs(drawn.moment_vector) == pytest.approx(np.abs(found.moment_vector), rel=1e-6, abs=1e-12)


def test_the_voltage_along_the_ground_is_that_of_a_wire_beside_its_return(bare: Scenario) -> None:
    # Partial inductance of a wire as thick as makes an endless pair of such strips, less that between both wires, which
    # run from the switches to the capacitor; 3 % for the ends of the strips beyond both. Along a single line a coarser
    # mesh tells 5 % less well.
    loop = layout_loop(bare.variants[0].laid_out, (100e6,), 100e6, PlanMeshSettings())
    length = (LONG - 0.4) * MM
    pair = coplanar_strips_inductance(WIDE * MM, (APART - WIDE) * MM)
    own = filaments_partial_mutual(length, length, 0.0, APART * MM * math.exp(-math.pi * pair / MU_0))
    expected = own - filaments_partial_mutual(length, length, 0.0, APART * MM)
    assert loop.ground is not None
    assert loop.ground.copper == "ground"
    assert loop.ground.inductance == pytest.approx(expected, rel=0.03)


def test_all_sources_of_a_layout_are_added_up_and_its_ground_drives_the_cable(bare: Scenario) -> None:
    result = solve_variant(bare.variants[0], bare.analysis, NEEDS)
    assert result.moments is not None
    assert result.ground == ("ground", result.layout_loop.ground.inductance)
    found = compare_emission(bare.emission, [result], result.variant.name)
    lines = {each.name: each.highest.level for each in found.product.predictions[0].lines}
    assert lines["cable, current-driven"] > lines["cable, voltage-driven"] > -20
    assert found.predictions[0].cable.ground == "ground"
    assert [each.name for each in found.product.measures] == [
        "edge 2 times as long",
        "snubber of 3 times the switch's capacitance",
        "filter of 20 dB at the cable",
    ]


def test_what_flows_in_pads_over_a_layer_is_in_the_moments_uncertainty() -> None:
    # Edges have no pads; over a layer that takes nearly all of it, pads of 0.2 mm would be more than is left.
    scenario = read_scenario(strips(layer=True))
    edges = solve_variant(scenario.variants[0], scenario.analysis, NEEDS - {Need.MOMENT})
    assert edges.layout_loop is not None
    band = moment_uncertainty(edges, variant_moment(edges, scenario.emission))
    padded = replace(edges.layout_loop, moment_vector=edges.layout_loop.moment_vector + np.array([0, 0, 8e-6]))
    more = replace(edges, layout_loop=padded)
    assert moment_uncertainty(more, variant_moment(more, scenario.emission)) > band + 3
