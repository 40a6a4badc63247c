"""One Gerber file: its shapes, its attributes, and what it is refused for."""

import math

import numpy as np
import pytest
from shapely.geometry import LineString

from geometries.fabrication import plotter
from geometries.fabrication.arcs import CHORD_ERROR
from geometries.fabrication.copper import copper_by_net
from geometries.fabrication.crossings import own_crossings
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber import Kind
from geometries.fabrication.gerber_reading import read_gerber
from geometries.quantities import MM

CHORD = CHORD_ERROR / MM
"""Chords this far [mm] inside their arc take 4/3 of it over the radius from the area of a disc."""
HEAD = "%FSLAX46Y46*%%MOMM*%"


def gerber(body: str, head: str = HEAD):
    return read_gerber("lamp.gbr", f"{head}{body}M02*")


def area(body: str, head: str = HEAD) -> float:
    """Area of all copper in mm²."""
    return sum(shape.area for shape in copper_by_net(gerber(body, head)).values()) / MM**2


def test_a_round_flash_has_the_circles_area():
    assert area("%ADD10C,2*%D10*X0Y0D03*") == pytest.approx(math.pi, rel=1e-9)


@pytest.mark.parametrize(
    ("aperture", "expected"),
    [
        ("R,2X3", 6.0),
        ("P,2X6", 6 * math.sqrt(3) / 4),
        ("C,2X1", math.pi * 0.75),
        ("R,2X3X1", 6 - math.pi / 4),
    ],
)
def test_standard_apertures_have_their_areas(aperture, expected):
    assert area(f"%ADD10{aperture}*%D10*X0Y0D03*") == pytest.approx(expected, rel=1e-9)


def test_an_obround_is_a_rectangle_between_two_half_circles():
    assert area("%ADD10O,1X3*%D10*X0Y0D03*") == pytest.approx(2 + math.pi / 4, rel=4 / 3 * CHORD / 0.5)


def test_a_stroke_covers_its_length_and_two_half_circles():
    body = "%ADD10C,1*%D10*X0Y0D02*X10000000Y0D01*"
    assert area(body) == pytest.approx(10 + math.pi / 4, rel=1e-3)


def test_a_stroke_of_a_rectangle_covers_the_hull_of_its_ends():
    assert area("%ADD10R,1X2*%D10*X0Y0D02*X4000000Y0D01*") == pytest.approx(10)


def test_a_full_circle_drawn_as_a_region_has_its_area():
    body = "G36*X5000000Y0D02*G75*G03*X5000000Y0I-5000000J0D01*G37*"
    assert area(body) == pytest.approx(25 * math.pi, rel=4 / 3 * CHORD / 5)


def test_a_clockwise_quarter_takes_the_short_way():
    body = "G36*X0Y0D02*G01*X0Y1000000D01*G75*G02*X1000000Y0I0J-1000000D01*G01*X0Y0D01*G37*"
    assert area(body) == pytest.approx(math.pi / 4, rel=2e-3)


def test_a_single_quadrant_arc_finds_the_sign_of_its_centre():
    body = "G36*X0Y0D02*G01*X0Y1000000D01*G74*G02*X1000000Y0I0J1000000D01*G01*X0Y0D01*G37*"
    assert area(body) == pytest.approx(math.pi / 4, rel=2e-3)


def test_a_cut_in_is_a_hole():
    corners = [
        (0, 0),
        (10, 0),
        (10, 10),
        (5, 10),
        (5, 6),
        (6, 6),
        (6, 4),
        (4, 4),
        (4, 6),
        (5, 6),
        (5, 10),
        (0, 10),
        (0, 0),
    ]
    drawn = "".join(f"X{x}000000Y{y}000000D0{2 if i == 0 else 1}*" for i, (x, y) in enumerate(corners))
    assert area(f"G36*{drawn}G37*") == pytest.approx(96)


def test_clear_takes_away_what_came_before_and_nothing_that_comes_after():
    square = "G36*X0Y0D02*X4000000Y0D01*X4000000Y4000000D01*X0Y4000000D01*X0Y0D01*G37*"
    body = f"%ADD10R,2X2*%%ADD11R,1X1*%{square}%LPC*%D10*X2000000Y2000000D03*%LPD*%D11*X2000000Y2000000D03*"
    assert area(body) == pytest.approx(16 - 4 + 1)


def test_a_macro_computes_with_its_parameters():
    macro = "%AMbar*$3=$1x2-1*21,1,$3,$2,0,0,0*%"
    assert area(f"{macro}%ADD10bar,2X0.5*%D10*X0Y0D03*") == pytest.approx(1.5)


