"""Capacitance between two strips on a dielectric over a plane, from squares of charge, against a fitted formula.

M. Kirschning, R. H. Jansen, "Accurate wide-range design equations for the frequency-dependent characteristic of
parallel coupled microstrip lines", IEEE Trans. MTT-32 (1984) 83-90 (from memory, as in
solver.formulas.coupled_microstrip): of two equal strips the capacitance between them is half the difference of those
of the odd and the even mode, sqrt(eps)/(c Z). What the ends of strips add is taken away by the difference of two
lengths.
"""

import math

import pytest
import shapely

from geometries.quantities import MM
from solver.board.node_field import surface_capacitance
from solver.constants import SPEED_OF_LIGHT
from solver.formulas.coupled_microstrip import (
    coupled_microstrip_even_impedance,
    coupled_microstrip_even_permittivity,
    coupled_microstrip_odd_impedance,
    coupled_microstrip_odd_permittivity,
)

LONG, SHORT = 10 * MM, 6 * MM


def by_formula(*strips):
    even = math.sqrt(coupled_microstrip_even_permittivity(*strips)) / coupled_microstrip_even_impedance(*strips)
    odd = math.sqrt(coupled_microstrip_odd_permittivity(*strips)) / coupled_microstrip_odd_impedance(*strips)
    return (odd - even) / 2 / SPEED_OF_LIGHT


def of_length(length, width, gap, height, permittivity):
    one, other = (shapely.box(0, start, length, start + width) for start in (0.0, width + gap))
    return surface_capacitance(one, other, shapely.Polygon(), height, permittivity)


WIDE, THIN = (1 * MM, 0.5 * MM, 0.5 * MM, 4.4), (0.3 * MM, 0.3 * MM, 1 * MM, 4.4)
LOW = (0.5 * MM, 0.5 * MM, 0.2 * MM, 4.1)


@pytest.mark.parametrize("strips", [WIDE, THIN, LOW])
def test_capacitance_between_two_strips(references, strips):
    references.compare(
        found=(of_length(LONG, *strips) - of_length(SHORT, *strips)) / (LONG - SHORT) * 1e12,
        reference=by_formula(*strips) * 1e12,
        rtol=0.12,
        source="Kirschning and Jansen 1984",
        item="strips {:.1f} mm wide, {:.1f} mm apart, {:.1f} mm over a plane, permittivity {:g}".format(
            *(value / MM for value in strips[:3]), strips[3]
        ),
        unit="pF/m",
        reason="the formula's modes to 0.6 % each, of which this is a small difference; two thousand squares",
        mark="from memory",
    )
