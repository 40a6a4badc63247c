import pytest

from geometries.errors import GeometryError
from geometries.section.outline import Circle, Rectangle, Ring
from geometries.section.section import CrossSection, CurrentLoop, Region, Role


def strip(name, left, role, **more):
    return Region(name=name, outline=Rectangle(left=left, right=left + 1, bottom=0, top=0.1), role=role, **more)


def test_go_regions_share_a_group_and_floating_ones_stand_alone():
    section = CrossSection(
        name="s",
        regions=(
            strip("a", 0, Role.GO),
            strip("b", 2, Role.GO),
            strip("c", 4, Role.RETURN),
            strip("d", 6, Role.FLOATING),
            strip("e", 8, Role.VICTIM),
        ),
    )
    assert section.groups == ("go", "return", "d", "e")


def test_overlapping_copper_is_refused_with_both_names_and_the_place():
    with pytest.raises(GeometryError, match=r"'a' and 'b' overlap near x = 750 mm"):
        CrossSection(name="s", regions=(strip("a", 0, "go"), strip("b", 0.5, "return")))


def test_touching_copper_is_refused():
    with pytest.raises(GeometryError, match="'a' and 'b' touch"):
        CrossSection(name="s", regions=(strip("a", 0, "go"), strip("b", 1, "return")))


def test_a_region_called_air_is_refused():
    with pytest.raises(GeometryError, match="called 'air'"):
        strip("air", 0, "go")


def test_a_section_of_kilometres_is_a_slip_of_the_unit():
    with pytest.raises(GeometryError, match="slip of the unit"):
        CrossSection(name="s", regions=(strip("a", 0, "go"), strip("b", 5000, "return")))


def test_a_wire_inside_a_ring_is_accepted():
    wire = Region(name="wire", outline=Circle(centre=(0, 0), radius=1), role=Role.GO)
    shell = Region(name="shell", outline=Ring(centre=(0, 0), inner_radius=2, outer_radius=3), role=Role.RETURN)
    assert CrossSection(name="coax", regions=(wire, shell)).groups == ("go", "return")


def test_repeated_names_are_refused():
    with pytest.raises(GeometryError, match="region name 'a' occurs 2 times"):
        CrossSection(name="s", regions=(strip("a", 0, "go"), strip("a", 2, "return")))


def test_a_loop_through_an_unknown_group_is_refused():
    with pytest.raises(GeometryError, match="group 'back', to which no region belongs"):
        CrossSection(
            name="s",
            regions=(strip("a", 0, "go"), strip("b", 2, "return")),
            loops=(CurrentLoop(go_group="go", return_group="back"),),
        )


def test_a_loop_that_returns_where_it_goes_is_refused():
    with pytest.raises(GeometryError, match="same group"):
        CrossSection(
            name="s",
            regions=(strip("a", 0, "go"), strip("b", 2, "return")),
            loops=(CurrentLoop(go_group="go", return_group="go"),),
        )


def test_a_section_without_return_is_refused():
    with pytest.raises(GeometryError, match="uses group 'return'"):
        CrossSection(name="s", regions=(strip("a", 0, "go"),))


def test_two_loops_through_the_same_groups_are_refused():
    regions = (
        Region(name="go", outline=Rectangle(left=0, right=1e-3, bottom=0, top=1e-4), role=Role.GO),
        Region(name="back", outline=Rectangle(left=2e-3, right=3e-3, bottom=0, top=1e-4), role=Role.RETURN),
    )
    with pytest.raises(GeometryError, match="they are one loop"):
        CrossSection(name="s", regions=regions, loops=(CurrentLoop(), CurrentLoop(name="again")))