def test_a_macro_primitive_without_exposure_erases_within_the_macro():
    macro = "%AMeye*1,1,2,0,0*1,0,1,0,0*%"
    assert area(f"{macro}%ADD10eye*%D10*X0Y0D03*") == pytest.approx(0.75 * math.pi, rel=1e-9)


def test_a_macro_outline_is_turned_about_the_origin():
    shape = gerber("%AMflag*4,1,3,0,0,2,0,2,1,0,0,90*%%ADD10flag*%D10*X0Y0D03*").objects[0].shape
    assert [value / MM for value in shape.bounds] == pytest.approx([-1, 0, 0, 2], abs=1e-12)


def test_steps_and_repeats_are_drawn_out():
    assert len(gerber("%ADD10C,1*%%SRX3Y2I5J7*%D10*X0Y0D03*%SR*%").objects) == 6


def test_a_repeat_is_stepped_by_its_distances():
    places = {item.place for item in gerber("%ADD10C,1*%%SRX2Y2I5J7*%D10*X0Y0D03*%SR*%").objects}
    expected = {(0.0, 0.0), (5 * MM, 0.0), (0.0, 7 * MM), (5 * MM, 7 * MM)}
    assert {(round(x, 9), round(y, 9)) for x, y in places} == {(round(x, 9), round(y, 9)) for x, y in expected}


def test_an_aperture_block_is_turned_about_its_origin():
    body = "%ADD10C,1*%%ABD12*%D10*X2000000Y0D03*%AB*%%LR90*%D12*X0Y0D03*"
    assert gerber(body).objects[0].place == pytest.approx((0, 2 * MM), abs=1e-12)


def test_a_mirrored_flash_is_on_the_other_side():
    body = "%AMflag*4,1,3,0,0,2,0,2,1,0,0,0*%%ADD10flag*%%LMX*%D10*X0Y0D03*"
    assert gerber(body).objects[0].shape.bounds[0] == pytest.approx(-2 * MM)


def test_a_scaled_flash_grows():
    assert area("%ADD10R,1X1*%%LS2*%D10*X0Y0D03*") == pytest.approx(4)


def test_inches_are_metres():
    assert area("%ADD10R,1X1*%D10*X0Y0D03*", "%FSLAX24Y24*%%MOIN*%") == pytest.approx(25.4**2)


def test_a_coordinate_that_is_left_out_stays():
    assert gerber("%ADD10C,1*%D10*X3000000Y4000000D03*X5000000D03*").objects[1].place == pytest.approx((5 * MM, 4 * MM))


def test_a_region_keeps_the_net_in_force():
    body = "%TO.N,pump*%G36*X0Y0D02*X1000000Y0D01*X0Y1000000D01*X0Y0D01*G37*%TD*%"
    item = gerber(body).objects[0]
    assert (item.kind, item.attributes.net) == (Kind.REGION, "pump")


def test_attributes_in_comments_count():
    body = "%ADD10C,1*%D10*G04 #@! TO.N,pump*X0Y0D03*G04 #@! TD*X9000000Y0D03*"
    assert [item.attributes.net for item in gerber(body).objects] == ["pump", ""]


def test_names_are_decoded():
    body = r"%ADD10C,1*%D10*%TO.N,/bay{slash}EN\u002A*%X0Y0D03*"
    assert gerber(body).objects[0].attributes.net == "/bay/EN*"


def test_a_pad_has_reference_pin_and_function():
    known = gerber("%ADD10C,1*%D10*%TO.P,U1,3,VIN*%X0Y0D03*").objects[0].attributes
    assert (known.reference, known.pin, known.function) == ("U1", "3", "VIN")


def test_a_pad_that_is_not_connected_has_no_net():
    assert gerber("%ADD10C,1*%D10*%TO.N,N/C*%X0Y0D03*").objects[0].attributes.net == ""


def test_a_new_net_ends_the_stroke_before_it():
    body = "%ADD10C,1*%D10*%TO.N,a*%X0Y0D02*X5000000Y0D01*%TO.N,b*%X5000000Y5000000D01*"
    assert [item.attributes.net for item in gerber(body).objects] == ["a", "b"]


