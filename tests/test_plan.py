import pytest

from geometries.errors import GeometryError
from geometries.layout.layout import CopperSheet, EdgeTerminal, MirrorPlane, PlanLayout, Port, RingPort, Via
from geometries.quantities import MM
from geometries.section.outline import Rectangle


def box(left, bottom, right, top):
    return Rectangle(left=left * MM, bottom=bottom * MM, right=right * MM, top=top * MM)


def edge(sheet, x0, y0, x1, y1):
    return EdgeTerminal(sheet=sheet, start=(x0 * MM, y0 * MM), end=(x1 * MM, y1 * MM))


def bar(name, left, bottom, right, top, **more):
    return CopperSheet(name=name, outline=box(left, bottom, right, top), height=0.2 * MM, **more)


STRIP = bar("strip", 0, 0, 6, 2)
ENDS = Port(name="source", entry=edge("strip", 0, 0, 0, 2), leave=edge("strip", 6, 0, 6, 2))


def layout(*sheets, ports=(ENDS,), vias=(), plane=None):
    return PlanLayout(name="trial", sheets=sheets or (STRIP,), ports=ports, vias=vias, plane=plane)


def test_outlines_that_touch_are_refused():
    with pytest.raises(GeometryError, match=r"'strip' and 'next' of layout 'trial' touch near x = 6 mm"):
        layout(STRIP, bar("next", 6, 0, 8, 2))


def test_outlines_at_different_heights_may_overlap():
    upper = CopperSheet(name="upper", outline=box(0, 0, 6, 2), height=1 * MM)
    assert len(layout(STRIP, upper).sheets) == 2


def test_a_port_off_the_copper_is_refused():
    port = Port(name="source", entry=edge("strip", 0, 0, 0, 2), leave=edge("strip", 7, 0, 7, 2))
    with pytest.raises(
        GeometryError, match=r"terminal of port 'source' is not on an edge of copper 'strip' near x = 7 mm"
    ):
        layout(ports=(port,))


def test_a_port_wider_than_its_edge_is_refused():
    port = Port(name="source", entry=edge("strip", 0, 0, 0, 3), leave=edge("strip", 6, 0, 6, 2))
    with pytest.raises(GeometryError, match="3 mm wide, more than the straight edge of copper 'strip'"):
        layout(ports=(port,))


def test_ports_that_overlap_are_refused():
    other = Port(name="part", entry=edge("strip", 0, 0, 0, 1), leave=edge("strip", 2, 0, 3, 0))
    with pytest.raises(GeometryError, match="terminals of 'source' and 'part' touch on copper 'strip'"):
        layout(ports=(ENDS, other))


def test_a_port_on_copper_that_is_not_there_is_refused():
    port = Port(name="source", entry=edge("strop", 0, 0, 0, 2), leave=edge("strip", 6, 0, 6, 2))
    with pytest.raises(GeometryError, match="no copper 'strop'; its copper is 'strip'"):
        layout(ports=(port,))


def test_a_current_that_nothing_closes_is_refused():
    other = bar("other", 8, 0, 10, 2)
    port = Port(name="source", entry=edge("strip", 0, 0, 0, 2), leave=edge("other", 10, 0, 10, 2))
    with pytest.raises(GeometryError, match="nothing closes the current of 'source'"):
        layout(STRIP, other, ports=(port,))


def test_a_post_beside_the_copper_is_refused():
    via = Via(name="via", centre=(5.9 * MM, 1 * MM), radius=0.15 * MM, upper="strip")
    with pytest.raises(GeometryError, match="'via' does not stand wholly inside copper 'strip'"):
        layout(vias=(via,), plane=MirrorPlane(height=0))


def test_a_post_without_a_plane_is_refused():
    via = Via(name="via", centre=(5 * MM, 1 * MM), radius=0.15 * MM, upper="strip")
    with pytest.raises(GeometryError, match="stands on the mirror plane, but the layout has none"):
        layout(vias=(via,))


def test_copper_on_the_plane_is_refused():
    with pytest.raises(GeometryError, match=r"copper 'strip' lies at 0.2 mm, not above the mirror plane at 0.2 mm"):
        layout(plane=MirrorPlane(height=0.2 * MM))


def test_a_hole_that_reaches_the_edge_is_refused():
    with pytest.raises(GeometryError, match=r"hole 1 of copper 'strip'.* reaches the outer edge"):
        bar("strip", 0, 0, 6, 2, holes=(box(0, 0.5, 1, 1),))


def test_a_ring_without_its_hole_is_refused():
    with pytest.raises(GeometryError, match=r"copper 'strip' has no hole at \(3, 1\) mm"):
        layout(ports=(RingPort(name="ring", sheet="strip", inside=(3 * MM, 1 * MM)),))


def test_names_are_unique_among_ports_and_posts():
    via = Via(name="source", centre=(5 * MM, 1 * MM), radius=0.15 * MM, upper="strip")
    with pytest.raises(GeometryError, match="port or via name 'source' occurs 2 times"):
        layout(vias=(via,), plane=MirrorPlane(height=0))


UPPER = CopperSheet(name="upper", outline=box(0, 0, 6, 2), height=1 * MM)
LOWER = CopperSheet(name="lower", outline=box(0, 0, 6, 2), height=0)


def post(name, upper, lower, x=5.0):
    return Via(name=name, centre=(x * MM, 1 * MM), radius=0.15 * MM, upper=upper, lower=lower)


def test_a_via_through_copper_without_a_clearance_is_refused():
    with pytest.raises(GeometryError, match=r"via 'v' passes through copper 'strip' near x = 5 mm, y = 1 mm without"):
        layout(STRIP, UPPER, LOWER, vias=(post("v", "upper", "lower"),))


def test_a_via_through_a_clearance_passes():
    cleared = bar("strip", 0, 0, 6, 2, holes=(box(4.5, 0.5, 5.5, 1.5),))
    assert layout(cleared, UPPER, LOWER, vias=(post("v", "upper", "lower"),)).idle_vias == ("v",)


def test_a_via_that_goes_on_from_another_shares_its_terminal():
    vias = (post("one", "upper", "strip"), post("two", "strip", "lower"))
    ends = [(name, end.sheet) for name, end in layout(STRIP, UPPER, LOWER, vias=vias).terminals()[2:]]
    assert ends == [("one", "upper"), ("one", "strip"), ("two", "lower")]


def test_a_tie_at_one_end_is_idle_and_ties_at_both_ends_are_not():
    vias = [post("left", "strip", "lower", 1.0), post("right", "strip", "lower", 5.0)]
    assert layout(STRIP, LOWER, vias=vias[:1]).idle_vias == ("left",)
    assert layout(STRIP, LOWER, vias=vias).idle_vias == ()
