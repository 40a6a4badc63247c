"""An operating point that several tests share, here and in `validation/`, as a scenario holds it."""

EDGE = """
[switching]
input_voltage = "24 V"
edge_time = "2 ns"
output_capacitance = "300 pF"
switch_resistance = "0.3 ohm"
capacitor_resistance = "5 mohm"
"""

OPERATION = f"""{EDGE}frequency = "1 MHz"

[emission]
current = "4 A"
limits = ["CISPR 32 class B"]
"""
