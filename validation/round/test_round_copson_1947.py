"""Ring over a perfect disc of finite radius, and over a perfect plane with a round hole.

Sources: E. T. Copson, Proceedings of the Edinburgh Mathematical Society 8 (1947) 14-19; I. N. Sneddon, *Mixed Boundary
Value Problems in Potential Theory* (1966) (both from memory; the solution for this loop is derived). The numbers were
computed independently, R = 2 mm, h = 0.5 mm; solver.formulas finds them again. Here the disc is 0.5 um thick and the
wire has 0.01 mm radius; the plane with the hole reaches 40 mm.
"""

import math

import pytest

from solver.formulas import MU_0, circle_axis_field, coaxial_circles_mutual

SOURCE = "E. T. Copson (1947), I. N. Sneddon (1966): loop over a disc, and over a hole"
MARK = "computed independently (dual integral equations, exact)"
THICKNESS = 0.5e-3
FINE = {"growth": 0.25, "axis_fraction": 0.03}

# Disc radius mm, change of the inductance nH.
DISC = [
    (1.0, -0.193140098),
    (2.0, -1.684322308),
    (2.5, -2.130029547),
    (3.0, -2.202277202),
    (4.0, -2.221861268),
    (5.0, -2.224324231),
    (10.0, -2.225200013),
]
# Disc radius mm, |H/H0| on the axis 1 mm behind.
DISC_FIELD = [
    (1.0, 0.6620060168),
    (2.0, 0.1267547375),
    (3.0, 0.01151899333),
    (5.0, 0.0007094240828),
    (10.0, 2.040834914e-05),
]
# Hole radius mm, increase of the inductance over that with the whole plane nH.
HOLE = [(1.0, 0.002322741704), (1.5, 0.03515849742), (2.0, 0.3558439484), (3.0, 1.622088258), (5.0, 2.109885004)]
# Hole radius mm, |H/H0| on the axis 1 mm behind.
HOLE_FIELD = [(0.5, 0.0012765382), (1.0, 0.02375909998), (2.0, 0.3306559241), (3.0, 0.7622190784)]


@pytest.fixture
def solve(turned):
    def solved(inner, outer):
        ring = turned.wire("go", 2.0, 0.5, 0.01)
        discs = [turned.bar("floating", inner, outer, -THICKNESS, 0.0)] if outer > 0 else []
        return turned.solve(ring, *discs, frequency=math.inf, **FINE)

    return solved


@pytest.fixture
def shielding(turned, solve):
    def found(inner, outer):
        field = turned.flux_density(solve(inner, outer), (0.0, -1.0))[0, 1].real
        return field / MU_0 / circle_axis_field(2e-3, 1.5e-3)

    return found


@pytest.mark.parametrize(("edge", "reference"), DISC)
def test_inductance_over_a_disc(turned, solve, references, edge, reference):
    references.compare(
        found=turned.inductance(solve(0.0, edge)) - turned.inductance(solve(0.0, 0.0)),
        reference=reference,
        rtol=5e-3,
        source=SOURCE,
        item=f"change of L by a disc of {edge:g} mm",
        unit="nH",
        reason="disc 0.5 um thick, wire of 0.01 mm radius, our mesh",
        mark=MARK,
    )


@pytest.mark.parametrize(("edge", "reference"), DISC_FIELD)
def test_field_behind_a_disc(shielding, references, edge, reference):
    references.compare(
        found=shielding(0.0, edge),
        reference=reference,
        rtol=1e-2,
        source=SOURCE,
        item=f"H/H0 on the axis 1 mm behind a disc of {edge:g} mm",
        unit="1",
        reason="disc 0.5 um thick, our mesh at the axis",
        mark=MARK,
    )


@pytest.mark.parametrize(("edge", "reference"), HOLE)
def test_inductance_over_a_hole(turned, solve, references, edge, reference):
    # The whole change by the plane with its hole: the part of the smallest hole alone is a thousandth of it.
    whole = coaxial_circles_mutual(2e-3, 2e-3, 1e-3) * 1e9
    references.compare(
        found=turned.inductance(solve(edge, 40.0)) - turned.inductance(solve(0.0, 0.0)),
        reference=reference - whole,
        rtol=5e-3,
        source=SOURCE,
        item=f"change of L by a plane with a hole of {edge:g} mm",
        unit="nH",
        reason="plane 0.5 um thick and 40 mm wide, wire of 0.01 mm radius, our mesh",
        mark=MARK,
    )


@pytest.mark.parametrize(("edge", "reference"), HOLE_FIELD)
def test_field_behind_a_hole(shielding, references, edge, reference):
    references.compare(
        found=shielding(edge, 40.0),
        reference=reference,
        rtol=1e-2,
        source=SOURCE,
        item=f"H/H0 on the axis 1 mm behind a hole of {edge:g} mm",
        unit="1",
        reason="plane 0.5 um thick, in which the field of the smallest hole falls by 0.4 %; our mesh at the axis",
        mark=MARK,
    )
