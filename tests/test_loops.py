import pytest

from geometries.errors import GeometryError
from geometries.files.stackups import named_stackup
from geometries.quantities import MM
from geometries.section.analysis import Analysis
from geometries.section.loops import (
    NextLayerLoop,
    Plane,
    SameLayerLoop,
    Slot,
    ThroughBoardLoop,
    Tie,
    TieVias,
    cross_section,
    tie_row,
)
from geometries.study.scenario import Variant
from solver.variant.warnings import variant_warnings

FOUR = named_stackup("4L-7628")
SIDE_BY_SIDE = SameLayerLoop(width=3 * MM, return_width=2 * MM, gap=1 * MM, length=8 * MM, layer="L1")


def plane(**changes):
    return Plane(**{"layer": "L2", "tie": Tie.NONE, "width": 40 * MM} | changes)


def test_a_same_layer_loop_is_centred_and_keeps_its_gap():
    section = cross_section("s", FOUR, SIDE_BY_SIDE)
    go, back = section.region("go").outline, section.region("return").outline
    assert (go.left, back.right) == pytest.approx((-3 * MM, 3 * MM))
    assert back.left - go.right == pytest.approx(1 * MM)


def test_the_plane_lies_the_prepreg_below_the_loop():
    section = cross_section("s", FOUR, SIDE_BY_SIDE, [plane()])
    assert section.region("go").outline.bottom - section.region("L2").outline.top == pytest.approx(0.2 * MM)


def test_a_stitched_plane_joins_the_return_and_a_floating_one_does_not():
    assert cross_section("s", FOUR, SIDE_BY_SIDE, [plane(tie=Tie.BOTH_ENDS)]).groups == ("go", "return")
    assert cross_section("s", FOUR, SIDE_BY_SIDE, [plane()]).groups == ("go", "return", "L2")


def test_an_absent_plane_leaves_no_region():
    assert len(cross_section("s", FOUR, SIDE_BY_SIDE, [plane(tie=Tie.ABSENT)]).regions) == 2


def test_a_slot_cuts_the_plane_in_two_bonded_parts():
    section = cross_section("s", FOUR, SIDE_BY_SIDE, [plane(slots=(Slot(position=0, width=1 * MM),))])
    left, right = section.region("L2 part 1").outline, section.region("L2 part 2").outline
    assert right.left - left.right == pytest.approx(1 * MM)
    assert section.groups == ("go", "return", "L2")


def test_a_slot_may_leave_the_halves_apart():
    slot = Slot(position=0, width=1 * MM, bonded=False)
    assert cross_section("s", FOUR, SIDE_BY_SIDE, [plane(slots=(slot,))]).groups == (
        "go",
        "return",
        "L2",
        "L2 beyond open slot 1",
    )


def test_only_an_open_slot_separates():
    slots = (Slot(position=-5 * MM, width=1 * MM), Slot(position=5 * MM, width=1 * MM, bonded=False))
    section = cross_section("s", FOUR, SIDE_BY_SIDE, [plane(slots=slots)])
    assert [region.group for region in section.regions[2:]] == ["L2", "L2", "L2 beyond open slot 1"]


def test_an_open_slot_in_a_stitched_plane_is_refused():
    slot = Slot(position=0, width=1 * MM, bonded=False)
    with pytest.raises(GeometryError, match="tied to the return at both ends, and so are both sides"):
        cross_section("s", FOUR, SIDE_BY_SIDE, [plane(tie=Tie.BOTH_ENDS, slots=(slot,))])


def test_a_stitched_plane_on_the_return_layer_is_the_return():
    loop = NextLayerLoop(width=3 * MM, return_width=3 * MM, length=8 * MM, layer="L1", return_layer="L2")
    slotted = plane(tie=Tie.BOTH_ENDS, slots=(Slot(position=0, width=1 * MM),))
    section = cross_section("s", FOUR, loop, [slotted])
    assert [region.name for region in section.regions] == ["go", "L2 part 1", "L2 part 2"]
    assert section.groups == ("go", "return")


def test_a_slot_outside_its_plane_is_refused():
    with pytest.raises(GeometryError, match=r"slot of plane 'L2' reaches from 19\.5 to 20\.5 mm"):
        cross_section("s", FOUR, SIDE_BY_SIDE, [plane(slots=(Slot(position=20 * MM, width=1 * MM),))])


def test_the_edge_distance_sets_the_right_edge_of_the_plane():
    section = cross_section("s", FOUR, SIDE_BY_SIDE, [plane(edge_distance=0.5 * MM)])
    outline = section.region("L2").outline
    assert (outline.left, outline.right) == pytest.approx((-36.5 * MM, 3.5 * MM))


