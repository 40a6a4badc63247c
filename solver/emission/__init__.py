"""From a loop's current and moment to field strength at a distance: spectrum, cables, margins to limits.

Levels are in dB above 1 microvolt per metre and of root-mean-square values, as a receiver is calibrated; phasors of
waveforms are peak values, as everywhere else.
"""
