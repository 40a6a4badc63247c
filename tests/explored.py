"""The small what-if study that the tests of its numbers and of its page share, and closed forms in a solver's place."""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometries.study.explore import Exploration
from solver.explore.interpolation import place
from solver.explore.points import Place, SolvedPlace, explored_figures, operating_states, whole_index
from solver.explore.surrogate import Surrogate, surrogates
from solver.variant.figure import Reading

CHECKED = [(0.83, -0.4), (-0.61, 0.2), (0.21, 0.9)]
"""Independent states of the two keys."""

BOARD = """
title = "small <b>board</b> </script>"
stackup = "2L-0.8"
analysis = { frequencies = ["1 MHz"], report_frequency = "1 MHz", tolerance = "1 %", axisymmetric_view = false }
loop = { kind = "same-layer", width = "2 mm", gap = "1 mm", length = "6 mm" }
budgets = { loop_inductance = "4 nH" }
[switching]
input_voltage = "24 V"
edge_time = "2 ns"
output_capacitance = "300 pF"
switch_resistance = "0.3 ohm"
frequency = "1 MHz"
voltage_rating = "45 V"
[emission]
current = "3 A"
limits = ["CISPR 32 class B"]
cable = { length = "1 m" }
board = { width = "50 mm", length = "70 mm" }
node = { width = "6 mm", length = "6 mm" }
[explore]
points = 5
vary = [
  { key = "loop.gap", from = "0.6 mm", to = "1.4 mm" },
  { key = "switching.edge_time", from = "1.5 ns", to = "3 ns", spacing = "logarithmic" },
]
"""

PLACED = """
title = "lamp"
stackup = "4L-7628"
analysis = { report_frequency = "1 MHz", axisymmetric_view = false }
switch = { package = "land-grid", copper_width = "1.6 mm", gap = "0.6 mm", part_width = "3 mm" }
capacitor = [{ case = "0603", capacitance = "1 uF", esr = "4 mohm", esl = "0.4 nH" }]
planes.L2 = { tie = "switch end", width = "30 mm" }
placement = { kind = "same-side", distance = "0.6 mm" }
[explore]
vary = [
  { key = "switch.gap", from = "0.5 mm", to = "0.8 mm" },
]
"""

OUTLINE = """
title = "lamp as drawn"
stackup = "4L-7628"
analysis = { report_frequency = "1 MHz", axisymmetric_view = false }
[[outline.copper]]
name = "input"
layer = "L1"
corners = [["0 mm", "0.3 mm"], ["5 mm", "0.3 mm"], ["5 mm", "2 mm"], ["0 mm", "2 mm"]]
[[outline.copper]]
name = "ground"
layer = "L1"
corners = [["0 mm", "-2 mm"], ["5 mm", "-2 mm"], ["5 mm", "-0.3 mm"], ["0 mm", "-0.3 mm"]]
[[outline.copper]]
name = "layer"
layer = "L2"
faces = "one face"
corners = [["-3 mm", "-5 mm"], ["8 mm", "-5 mm"], ["8 mm", "5 mm"], ["-3 mm", "5 mm"]]
holes = [[["1 mm", "-1 mm"], ["4 mm", "-1 mm"], ["4 mm", "1 mm"], ["1 mm", "1 mm"]]]
[[outline.port]]
name = "switches"
height = "0.2 mm"
entry = { copper = "input", edge = [["0 mm", "0.3 mm"], ["1 mm", "0.3 mm"]] }
leave = { copper = "ground", edge = [["0 mm", "-0.3 mm"], ["1 mm", "-0.3 mm"]] }
[[outline.port]]
name = "C1"
capacitor = { case = "0603", capacitance = "1 uF", esr = "4 mohm", electrode_height = "0.2 mm" }
entry = { copper = "ground", edge = [["4 mm", "-0.3 mm"], ["5 mm", "-0.3 mm"]] }
leave = { copper = "input", edge = [["4 mm", "0.3 mm"], ["5 mm", "0.3 mm"]] }
[explore]
vary = [
  { key = "outline.port.switches.height", from = "0.1 mm", to = "0.3 mm" },
]
"""


def value_of(place_of_state: tuple[float, ...], number: int) -> float:
    """A smooth function that no polynomial of these degrees is."""
    return (
        1e-9 * (number + 1) * math.exp(0.4 * place_of_state[0] + 0.2 * place_of_state[-1]) / (1.6 - place_of_state[0])
    )


def solved_by_hand(asked: Exploration) -> tuple[Surrogate, ...]:
    """All variants, every figure a closed form; the second variant has twice the values of the first, and so on."""
    return surrogates(asked, [each for number in range(len(asked.variants)) for each in _places(asked, number)])


def _places(asked: Exploration, variant: int) -> list[SolvedPlace]:
    nodes = [
        _solved(
            asked, variant, (n,), [whole_index(asked, place((n,)), place(each)) for each in operating_states(asked)]
        )
        for n in range(4)
    ]
    return [*nodes, *(_solved(asked, variant, None, [state[: len(asked.axes)]]) for state in CHECKED)]


def _solved(
    asked: Exploration, variant: int, number: tuple[int, ...] | None, states: Sequence[tuple[float, ...]]
) -> SolvedPlace:
    readings = tuple(
        {
            figure.key: Reading(value=size, uncertainty=1e-3 * size)
            for n, figure in enumerate(explored_figures(asked))
            for size in [(variant + 1) * value_of(state, n)]
        }
        for state in states
    )
    where = Place(variant=asked.variants[variant].name, number=number, states=tuple(states))
    return SolvedPlace(place=where, readings=readings)