def test_a_region_that_crosses_itself_is_remarked_on():
    body = "G36*X0Y0D02*X2000000Y2000000D01*X2000000Y0D01*X0Y1000000D01*X0Y0D01*G37*"
    assert "crosses itself" in gerber(body).remarks[0]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("%FSLAX46Y46*%%MOMM*%%ADD10C,1*%D10*X0Y0D03*", "breaks off in line 1; a Gerber file ends with M02"),
        ("grocery list", "not a Gerber file"),
        ("%FSLAX46Y46*%%ADD10C,1*%M02*", "no unit was set"),
        ("%MOMM*%%ADD10C,1*%D10*X0Y0D03*M02*", "no coordinate format"),
        (f"{HEAD}%ADD10C,1*%G70*M02*", "changes its unit"),
        (f"{HEAD}G91*M02*", "incremental"),
        ("%FSLIX46Y46*%M02*", "incremental"),
        (f"{HEAD}D17*X0Y0D03*M02*", "aperture D17 is used, but was not defined"),
        (f"{HEAD}%IPNEG*%M02*", "changes the whole image"),
        (f"{HEAD}%ADD10moon,1*%M02*", "macro 'moon', which the file does not define"),
        (f"{HEAD}%AMm*99,1,2*%%ADD10m*%M02*", "primitive 99"),
        (f"{HEAD}%AMm*1,1,$1+,0,0*%%ADD10m,1*%M02*", "cannot be evaluated"),
        (f"{HEAD}G37*M02*", "not begun with G36"),
        (f"{HEAD}%AB*%M02*", "not begun"),
        (f"{HEAD}%ADD10C,1*%D10*X0Y0D02*G75*G03*X9000000Y0I1000000J0D01*M02*", "from its centre"),
        (f"{HEAD}BREAD*M02*", "'BREAD' is not known"),
    ],
)
def test_a_faulty_file_is_refused_with_the_reason(text, message):
    with pytest.raises(FabricationError, match=message):
        read_gerber("lamp.gbr", text)


def test_a_fault_is_named_with_its_file_and_line():
    with pytest.raises(FabricationError, match=r"^lamp\.gbr, line 3: aperture D12"):
        read_gerber("lamp.gbr", f"{HEAD}\n%ADD10C,1*%\nD12*X0Y0D03*\nM02*\n")


def test_nested_repeats_cannot_fill_the_memory():
    blocks = "".join(f"%ABD{n}*%%SRX99Y99I1J1*%D{n - 1}*X0Y0D03*%SR*%%AB*%" for n in range(11, 14))
    with pytest.raises(FabricationError, match="more than 400000 objects"):
        gerber(f"%ADD10C,1*%{blocks}D13*X0Y0D03*")


PEN = "%ADD10C,0.1*%D10*"


def drawn_at_random(count):
    places = np.random.default_rng(3).integers(0, 40_000_000, (count, 2))
    return "X0Y0D02*\n" + "".join(f"X{x}Y{y}D01*\n" for x, y in places)


def test_a_stroke_that_crosses_itself_beyond_bounds_is_refused_with_its_number():
    with pytest.raises(FabricationError, match=r"of 3001 corners crosses itself: 1e\+06 crossings so far, and more"):
        gerber(PEN + drawn_at_random(3000))


def test_an_outline_that_crosses_itself_beyond_bounds_is_refused():
    with pytest.raises(FabricationError, match="crosses itself"):
        gerber(f"G36*\n{drawn_at_random(3000)}G37*\n")


def test_many_strokes_that_cross_themselves_a_little_are_refused_together(monkeypatch):
    monkeypatch.setattr(plotter, "MOST_CROSSINGS", 5_000)
    with pytest.raises(FabricationError, match=r"of 101 corners crosses itself: 6e\+03 crossings so far"):
        gerber(PEN + 20 * drawn_at_random(100))


def test_the_crossings_of_a_stroke_are_estimated_from_a_sample():
    # a saw of 2000 teeth under a line that crosses every flank but the first
    teeth = [(x / 2, x % 2) for x in range(4001)]
    path = LineString([*teeth, (2000.0, 0.5), (0.1, 0.5)])
    assert own_crossings(path) == pytest.approx(4000, rel=0.5)


def test_objects_that_all_lie_over_each_other_are_refused():
    with pytest.raises(FabricationError, match=r"lamp.gbr: of 3000 objects about 4e\+06 pairs overlap"):
        copper_by_net(gerber(PEN + "X0Y0D03*\n" * 3000))


def test_a_drawing_of_too_many_points_is_refused(monkeypatch):
    monkeypatch.setattr(plotter, "MOST_POINTS", 50)
    with pytest.raises(FabricationError, match="more than 50 points"):
        gerber(PEN + "X0Y0D02*\n" + "X1Y1D01*\n" * 51)
