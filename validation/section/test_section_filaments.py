"""Loops of 3 mm copper on a board, with and without planes: a table of filament computations.

Source: computed independently with the conductors cut into filaments of uniform current, mesh error about 0.2 %,
three digits stated. Copper there has 1.72e-8 ohm m, which is used here too; all copper is 35 um thick, the planes
are 40 mm wide, h is the gap between the facing surfaces. Same layer: two 3 mm strips with 1 mm between them. Next
layer: one 3 mm strip whose return is the plane.
"""

import pytest

from geometries.board.materials import Conductor

SOURCE = "Filament computation: 3 mm copper, 40 mm planes"
MARK = "computed independently (filaments, mesh error about 0.2 %, three digits)"
REASON = "mesh error of the reference 0.2 %, half a unit of its last digit up to 0.7 %, ours 0.1 %"
METAL = Conductor(name="copper of the reference", conductivity=1 / 1.72e-8)
THICKNESS = 0.035


def _plane(fixture, role, top, name="plane"):
    return fixture.bar(role, -20.0, 20.0, top - THICKNESS, top, name=name, material=METAL)


def _same_layer(fixture, *planes):
    go = fixture.bar("go", -3.5, -0.5, 0.0, THICKNESS, material=METAL)
    back = fixture.bar("return", 0.5, 3.5, 0.0, THICKNESS, material=METAL)
    return (go, back, *planes)


def _inductance(fixture, *section, frequency=1e8):
    """In nH/mm, as the table has it."""
    return fixture.inductance(fixture.solve(*section, frequency=frequency, highest_frequency=1e8)) * 1e-3


def _compare(references, found, reference, item, unit="nH/mm"):
    references.compare(
        found=found, reference=reference, rtol=1e-2, source=SOURCE, item=item, unit=unit, reason=REASON, mark=MARK
    )


def test_same_layer_without_plane(fixture, references):
    _compare(references, _inductance(fixture, *_same_layer(fixture)), 0.582, "L', same layer, no plane, 100 MHz")


@pytest.mark.parametrize(("height", "reference"), [(1.53, 0.460), (0.2, 0.137)])
def test_same_layer_over_a_floating_plane(fixture, references, height, reference):
    section = _same_layer(fixture, _plane(fixture, "floating", -height))
    item = f"L', same layer, floating plane h = {height:g} mm, 100 MHz"
    _compare(references, _inductance(fixture, *section), reference, item)


@pytest.mark.parametrize(("frequency", "reference"), [(3e4, 0.541), (1e5, 0.306), (1e6, 0.152), (1e7, 0.145)])
def test_floating_plane_takes_hold_with_frequency(fixture, references, frequency, reference):
    section = _same_layer(fixture, _plane(fixture, "floating", -0.2))
    item = f"L', same layer, floating plane h = 0.2 mm, {frequency:.0e} Hz"
    _compare(references, _inductance(fixture, *section, frequency=frequency), reference, item)


@pytest.mark.parametrize(("height", "reference", "share"), [(1.53, 0.280, 78.0), (0.2, 0.070, 97.0)])
def test_same_layer_over_a_stitched_plane(fixture, references, height, reference, share):
    section = _same_layer(fixture, _plane(fixture, "return", -height))
    item = f"same layer, stitched plane h = {height:g} mm, 100 MHz"
    _compare(references, _inductance(fixture, *section), reference, f"L', {item}")
    field = fixture.solve(*section, frequency=1e8, highest_frequency=1e8)
    carried = -100 * fixture.share(field, "plane")
    _compare(references, carried, share, f"share of the return in the plane, {item}", "%")


@pytest.mark.parametrize(("height", "reference"), [(1.53, 0.299), (0.2, 0.0704), (0.1, 0.0394)])
def test_return_on_the_next_layer(fixture, references, height, reference):
    go = fixture.bar("go", -1.5, 1.5, 0.0, THICKNESS, material=METAL)
    section = (go, _plane(fixture, "return", -height))
    _compare(
        references, _inductance(fixture, *section), reference, f"L', return in the plane, h = {height:g} mm, 100 MHz"
    )


@pytest.mark.parametrize("tops", [(-1.33,), (-1.33, -1.53)])
def test_more_planes_below_the_first_change_nothing(fixture, references, tops):
    first = _plane(fixture, "floating", -0.2)
    deeper = [_plane(fixture, "floating", top, name=f"plane at {-top:g} mm") for top in tops]
    references.compare(
        found=_inductance(fixture, *_same_layer(fixture, first, *deeper)),
        reference=_inductance(fixture, *_same_layer(fixture, first)),
        rtol=2e-3,
        source=SOURCE,
        item=f"L', {len(tops) + 1} floating planes against the first alone (ours), h = 0.2 mm, 100 MHz",
        unit="nH/mm",
        reason="stated as no change; 0.2 % is the mesh error of that computation",
        mark="computed independently (no change seen)",
    )
