"""Partial inductances of thin tapes with uniform current.

C. Hoer, C. Love, "Exact inductance equations for rectangular conductors with applications to more complicated
geometries", Journal of Research of the National Bureau of Standards 69C (1965) 127-137; A. E. Ruehli, "Inductance
calculations in a complex integrated circuit environment", IBM Journal of Research and Development 16 (1972) 470-481
(both from memory). The closed forms for zero thickness are those of solver.formulas; the mutuals of bars 35 um thick
were computed independently from the 64-term formula of the first.
"""

import pytest

from geometries.layout.layout import Spread
from geometries.quantities import MM
from solver.formulas import tape_partial_inductance, tapes_partial_mutual

TAPES = "Hoer & Love 1965 and Ruehli 1972, thin tapes"
BARS = "Hoer & Love 1965, bars 10 x 1 mm, 35 µm thick"

# Displacement across, out of the plane and along in mm; nH.
MUTUALS = [((0, 0.2, 0), 6.065620525), ((2, 0, 0), 3.028372228), ((0, 1.5, 0), 3.410870333), ((3, 0.2, 4), 2.036879685)]


@pytest.mark.parametrize(("length", "width"), [(1, 1), (5, 1), (10, 1), (10, 0.25)])
def test_self_term(board, references, length, width):
    tape = board.strip("tape", length, width)
    references.compare(
        found=board.inductance(tape, ports=(board.ends(tape, Spread.UNIFORM),), frequency=0.0),
        reference=tape_partial_inductance(length * MM, width * MM) * 1e9,
        rtol=5e-4,
        source=TAPES,
        item=f"self term, {length:g} x {width:g} mm",
        unit="nH",
        reason="exact; twelve points in the outer integral of neighbours leave 3e-4",
        mark="from memory",
    )


def _mutual(board, across, distance, along):
    one = board.strip("one", 10, 1)
    other = board.strip("other", 10, 1, x=along, y=across, height=distance)
    found = board.solve(one, other, ports=(board.ends(one), board.ends(other)), frequency=0.0)
    return float(found.inductance[0, 1]) * 1e9


@pytest.mark.parametrize(("place", "reference"), MUTUALS)
def test_mutual_term(board, references, place, reference):
    found = _mutual(board, *place)
    where = "across {:g}, out of plane {:g}, along {:g} mm".format(*place)
    across, distance, along = (step * MM for step in place)
    references.compare(
        found=found,
        reference=tapes_partial_mutual(10 * MM, 1 * MM, across=across, distance=distance, offset=along) * 1e9,
        rtol=3e-4,
        source=TAPES,
        item=f"mutual, 10 x 1 mm, {where}",
        unit="nH",
        reason="exact; far triangles count by one point",
        mark="from memory",
    )
    references.compare(
        found=found,
        reference=reference,
        rtol=5e-4,
        source=BARS,
        item=f"mutual, {where}",
        unit="nH",
        reason="bars 35 µm thick instead of tapes: up to 1.2e-4, and far triangles count by one point",
        mark="computed independently",
    )
