import pytest

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.errors import GeometryError
from geometries.files.stackups import named_stackup, stackup_names

CORE = DielectricLayer(name="core", thickness=1.53e-3, relative_permittivity=4.4)
TOP = CopperLayer(name="L1", thickness=35e-6)
BOTTOM = CopperLayer(name="L2", thickness=35e-6)


def test_height_zero_is_the_underside_of_the_top_copper():
    stackup = Stackup(name="two", layers=(TOP, CORE, BOTTOM))
    assert stackup.heights("L1") == pytest.approx((0, 35e-6))
    assert stackup.heights("L2") == pytest.approx((-1.565e-3, -1.53e-3))


def test_a_mask_on_top_does_not_move_height_zero():
    mask = DielectricLayer(name="mask", thickness=20e-6, relative_permittivity=3.5)
    stackup = Stackup(name="two", layers=(mask, TOP, CORE, BOTTOM))
    assert stackup.heights("L1")[0] == pytest.approx(0, abs=1e-15)
    assert stackup.top == pytest.approx(55e-6)


def test_an_unknown_layer_is_refused_with_the_known_ones():
    with pytest.raises(GeometryError, match="no copper layer 'L7'; its copper layers are L1, L2"):
        Stackup(name="two", layers=(TOP, CORE, BOTTOM)).heights("L7")


def test_zero_thickness_is_refused():
    with pytest.raises(GeometryError, match="'L1' of stackup 'two' has a thickness of 0 m"):
        Stackup(name="two", layers=(CopperLayer(name="L1", thickness=0.0), CORE, BOTTOM))


def test_copper_on_copper_is_refused():
    with pytest.raises(GeometryError, match="put a dielectric between"):
        Stackup(name="two", layers=(TOP, BOTTOM, CORE))


def test_two_copper_layers_of_one_name_are_refused():
    with pytest.raises(GeometryError, match="two copper layers called 'L1'"):
        Stackup(name="two", layers=(TOP, CORE, CopperLayer(name="L1", thickness=35e-6)))


@pytest.mark.parametrize("name", stackup_names())
def test_every_named_construction_is_as_thick_as_its_name_says(name):
    stackup = named_stackup(name)
    nominal = {"2L-1.0": 1.0e-3, "2L-0.8": 0.8e-3}.get(name, 1.6e-3)
    assert stackup.thickness == pytest.approx(nominal, rel=0.1)
    assert len(stackup.copper_names) == int(name[0])


def test_a_misspelt_construction_gets_its_nearest_match():
    with pytest.raises(GeometryError, match="did you mean '4L-7628'"):
        named_stackup("4L-7268")
