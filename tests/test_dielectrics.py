import pytest

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.quantities import MM, UM
from geometries.section.dielectrics import board_dielectrics
from geometries.section.outline import Polygon, Rectangle
from geometries.section.section import Region

MASK = DielectricLayer(name="mask", thickness=20 * UM, relative_permittivity=3.5)
PREPREG = DielectricLayer(name="prepreg", thickness=0.2 * MM, relative_permittivity=4.2)
CORE = DielectricLayer(name="core", thickness=1.0 * MM, relative_permittivity=4.5)


def copper(name):
    return CopperLayer(name=name, thickness=35 * UM)


def board(*layers):
    return Stackup(name="board", layers=layers)


FOUR = (copper("L1"), PREPREG, copper("L2"), CORE, copper("L3"))


def trace(stackup, layer="L1", left=-1.0, right=1.0):
    bottom, top = stackup.heights(layer)
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom, top=top)
    return Region(name=f"trace {left}", outline=outline, role="go")


def test_laminates_are_bands_between_the_copper_layers():
    stackup = board(*FOUR)
    parts = board_dielectrics(stackup, [trace(stackup)])
    assert [part.name for part in parts] == ["prepreg", "prepreg", "core"]


def test_resin_of_the_lower_permittivity_fills_the_gaps_of_an_inner_layer():
    stackup = board(*FOUR)
    parts = board_dielectrics(stackup, [trace(stackup)])
    bottom, top = stackup.heights("L2")
    filling = next(part for part in parts if part.outline.bounds[1] == bottom)
    assert (filling.outline.bounds[3], filling.relative_permittivity) == (top, 4.2)


def test_outer_copper_layers_have_air_beside_the_copper():
    stackup = board(*FOUR)
    assert max(part.outline.bounds[3] for part in board_dielectrics(stackup, [trace(stackup)])) == 0.0


def test_the_board_reaches_ten_thicknesses_beyond_the_copper():
    stackup = board(*FOUR)
    left, _, right, _ = board_dielectrics(stackup, [trace(stackup)])[0].outline.bounds
    assert (left, right) == pytest.approx((-1 * MM - 10 * stackup.thickness, 1 * MM + 10 * stackup.thickness))


def test_mask_has_the_same_thickness_on_laminate_copper_and_side_walls():
    stackup = board(MASK, *FOUR)
    coat = board_dielectrics(stackup, [trace(stackup)])[0].outline
    assert isinstance(coat, Polygon)
    width = coat.bounds[2] - coat.bounds[0]
    expected = width * 20 * UM + (2 * MM + 40 * UM) * 35 * UM
    assert coat.area == pytest.approx(expected, rel=1e-9)
    assert coat.bounds[3] == pytest.approx(55 * UM)


def test_mask_below_the_board_follows_the_last_layer():
    stackup = board(*FOUR, MASK)
    coat = board_dielectrics(stackup, [trace(stackup, "L3")])[-1].outline
    laminate = stackup.heights("L3")[1]
    assert coat.bounds[3] == laminate
    assert coat.bounds[1] == pytest.approx(laminate - 55 * UM)


def test_mask_without_copper_under_it_is_flat():
    stackup = board(*FOUR, MASK)
    coat = board_dielectrics(stackup, [trace(stackup)])[-1].outline
    assert coat.bounds[3] - coat.bounds[1] == pytest.approx(20 * UM)