def test_etched_walls_narrow_away_from_the_laminate():
    lean = SameLayerLoop(width=3 * MM, return_width=3 * MM, gap=1 * MM, length=8 * MM, layer="L1", sidewall_angle=45.0)
    outline = cross_section("s", FOUR, lean).region("go").outline
    (x0, _), (x1, _), (x2, _), (x3, _) = sorted(outline.vertices, key=lambda vertex: vertex[1])
    assert abs(x1 - x0) == pytest.approx(3 * MM)
    assert abs(x3 - x2) == pytest.approx(3 * MM - 70e-6)


def test_a_through_board_loop_returns_on_the_last_layer():
    loop = ThroughBoardLoop(width=3 * MM, return_width=3 * MM, length=3 * MM)
    section = cross_section("s", FOUR, loop)
    assert section.region("return").outline.bottom == pytest.approx(FOUR.heights("L4")[0])


def test_a_plane_in_the_loops_own_copper_is_refused():
    with pytest.raises(GeometryError, match="would lie in the loop's own copper"):
        cross_section("s", FOUR, SIDE_BY_SIDE, [plane(layer="L1")])


def test_a_plane_above_the_loop_is_refused():
    buried = NextLayerLoop(width=3 * MM, return_width=3 * MM, length=8 * MM, layer="L3", return_layer="L4")
    with pytest.raises(GeometryError, match="lies above the loop"):
        cross_section("s", FOUR, buried, [plane()])


def test_a_next_layer_loop_needs_two_layers():
    with pytest.raises(GeometryError, match="both lie on layer 'L1'"):
        NextLayerLoop(width=3 * MM, return_width=3 * MM, length=8 * MM, layer="L1", return_layer="L1")


@pytest.mark.parametrize("name", ["width", "return_width", "gap", "length"])
def test_no_dimension_may_be_zero(name):
    sizes = {"width": MM, "return_width": MM, "gap": MM, "length": MM} | {name: 0.0}
    with pytest.raises(GeometryError, match=f"{name} is 0 m; it must be above zero"):
        SameLayerLoop(layer="L1", **sizes)


@pytest.mark.parametrize("end", [Tie.CAPACITOR_END, Tie.SWITCH_END])
def test_a_plane_tied_at_one_end_carries_no_return_and_can_be_built(end):
    section = cross_section("s", FOUR, SIDE_BY_SIDE, [plane(tie=end)])
    assert section.groups == ("go", "return", "L2")
    assert (section.ground_carries_return, section.untied_layers) == (False, ())


def test_a_plane_that_is_tied_nowhere_is_named():
    assert cross_section("s", FOUR, SIDE_BY_SIDE, [plane(tie=Tie.NONE)]).untied_layers == ("L2",)


def test_a_row_of_vias_fills_the_return_copper_unless_it_is_given():
    # Return copper of 2 mm: holes of 0.3 mm every 0.8 mm, so 3 of them over 1.9 mm.
    assert tie_row(plane(tie=Tie.BOTH_ENDS), SIDE_BY_SIDE).count == 3
    assert tie_row(plane(tie=Tie.BOTH_ENDS, vias=TieVias(count=2)), SIDE_BY_SIDE).count == 2
    assert tie_row(plane(), SIDE_BY_SIDE) is None


def test_a_row_wider_than_its_copper_is_refused():
    row = TieVias(count=4, pitch=1 * MM, drill=0.3 * MM)
    with pytest.raises(GeometryError, match=r"a row 3\.3 mm wide, and the copper that they tie is 2 mm wide"):
        cross_section("s", FOUR, SIDE_BY_SIDE, [plane(tie=Tie.BOTH_ENDS, vias=row)])


def test_vias_of_a_plane_that_is_tied_nowhere_are_refused():
    with pytest.raises(GeometryError, match="plane 'L2' has vias, but its tie is 'none'"):
        plane(vias=TieVias())


@pytest.mark.parametrize(
    ("row", "message"), [({"count": 0}, "count is 0"), ({"count": 2, "pitch": 0.3 * MM}, "the holes of a row meet")]
)
def test_rows_that_cannot_be_drilled_are_refused(row, message):
    with pytest.raises(GeometryError, match=message):
        TieVias(**row)


@pytest.mark.parametrize(
    ("tie", "codes"),
    [(Tie.NONE, ["W-UNTIED"]), (Tie.CAPACITOR_END, ["W-ONE-END"]), (Tie.BOTH_ENDS, []), (Tie.ABSENT, [])],
)
def test_a_layer_that_carries_no_return_is_said_so(tie, codes):
    section = cross_section("s", FOUR, SIDE_BY_SIDE, [plane(tie=tie)])
    analysis = Analysis(frequencies=(1e8,), report_frequency=1e8, heights_above=(3e-3,), heights_below=(3e-3,))
    found = variant_warnings(Variant(name="s", note="", section=section, length=20 * MM), analysis)
    assert [each.code for each in found if each.code in ("W-ONE-END", "W-UNTIED")] == codes
