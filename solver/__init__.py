"""How a cross-section is meshed, solved, compared and shown.

Conventions of every module: SI units; x to the right across the board, y up out of the board, currents
positive along +z; phasors are peak values with the time factor exp(+j omega t); relative permeability is 1.
"""
