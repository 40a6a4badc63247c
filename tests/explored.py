"""The small what-if study that the tests of its numbers and of its page share."""

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
