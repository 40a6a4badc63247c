"""From a loop's impedance to the voltage at its switch: waveform, overshoot, ring, snubber, limits, bench.

The loop is a linear circuit: its resistors, inductors and cells of the two, the package, the switch's capacitance and a
snubber. A straight edge drives it from rest; load current and charge recovered from a diode are not in it.
"""
